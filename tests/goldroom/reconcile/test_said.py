"""Balances of what real statements made: the table to the melt, as people say it."""

from decimal import Decimal

from goldroom.reconcile.ledger_records import LedgerRecords
from goldroom.reconcile.period import Period, PeriodReport, reconcile
from goldroom.statements.assays import AssayReported
from tests.goldroom.reconcile.book import WELL
from tests.goldroom.room import say
from tests.goldroom.story import CHEMISTS, upto

ASSAYED = {
    "laboratory": "lab",
    "method": "screen_fire_assay",
    "standing": "final",
    "sampler": "spear",
    "results": [
        {
            "items": [item],
            "sample": f"E-{item}",
            "unit": unit,
            "gold": gold,
            "silver": silver,
        }
        for item, unit, gold, silver in (
            ("LOT-1", "gpt", "21000", "3000"),
            ("CON-1", "percent", "80.0", "11.4"),
            ("TAILS-1", "gpt", "700", "100"),
        )
    ],
}


def week(stage: str, *, is_assayed: bool = True) -> PeriodReport:
    """Return the week of the story told up to a stage, with its other assays."""
    state = upto(stage)
    if is_assayed:
        say(
            state,
            AssayReported,
            ASSAYED,
            at="2026-10-08T20:00:00+02:00",
            people=CHEMISTS,
        )
    data = LedgerRecords.from_held(state.all_held())
    period = Period(
        "2026-10-05T04:00:00Z",
        "2026-10-12T04:00:00Z",
        "2026-12-01T00:00:00Z",
        "Africa/Johannesburg",
        "06:00",
    )
    return reconcile(data, period, WELL)


def test_bars_and_their_drillings_are_the_smelts_gold_before_they_are_molten_again():
    report = week("placed")
    vault, smelt = report.steps["vault"]["gold"], report.steps["smelt"]["gold"]
    bars_g = (Decimal("5992.3") + 4900) * Decimal("0.8426")
    assert abs(vault.came_in.posted_g - bars_g) <= Decimal("0.001")
    assert vault.unaccounted.posted_g == 0
    assert smelt.went_out == vault.came_in
    assert smelt.came_in.posted_g == Decimal("9200.000")  # 11.5 kg dry at 80 %
    assert smelt.unaccounted.posted_g == Decimal("9200") - smelt.went_out.posted_g - (
        smelt.closing.posted_g
    )
    # slag estimated at 9.5 g; dip sample 12.4 g assayed with the bars
    held = {
        each.item: each.contents
        for each in report.parcels
        if each.way.role == "closing" and each.way.from_step == "smelt"
    }
    assert set(held) == {"SLAG-1", "DIP-1", "DRL-1"}
    assert held["SLAG-1"].gold.posted_g == Decimal("9.500")
    assert held["DIP-1"].gold.posted_g == Decimal("10.448")
    assert not held["DRL-1"].is_pending  # at its bar's fineness
    assert held["DRL-1"].gold.posted_g == Decimal("6.909")


def test_a_concentrate_that_nobody_assayed_merges_table_and_smelt():
    report = week("placed", is_assayed=False)
    assert list(report.steps) == ["hopper", "table+smelt", "vault"]
    assert any(each.startswith("No concentrate has an assay") for each in report.notes)


def test_assays_still_provisional_make_the_balances_provisional():
    report = week("placed")
    assert report.steps["vault"]["gold"].is_provisional
    assert {each.item for each in report.provisional} >= {"BAR-1", "BAR-2", "DIP-1"}


def test_the_vault_runs_from_numbered_bars_to_the_refinerys_melt():
    report = week("melted")
    vault = report.steps["vault"]["gold"]
    assert vault.closing.posted_g == 0
    melts = [each for each in report.parcels if each.sort == "melt"]
    assert [(each.way.from_step, each.way.to_step) for each in melts] == [("vault", "")]
    assert vault.went_out.posted_g == melts[0].contents.gold.posted_g
    assert vault.unaccounted.posted_g == vault.came_in.posted_g - (
        vault.went_out.posted_g
    )
    assert vault.unaccounted.u_g > 0
