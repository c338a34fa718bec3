"""A leach batch's account from the read tables, and how it is told. All invented.

MID-1 of the small mine, 1.76 kg dry at 4000 g/t gold and 600 g/t silver, is leached:

    gold, g    7.040 charged = 0.008 sampled + 6.800 drained + 0.204 residue + 0.028
    silver, g  1.056 charged = 0.001 sampled + 0.900 drained + 0.136 residue + 0.019
"""

import json
from collections.abc import Iterator
from typing import Any

import pytest
from django.core.management import CommandError, call_command

from goldroom import commands
from goldroom.errors import ItemNotHeld, UnknownItem, WrongSort
from goldroom.reports.leach import leach_report
from goldroom.reports.leach_words import text_of
from goldroom.reports.metal import site_clock
from goldroom.sayings import Saying
from tests.goldroom import small_mine
from tests.goldroom.room import PAIR, removed
from tests.goldroom.room import reading as read_off
from tests.goldroom.small_mine import CHEMISTS, GUARDS, KEYS, MENDERS, entry_id, saying


def sayings() -> Iterator[tuple[str, Saying]]:
    """Yield what is said of the leach, by name."""
    for name, sort in (("LV1", "leach_vessel"), ("TK1", "tank")):
        yield name, saying(
            f"vessel/{name}", "10-02 15:40", "vessel.registered", GUARDS,
            vessel=name, name=f"Vessel {name}", sort=sort, place="gold_room",
        )  # fmt: skip
    yield "charged", saying(
        "leach/charged", "10-02 16:00", "leach.charged", PAIR, batch="LB-1",
        vessel="LV1", sources=[{"item": "MID-1"}], target_ph="12",
        opened=[{"vessel": "D2", "seals_removed": [removed("lid", "S-0007")]}],
        reagents=[
            {"reagent": "caustic soda", "mass_kg": "0.2"},
            {"reagent": "sodium cyanide", "mass_kg": "0.3"},
        ],
    )  # fmt: skip
    yield "sampled", saying(
        "leach/sampled", "10-02 20:00", "leach.sampled", PAIR, batch="LB-1", ph="11.7",
        oxygen_mg_l="20.5",
        titration={"titrant_ml": "8.40", "titrant_g_l": "1.7332", "sample_ml": "25.0"},
        samples=[{"item": "SS-1", "volume_ml": "25", "taken_by": "Amara Venn"}],
    )  # fmt: skip
    yield "dosed", saying(
        "leach/dosed", "10-02 20:10", "leach.dosed", PAIR, batch="LB-1",
        reagents=[{"reagent": "Sodium  cyanide", "mass_kg": "0.05"}],
        reason="cyanide fell",
    )  # fmt: skip
    yield "corrected", saying(
        "leach/corrected", "10-02 21:00", "record.corrected", MENDERS,
        entry=entry_id("leach/sampled"), mode="figures", kind="leach.sampled",
        values={
            "batch": "LB-1", "ph": "11.8", "oxygen_mg_l": "20.5",
            "titration": {"titrant_ml": "8.40", "titrant_g_l": "1.7332",
                          "sample_ml": "25.0"},
            "samples": [{"item": "SS-1", "volume_ml": "25", "taken_by": "Amara Venn"}],
        },
        reason="the electrode was read too early", corrects=entry_id("leach/sampled"),
    )  # fmt: skip
    yield "drained", saying(
        "leach/drained", "10-03 08:00", "leach.drained", PAIR, batch="LB-1",
        solution={"item": "SOL-1", "volume_l": "20", "measured_by": "tank_table",
                  "tank": "TK1"},
    )  # fmt: skip
    yield (
        "solution results",
        _results("10-03 10:00", "mg_l", ("SS-1", "320", "40"), ("SOL-1", "340", "45")),
    )
    yield "discharged", saying(
        "leach/discharged", "10-03 12:00", "leach.discharged", PAIR, batch="LB-1",
        residues=[{"item": "RES-1", "gross": read_off("2000.0", "g", "BB1"),
                   "moisture_percent": "15", "oven": "OV1", "goes_to": "mill"}],
    )  # fmt: skip
    yield "residue results", _results("10-03 14:00", "gpt", ("RES-1", "120", "80"))


def _results(at: str, unit: str, *rows: tuple[str, str, str]) -> Saying:
    return saying(
        f"leach/results {at}", at, "assay.reported", CHEMISTS, laboratory="lab",
        method="fire_assay", standing="final", sampler="p-amara",
        results=[
            {"items": [item], "sample": f"L-{item}", "unit": unit, "gold": gold,
             "silver": silver}
            for item, gold, silver in rows
        ],
    )  # fmt: skip


def leached(upto: str) -> int:
    """Tell the small mine up to its solids' assays, then the leach; the ledger's id."""
    ledger_id = small_mine.tell(upto="solids")
    for name, each in sayings():
        commands.say(ledger_id, each, KEYS)
        if name == upto:
            break
    return ledger_id


def account(ledger_id: int) -> dict[str, Any]:
    """Return the gold account as plain values."""
    gold = leach_report(ledger_id, "LB-1").to_json()["metals"][0]
    assert gold["metal"] == "gold"
    return gold


def test_while_it_runs_the_vessel_is_known_by_difference(fresh_db):
    ledger_id = leached("solution results")
    gold = account(ledger_id)
    assert gold["charged"]["grams"] == "7.040"
    assert gold["dissolved"]["grams"] == "6.808"
    assert gold["left"]["grams"] == "0.232"
    assert float(gold["left"]["u_g"]) > float(gold["charged"]["u_g"]) / 2
    assert (gold["recovery"], gold["residue"]["grams"]) == (None, None)
    report = leach_report(ledger_id, "LB-1")
    assert (report.status, report.has_ended) == ("drained", False)


def test_when_it_ended_head_recovery_and_accountability_are_told(fresh_db):
    ledger_id = leached("residue results")
    gold = account(ledger_id)
    assert gold["residue"]["grams"] == "0.204"
    assert gold["left"]["grams"] == "0.028"
    assert gold["calculated_head"]["grams"] == "7.012"
    # 6.808 / 7.012 and 7.012 / 7.040, by hand.
    assert gold["recovery"]["percent"] == "97.091"
    assert gold["accountability"]["percent"] == "99.602"
    assert 0 < float(gold["recovery"]["u"]) < 1
    report = leach_report(ledger_id, "LB-1")
    assert (report.dry_charged.grams, report.dry_residue.grams) == (
        "1760.000",
        "1700.000",
    )
    assert (report.has_ended, report.is_provisional, report.waiting) == (
        True,
        False,
        (),
    )


def test_reagents_are_added_up_and_the_least_cyanide_stands_beside(fresh_db):
    report = leach_report(leached("residue results"), "LB-1")
    assert [(each.reagent, str(each.mass_kg)) for each in report.reagents] == [
        ("caustic soda", "0.2"),
        ("sodium cyanide", "0.35"),
    ]
    assert str(report.cyanide_issued_kg) == "0.35"
    # 6.808 g x 0.49762 + 0.901 g x 0.90865 = 4.207 g.
    assert report.least_cyanide_kg == "0.004"


def test_a_reading_put_right_is_told_once(fresh_db):
    report = leach_report(leached("corrected"), "LB-1")
    assert [(str(each.ph), str(each.cyanide_mg_l)) for each in report.readings] == [
        ("11.8", "336.0")
    ]
    assert report.waiting == ("SS-1",)


def test_solution_without_a_result_keeps_the_account_open(fresh_db):
    ledger_id = leached("drained")
    gold = account(ledger_id)
    assert (gold["dissolved"]["grams"], gold["left"]["grams"]) == (None, None)
    assert leach_report(ledger_id, "LB-1").waiting == ("SOL-1", "SS-1")


def test_account_reads_aloud_while_it_runs(fresh_db):
    ledger_id = leached("corrected")
    said = text_of(leach_report(ledger_id, "LB-1"), site_clock(ledger_id))
    for words in (
        "Leach batch LB-1 in LV1: leaching. Charged 2026-10-02 16:00.",
        "Charged, 1.8 kg dry:",
        "in the vessel now, by difference, 7.0",
        "2026-10-02 20:00: pH 11.8; oxygen 20.5 mg/L; free cyanide 336.0 mg/L NaCN, by"
        " titration",
        "No result yet: SS-1.",
    ):
        assert words in said


def test_command_tells_the_account_and_gives_it_to_a_machine(fresh_db, capsys):
    leached("residue results")
    call_command("leach", "LB-1")
    said = capsys.readouterr().out
    for words in (
        "ended, its residue out",
        "solution SOL-1, 20 L, 2026-10-03 08:00: gold 6.80",
        "calculated head 7.01",
        "recovery 97.09 ± 0.19 % of the calculated head; accountability 100 ± 22 %",
        "unaccounted 0.0 ± 1.5 g",
        "Cyanide: 0.35 kg issued; what dissolved takes at least 0.004 kg (Elsner's",
        "Times are the site's (Africa/Johannesburg).",
    ):
        assert words in said
    call_command("leach", "LB-1", "--json")
    plain = json.loads(capsys.readouterr().out)
    assert [each["item"] for each in plain["charged"]] == ["MID-1"]
    assert plain["metals"][0]["recovery"]["percent"] == "97.091"
    assert plain["readings"][0]["ph"] == "11.8"


def test_what_is_no_batch_is_refused_with_advice(told):
    with pytest.raises(UnknownItem, match="Check the batch's id"):
        leach_report(told, "LB-9")
    with pytest.raises(WrongSort, match="BAR-1 is a bar"):
        leach_report(told, "BAR-1")
    with pytest.raises(CommandError, match=r"unknown_item") as stopped:
        call_command("leach", "LB-9")
    assert stopped.value.returncode == 1


def test_a_batch_taken_back_has_no_account(fresh_db):
    ledger_id = leached("charged")
    void = saying(
        "leach/void", "10-02 17:00", "record.corrected", MENDERS,
        entry=entry_id("leach/charged"), mode="void", kind="leach.charged",
        reason="said of the wrong vessel", corrects=entry_id("leach/charged"),
    )  # fmt: skip
    commands.say(ledger_id, void, KEYS)
    with pytest.raises(ItemNotHeld, match="taken back"):
        leach_report(ledger_id, "LB-1")
