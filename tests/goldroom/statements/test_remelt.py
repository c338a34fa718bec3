"""Bars melted again: out of the vault's balance, numbers closed, new ones cast."""

from decimal import Decimal
from typing import Any

import pytest

from goldroom.custody.records import Item, Marker
from goldroom.custody.state import State
from goldroom.reconcile.ledger_records import LedgerRecords
from goldroom.reconcile.period import Period, reconcile
from goldroom.statements.assays import AssayReported
from goldroom.statements.bars import BarNumbered
from goldroom.statements.record import RecordCorrected
from goldroom.statements.remelt import RemeltCharged
from goldroom.statements.smelt import ChargePoured
from tests.goldroom.room import codes, noticed, reading, removed, say
from tests.goldroom.room import refused as refused_saying
from tests.goldroom.story import CHEMISTS, add_item, crossings, in_vessel, item, upto

AT = "2026-10-07T08:00:00+02:00"
OPENED = [{"vessel": "S1", "seals_removed": [removed("door", "S-0005")]}]


def said(**changed: Any) -> dict[str, Any]:
    values: dict[str, Any] = {
        "charge": "CHG-2",
        "furnace": "F1",
        "crucible": "K8",
        "crucible_uses": 0,
        "opened": OPENED,
        "bars": [{"item": "BAR-1", "stamped": "KR-0101"}],
        "fluxes": [{"flux": "borax", "mass_kg": "0.5"}],
        "reason": "not_homogeneous",
        "detail": "drillings 3 ‰ apart",
        **changed,
    }
    return {name: value for name, value in values.items() if value is not None}


def charged(state: State | None = None, **changed: Any) -> State:
    """Return the room with BAR-1 in charge CHG-2."""
    state = state or upto("placed")
    say(state, RemeltCharged, said(**changed), at=AT, entry="entry-remelt")
    return state


def poured(state: State, slag: str | None = "SLAG-2") -> State:
    """Return the room with CHG-2 poured into BAR-3."""
    values = {
        "charge": "CHG-2",
        "place": "gold_room",
        "castings": [{"item": "BAR-3", "mould": "M1"}],
        **({"slag": slag} if slag else {}),
    }
    say(state, ChargePoured, values, at="2026-10-07T09:00:00+02:00")
    return state


def numbered(state: State, stamped: str) -> State:
    values = {
        "item": "BAR-3",
        "stamped": stamped,
        "first": reading("5991.8", "g", "BU1"),
    }
    say(state, BarNumbered, values, at="2026-10-07T13:00:00+02:00")
    return state


def test_bar_passes_from_the_vault_back_to_the_smelt_and_its_number_is_closed():
    state = charged()
    bar = item(state, "BAR-1")
    assert (bar.status, bar.step) == ("in_charge", "smelt")
    assert crossings(state, "BAR-1")[-1] == ("vault", "smelt", "smelt")
    assert in_vessel(state, "S1") == ("BAR-2",)
    assert in_vessel(state, "F1")[-2:] == ("BAR-1", "CHG-2")
    closed = state.get(Marker, "stamp_closed:KR-0101")
    assert closed is not None
    assert closed.value == "CHG-2"
    assert item(state, "CHG-2").parents == ("BAR-1",)
    assert codes(state) == []


def test_what_is_cast_of_it_is_numbered_and_the_old_bar_is_used_up():
    state = numbered(poured(charged()), "KR-0103")
    assert item(state, "BAR-1").status == "consumed"
    assert item(state, "BAR-3").step == "vault"
    assert codes(state) == []


def test_closed_number_stamped_again_is_noticed():
    state = numbered(poured(charged()), "KR-0101")
    (found,) = noticed(state)
    assert found.code == "stamped_number_twice"
    assert found.message == (
        "the number KR-0101 was closed when BAR-1 was melted again in CHG-2"
    )


def test_other_number_read_off_the_bar_is_noticed():
    state = charged(bars=[{"item": "BAR-1", "stamped": "KR-0102"}])
    (found,) = noticed(state)
    assert (found.code, found.found, found.expected) == (
        "stamped_number_differs",
        "KR-0102",
        "KR-0101",
    )


def test_bars_go_in_with_other_sources():
    state = upto("placed")
    add_item(state, "CON-2", "concentrate", step="smelt", dry_kg="3.0")
    bars = [
        {"item": "BAR-1", "stamped": "KR-0101"},
        {"item": "BAR-2", "stamped": "KR-0102"},
    ]
    source = {"item": "CON-2", "dry_gross": reading("2.9", "kg", "PS1")}
    charged(state, bars=bars, sources=[source])
    assert item(state, "CHG-2").parents == ("BAR-1", "BAR-2", "CON-2")
    assert codes(state) == ["item_lost_mass"]


def unaccounted(state: State, step: str) -> Decimal:
    """Return the gold that a step's balance misses over these days."""
    days = ("2026-10-05T04:00:00Z", "2026-10-08T04:00:00Z", "2027-01-01T00:00:00Z")
    period = Period(*days, "Africa/Johannesburg", "06:00")
    data = LedgerRecords.from_held(state.all_held())
    found = reconcile(data, period).steps[step]["gold"].unaccounted
    assert found is not None
    return found.posted_g


def assayed(state: State, name: str, unit: str, gold: str) -> None:
    result = {"items": [name], "sample": f"E-{name}", "unit": unit, "gold": gold}
    values = {
        "laboratory": "lab",
        "method": "fire_assay",
        "standing": "final",
        "sampler": "dip_ladle",
        "results": [{**result, "silver": "10"}],
    }
    say(state, AssayReported, values, at="2026-10-07T16:00:00+02:00", people=CHEMISTS)


def test_metal_melted_again_leaves_one_balance_for_the_other_and_is_missed_once():
    """The vault closes to the milligram; the smelt misses what the remelt took."""
    state = upto("placed")
    assayed(state, "CON-1", "percent", "80.5")
    before = unaccounted(state, "smelt")
    charged(state)
    assert unaccounted(state, "smelt") == before
    numbered(poured(state, slag=None), "KR-0103")
    assayed(state, "BAR-3", "permille", "842.6")
    assert unaccounted(state, "vault") == Decimal("0.000")
    took = (Decimal("5992.3") - Decimal("5991.8")) * Decimal("0.8426")
    assert abs(unaccounted(state, "smelt") - before - took) <= Decimal("0.001")


@pytest.mark.parametrize(
    ("changed", "code"),
    [
        pytest.param({}, None, id="as it was"),
        pytest.param({"opened": None}, "vessel_sealed", id="out of a sealed safe"),
        pytest.param({"charge": "CHG-1"}, "item_id_used", id="a charge's id again"),
        pytest.param({"furnace": "T1"}, "wrong_sort", id="a table for a furnace"),
        pytest.param(
            {"bars": [{"item": "DRL-1", "stamped": "X"}]}, "wrong_sort", id="drillings"
        ),
        pytest.param(
            {"bars": [{"item": "BAR-9", "stamped": "X"}]}, "unknown_item", id="no bar"
        ),
        pytest.param(
            {"bars": [{"item": "BAR-1", "stamped": "A"}] * 2}, "bad_field", id="twice"
        ),
        pytest.param({"bars": []}, "bad_field", id="no bars"),
        pytest.param({"sources": [{"item": "BAR-2"}]}, "wrong_sort", id="bar a source"),
        pytest.param({"reason": None}, "bad_field", id="no reason"),
        pytest.param(
            {"reason": "other", "detail": None}, "bad_field", id="other, not said which"
        ),
        pytest.param(
            {"reason": "other", "detail": "assay control"}, None, id="other, said which"
        ),
    ],
)
def test_remelt_is_refused(changed: dict[str, Any], code: str | None):
    state = upto("placed")
    assert refused_saying(state, RemeltCharged, said(**changed), at=AT) == code


@pytest.mark.parametrize(
    ("stage", "at", "code"),
    [
        pytest.param("pour", AT, "not_in_this_state", id="not numbered yet"),
        pytest.param(
            "handed_over", "2026-10-08T12:00:00+02:00", "not_in_this_state", id="away"
        ),
        pytest.param(
            "melted", "2026-10-11T12:00:00+02:00", "item_consumed", id="melted there"
        ),
    ],
)
def test_bar_not_at_hand_with_a_number_is_not_charged(stage: str, at: str, code: str):
    state = upto(stage)
    assert refused_saying(state, RemeltCharged, said(opened=None), at=at) == code


def test_remelt_taken_back_puts_the_bar_back_with_its_number():
    state = charged()
    values = {
        "entry": "entry-remelt",
        "kind": "remelt.charged",
        "mode": "void",
        "reason": "another bar was meant",
    }
    say(
        state, RecordCorrected, values, at="2026-10-07T08:30:00+02:00",
        people=(("p-jonas", "officer"), ("p-sefu", "security")),
        corrects="entry-remelt",
    )  # fmt: skip
    assert (item(state, "BAR-1").status, item(state, "BAR-1").step) == ("held", "vault")
    assert state.get(Marker, "stamp_closed:KR-0101") is None
    charge = state.get(Item, "CHG-2")
    assert charge is not None
    assert charge.status == "void"


def test_dry_mass_of_another_source_is_put_right():
    state = upto("placed")
    add_item(state, "CON-2", "concentrate", step="smelt", dry_kg="3.0")
    values = said(sources=[{"item": "CON-2", "dry_gross": reading("3.1", "kg", "PS1")}])
    say(state, RemeltCharged, values, at=AT, entry="entry-remelt")
    values["sources"][0]["dry_gross"] = reading("3.0", "kg", "PS1")
    corrected = {
        "entry": "entry-remelt",
        "kind": "remelt.charged",
        "mode": "figures",
        "values": values,
        "reason": "misread",
    }
    say(
        state, RecordCorrected, corrected, at="2026-10-07T08:30:00+02:00",
        people=(("p-jonas", "officer"), ("p-sefu", "security")),
        corrects="entry-remelt",
    )  # fmt: skip
    assert item(state, "CON-2").masses == 3


def test_remelt_reads_aloud():
    told = say(upto("placed"), RemeltCharged, said(), at=AT)
    assert told.sentence() == (
        "Charge CHG-2 was made up from BAR-1 (stamped KR-0101) with 0.5 kg of borax, to"
        " be melted again in furnace F1, crucible K8 (never used before): not"
        " homogeneous, drillings 3 ‰ apart. Its number is closed. S1 was opened: S-0005"
        " on door (no tamper signs)."
    )


def test_remelt_with_other_sources_reads_aloud():
    state = upto("placed")
    add_item(state, "CON-2", "concentrate", step="smelt", dry_kg="3.0")
    told = say(state, RemeltCharged, said(sources=[{"item": "CON-2"}]), at=AT)
    assert told.sentence().startswith(
        "Charge CHG-2 was made up from BAR-1 (stamped KR-0101), together with CON-2,"
        " with 0.5 kg of borax, to be melted again in furnace F1,"
    )
