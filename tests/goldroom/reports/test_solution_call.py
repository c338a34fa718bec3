"""Solution calls from the read tables, at the terminal and in what wants attention."""

import json
from datetime import UTC, datetime

import pytest
from django.core.management import CommandError, call_command
from django.db import connection
from django.test.utils import CaptureQueriesContext

from goldroom.projection import compare
from goldroom.reports.attention import attention
from goldroom.reports.solution_call import calls_lately, every_call
from tests.goldroom import cells_told

SOON = datetime(2026, 11, 15, tzinfo=UTC)
MUCH_LATER = datetime(2027, 6, 1, tzinfo=UTC)
CODES = ("solution_call_differs", "solution_calls_one_way")


def found(ledger_id: int, now: datetime = SOON) -> list[tuple[str, str]]:
    """Return (code, item) of what wants attention about solution calls."""
    return [
        (each.code, each.item)
        for each in attention(ledger_id, now=now)
        if each.code in CODES
    ]


def test_every_load_has_its_call_and_those_of_late_are_the_same(fresh_db):
    ledger_id = cells_told.tell(("10", "-4"))
    whole, lately = every_call(ledger_id), calls_lately(ledger_id, now=SOON)
    assert [each.load.load for each in whole] == ["CL-1", "CL-2"]
    for call, again in zip(whole, lately, strict=True):
        for metal in ("gold", "silver"):
            missing, same = call.missing(metal), again.missing(metal)
            assert missing is not None
            assert same is not None
            assert missing.posted_g == same.posted_g
            assert missing.u_g == pytest.approx(same.u_g, rel=1e-12)
    golds = [each.missing("gold") for each in whole]
    assert [str(each.posted_g) for each in golds if each] == ["10.000", "-4.000"]


def test_a_cleanup_beyond_the_limit_wants_attention_for_a_quarter(fresh_db):
    ledger_id = cells_told.tell(("50", "10"))
    assert found(ledger_id) == [("solution_call_differs", "CL-1")]
    assert found(ledger_id, MUCH_LATER) == []


def test_four_cleanups_that_err_the_same_way_want_attention(fresh_db):
    ledger_id = cells_told.tell(("5", "6", "7", "8"))
    assert found(ledger_id) == [("solution_calls_one_way", "EC1")]


def test_cleanups_that_err_both_ways_want_none(fresh_db):
    assert found(cells_told.tell(("5", "-6", "7", "8"))) == []


def test_a_cleanup_not_assayed_wants_none_and_is_shown_as_pending(fresh_db, capsys):
    ledger_id = cells_told.tell(("50",), without="sludge")
    assert found(ledger_id) == []
    call_command("solution_call")
    said = capsys.readouterr().out
    assert "No result yet: SLU-1." in said
    assert "missing" not in said


def test_attention_asks_little_more_the_more_loads_there_were(fresh_db):
    ledger_id = cells_told.tell(("5", "-6", "7"))
    asked = []
    for now in (SOON, MUCH_LATER):
        with CaptureQueriesContext(
            connection,
        ) as queries:
            calls_lately(ledger_id, now=now)
        asked.append(len(queries))
    assert asked[0] <= 9
    assert asked[1] == 1


def test_the_tables_are_what_a_rebuild_makes(fresh_db):
    ledger_id = cells_told.tell(("5",))
    assert list(compare(ledger_id)) == []


def test_command_tells_each_call_and_what_the_current_did(fresh_db, capsys):
    cells_told.tell(("10",))
    call_command("solution_call")
    said = capsys.readouterr().out
    assert "Load CL-1 of EC1, other metal: 1 run, cleaned 2026-10-03 07:00." in said
    assert "gold: called 795" in said
    assert "g missing (1.26 % of the call)" in said
    assert "Current: 4000 Ah; 3.071 % of it plated metal." in said
    assert "a ceiling, not an estimate; commonly under 10 % for gold" in said
    assert "(common practice, no source)" in said


def test_command_tells_more_than_called_as_such(fresh_db, capsys):
    cells_told.tell(("-10",))
    call_command("solution_call")
    assert "g more than called (1.26 % of the call)" in capsys.readouterr().out


def test_command_gives_plain_values_to_a_machine(fresh_db, capsys):
    cells_told.tell(("10", "0"))
    call_command("solution_call", "--json", "--cell", "EC1")
    first, second = json.loads(capsys.readouterr().out)
    assert first["metals"]["gold"]["missing"] == "10.000"
    assert second["metals"]["gold"]["missing"] == "0.000"
    assert first["current_efficiency_percent"] == "3.071"
    call_command("solution_call", "--json", "--cell", "EC9")
    assert json.loads(capsys.readouterr().out) == []


def test_a_room_without_cells_says_so(told, capsys):
    call_command("solution_call")
    assert capsys.readouterr().out == "No cell has been run.\n"


def test_a_trail_tells_of_loads_and_of_sludge_weighed_wet(fresh_db, capsys):
    cells_told.tell(("10",), without="dried")
    call_command("trail", "SLU-1")
    said = capsys.readouterr().out
    assert "Cell load CL-1 (load of EC1): used up; other metal" in said
    assert "wet 1800 g, its moisture not known" in said
    call_command("trail", "BRN-1")
    assert "gold 5 mg/L, silver 1 mg/L (final, room reading)" in capsys.readouterr().out


def test_without_a_ledger_it_says_so(fresh_db):
    with pytest.raises(CommandError, match="there are: none"):
        call_command("solution_call")
