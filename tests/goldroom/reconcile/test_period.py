"""A period's balances from the records of a small room. All figures invented."""

from dataclasses import replace
from decimal import Decimal

import pytest

from goldroom.custody.records import Flush
from goldroom.errors import OutOfRange
from goldroom.metal.uncertainty import Measured, cov
from goldroom.reconcile.amounts import Amount
from goldroom.reconcile.period import Period
from goldroom.reconcile.words import sentences
from tests.goldroom.reconcile.book import OCTOBER, ZONE, Book

JSON_KEYS = {
    "from",
    "to",
    "as_known_at",
    "zone",
    "day_start",
    "steps",
    "overall",
    "gravity",
    "notes",
    "provisional",
    "pending",
    "streams",
}


def whole_room(*, taken_at: str = "", taken: str = "60") -> Book:
    """Return a room in which metal went from two loads to a refinery's melt.

    Everything balances to the milligram, unless grams of gold were taken at a step;
    what follows is then so much less:

        loads 2 x 20 kg at 3000 g/t  -> 120 g   (hopper)
        lot 40 kg at 3000 g/t        -> 120 g   (table)
        concentrate 200 g at 50 %    -> 100 g, tails 40 kg at 500 g/t -> 20 g
        bar 125 g at 800 permille    -> 100 g   (smelt, then vault)
    """
    theft = dict.fromkeys(("hopper", "table", "smelt", "vault"), Decimal(0))
    if taken_at:
        theft[taken_at] = Decimal(taken)
    lot = 120 - theft["hopper"]
    concentrate, tails = lot * 5 / 6 - theft["table"], lot / 6
    bar = concentrate - theft["smelt"]
    melt = bar - theft["vault"]
    book = Book()
    book.load("L1", at="2026-10-03T08:00:00Z", gold="3000")
    book.load("L2", at="2026-10-04T08:00:00Z", gold="3000")
    book.lot(
        "T1",
        ["L1", "L2"],
        at="2026-10-05T08:00:00Z",
        grams=str(lot / Decimal("0.003")),
        gold="3000",
    )
    book.table_run(
        ["T1"],
        "C1",
        "R1",
        at="2026-10-06T08:00:00Z",
        concentrate_g=str(concentrate * 2),
        concentrate_gpt="500000",
        tails_g=str(tails * 2000),
        tails_gpt="500",
    )
    book.pour("F1", ["C1"], ["B1"], at="2026-10-07T08:00:00Z")
    book.number("B1", str(bar / Decimal("0.8")), "800", at="2026-10-07T10:00:00Z")
    book.melt(
        "M1", ["B1"], str(melt / Decimal("0.8")), "800", at="2026-10-20T08:00:00Z"
    )
    return book


def unaccounted(book: Book, metal: str = "gold") -> dict[str, Decimal]:
    """Return each step's unaccounted grams, and those of all together."""
    report = book.reconcile()
    steps = {step: each[metal].unaccounted for step, each in report.steps.items()}
    found = {**steps, "overall": report.overall[metal].unaccounted}
    return {step: each.posted_g for step, each in found.items() if each is not None}


def test_every_step_closes_to_the_milligram_when_nothing_is_missing():
    assert unaccounted(whole_room()) == dict.fromkeys(
        ("hopper", "table", "smelt", "vault", "overall"), Decimal("0.000")
    )


@pytest.mark.parametrize("step", ["hopper", "table", "smelt", "vault"])
def test_sixty_grams_taken_at_a_step_are_missing_there_and_overall_only(step):
    expected = dict.fromkeys(("hopper", "table", "smelt", "vault"), Decimal("0.000"))
    sixty = Decimal("60.000")
    assert unaccounted(whole_room(taken_at=step)) == {
        **expected,
        step: sixty,
        "overall": sixty,
    }


def test_a_parcel_counted_once_cancels_overall_and_ties_the_steps_it_joins():
    report = whole_room().reconcile()
    hopper = report.steps["hopper"]["gold"].unaccounted.measured
    table = report.steps["table"]["gold"].unaccounted.measured
    assert cov(hopper, table) < 0
    overall = report.overall["gold"].unaccounted.measured
    readings = [key for key in overall.effects if key.startswith("reading:")]
    assert len(readings) == 4  # two loads, tails, melt; no lot, concentrate or bar
    by_steps = sum(
        (
            report.steps[step]["gold"].unaccounted.measured
            for step in ("table", "smelt", "vault")
        ),
        hopper,
    )
    assert by_steps.u == pytest.approx(overall.u, rel=1e-12)


def test_a_balance_without_any_uncertainty_has_no_z():
    book = Book()
    book.make("heel", "heel", step="smelt", at="2026-09-01T00:00:00Z", is_opening=True)
    book.estimate("heel", "800", "80", at="2026-09-01T00:00:00Z")
    smelt = book.reconcile().steps["smelt"]["gold"]
    assert smelt.opening.u_g == pytest.approx(80)
    assert smelt.unaccounted.u_g == 0
    assert smelt.unaccounted.z is None
    assert smelt.level == "within"


def test_hopper_and_table_have_a_dry_mass_balance_where_all_was_weighed():
    report = whole_room().reconcile()
    dry = report.steps["hopper"]["dry_mass"]
    assert (dry.came_in.posted_g, dry.unaccounted.posted_g) == (40000, 0)
    assert report.steps["table"]["dry_mass"].unaccounted.posted_g == -200
    assert "dry_mass" not in report.steps["smelt"]


def test_a_dry_mass_with_an_estimated_heel_in_it_is_not_drawn_and_says_so():
    book = whole_room()
    book.make("heel", "heel", step="hopper", at="2026-10-02T00:00:00Z", is_opening=True)
    book.estimate("heel", "5", "1", at="2026-10-02T00:00:00Z")
    report = book.reconcile()
    assert not report.steps["hopper"]["dry_mass"].is_drawn
    assert report.steps["hopper"]["gold"].is_drawn
    assert any("dry mass of hopper is not balanced" in each for each in report.notes)


def test_a_provisional_figure_gives_way_to_the_final_one_as_it_becomes_known():
    book = whole_room()
    book.assay(
        "B1",
        "790",
        "120",
        at="2026-10-07T12:00:00Z",
        unit="permille",
        wanted_for="bar",
        standing="provisional",
        known="2026-10-07T12:00:00Z",
    )
    book.assay(
        "B1",
        "804",
        "120",
        at="2026-11-03T12:00:00Z",
        unit="permille",
        wanted_for="bar",
        known="2026-11-03T12:00:00Z",
    )
    closed = book.reconcile(as_known_at="2026-11-01T08:00:00Z")
    now = book.reconcile(as_known_at="2026-11-04T08:00:00Z")
    assert closed.steps["smelt"]["gold"].unaccounted.posted_g == Decimal("1.250")
    assert closed.steps["smelt"]["gold"].is_provisional
    assert [each.item for each in closed.provisional] == ["B1"]
    assert now.steps["smelt"]["gold"].unaccounted.posted_g == Decimal("-0.500")
    assert not now.steps["smelt"]["gold"].is_provisional
    assert now.provisional == ()
    assert now.overall["gold"].unaccounted == closed.overall["gold"].unaccounted


def test_a_load_entered_late_is_not_in_the_balance_as_it_was_known_before():
    book = whole_room()
    book.load("late", at="2026-10-30T08:00:00Z", known="2026-11-02T08:00:00Z")
    closed = book.reconcile(as_known_at="2026-11-01T08:00:00Z")
    now = book.reconcile()
    assert closed.steps["hopper"]["gold"].came_in.posted_g == Decimal("120.000")
    assert now.steps["hopper"]["gold"].came_in.posted_g == Decimal("160.000")
    assert now.steps["hopper"]["gold"].closing.posted_g == Decimal("40.000")


def test_a_bar_numbered_late_was_still_at_the_smelt_as_known_before():
    book = whole_room()
    book.make("B2", "bar", step="smelt", at="2026-09-10T00:00:00Z", is_opening=True)
    book.weigh(
        "B2", "1000", book.act("2026-09-10T00:00:00Z"), scale="BU1", wanted_for="bar"
    )
    book.assay(
        "B2", "800", at="2026-09-10T00:00:00Z", unit="permille", wanted_for="bar"
    )
    book.cross("B2", "vault", at="2026-10-12T08:00:00Z", known="2026-11-05T08:00:00Z")
    closed = book.reconcile(as_known_at="2026-11-01T08:00:00Z")
    now = book.reconcile()
    assert closed.steps["smelt"]["gold"].closing.posted_g == Decimal("800.000")
    assert now.steps["smelt"]["gold"].closing.posted_g == 0
    assert now.steps["smelt"]["gold"].unaccounted.posted_g == 0


def test_an_item_without_a_result_is_pending_wide_and_named():
    book = whole_room()
    book.load("L9", at="2026-10-30T08:00:00Z", gold=None)
    report = book.reconcile()
    hopper = report.steps["hopper"]["gold"]
    assert hopper.came_in.posted_g == Decimal("180.000")
    assert hopper.unaccounted.posted_g == 0
    assert hopper.is_provisional
    assert [each.item for each in report.pending] == ["L9"]
    assert "± 30 %" in report.pending[0].why


def test_lots_that_are_never_assayed_merge_hopper_and_table():
    book = Book()
    book.load("L1", at="2026-10-03T08:00:00Z", gold="3000")
    book.load("L2", at="2026-10-30T08:00:00Z", gold="3000")
    book.lot("T1", ["L1"], at="2026-10-05T08:00:00Z", grams="20000", gold=None)
    book.table_run(
        ["T1"],
        "C1",
        "R1",
        at="2026-10-06T08:00:00Z",
        concentrate_g="80",
        concentrate_gpt="500000",
        tails_g="19900",
        tails_gpt="500",
    )
    report = book.reconcile()
    assert list(report.steps) == ["hopper+table", "smelt", "vault"]
    together = report.steps["hopper+table"]["gold"]
    assert together.came_in.posted_g == Decimal("120.000")
    assert together.went_out.posted_g == Decimal("49.950")
    assert together.unaccounted.posted_g == Decimal("10.050")
    assert any(
        "hopper and table are drawn as one balance" in each
        and "cannot be told apart" in each
        for each in report.notes
    )
    assert report.pending == ()


def test_loads_that_are_never_assayed_take_their_lots_grade_in_a_merged_balance():
    book = Book()
    book.load("L1", at="2026-10-03T08:00:00Z", gold=None)
    book.load("L2", at="2026-10-04T08:00:00Z", gold=None)
    book.lot("T1", ["L1", "L2"], at="2026-10-05T08:00:00Z", grams="39000", gold="3000")
    book.table_run(
        ["T1"],
        "C1",
        "R1",
        at="2026-10-06T08:00:00Z",
        concentrate_g="200",
        concentrate_gpt="500000",
        tails_g="39000",
        tails_gpt="400",
    )
    report = book.reconcile()
    together = report.steps["hopper+table"]["gold"]
    assert together.came_in.posted_g == Decimal("120.000")
    assert together.unaccounted.posted_g == Decimal("4.400")
    assert together.is_drawn
    assert any(each.startswith("No load has an assay") for each in report.notes)


def test_where_nothing_before_the_concentrate_is_assayed_the_rest_is_still_balanced():
    book = Book()
    book.load("L1", at="2026-10-03T08:00:00Z", gold=None)
    book.lot("T1", ["L1"], at="2026-10-05T08:00:00Z", grams="20000", gold=None)
    book.table_run(
        ["T1"],
        "C1",
        "R1",
        at="2026-10-06T08:00:00Z",
        concentrate_g="200",
        concentrate_gpt="500000",
        tails_gpt=None,
    )
    book.pour("F1", ["C1"], ["B1"], at="2026-10-07T08:00:00Z")
    book.number("B1", "120", "800", at="2026-10-07T10:00:00Z")
    report = book.reconcile()
    assert not report.steps["hopper+table"]["gold"].is_drawn
    assert report.steps["hopper+table"]["gold"].to_json()["unaccounted"] is None
    assert report.steps["smelt"]["gold"].unaccounted.posted_g == Decimal("4.000")
    assert report.overall["gold"].unaccounted.posted_g == Decimal("4.000")
    assert any("left out of the whole" in each for each in report.notes)


def test_a_charge_of_two_concentrates_and_slag_balances_the_smelt():
    book = whole_room()
    done = book.act("2026-10-07T11:00:00Z")
    book.make(
        "X1",
        "slag",
        step="smelt",
        from_step="smelt",
        at="2026-10-07T08:00:00Z",
        parents=("F1",),
        act=done,
    )
    book.estimate("X1", "0.4", "0.1", at="2026-10-07T11:00:00Z")
    smelt = book.reconcile().steps["smelt"]["gold"]
    assert smelt.closing.posted_g == Decimal("0.400")
    assert smelt.unaccounted.posted_g == Decimal("-0.400")
    book.leave("X1", at="2026-10-21T08:00:00Z", where_to="mill")
    smelt = book.reconcile().steps["smelt"]["gold"]
    assert smelt.closing.posted_g == 0
    assert smelt.went_out.posted_g == Decimal("100.400")


def test_the_report_as_plain_values_has_its_agreed_shape_and_only_texts():
    report = whole_room(taken_at="vault").reconcile().to_json()
    assert set(report) == JSON_KEYS
    vault = report["steps"]["vault"]["gold"]
    assert {key: vault[key] for key in ("opening", "in", "out", "closing")} == {
        "opening": "0.000",
        "in": "100.000",
        "out": "40.000",
        "closing": "0.000",
    }
    assert vault["unaccounted"] == "60.000"
    assert vault["level"] == "alarm"
    assert vault["provisional"] is False
    assert Decimal(vault["z"]) > 3
    assert Decimal(vault["u"]) > 0
    assert vault["percent"] == "60.000"
    assert set(report["overall"]) == {"gold", "silver"}


def test_the_same_records_give_the_same_report_in_whatever_order_they_come():
    from goldroom.reconcile.ledger_records import LedgerRecords
    from goldroom.reconcile.period import reconcile

    book = whole_room()
    for name in ("X2", "X1", "X3"):  # of which nothing tells what they hold
        book.make(
            name, "skull", step="smelt", from_step="smelt", at="2026-10-08T08:00:00Z"
        )
    period = Period(*OCTOBER, "2027-01-01T00:00:00Z", ZONE, "06:00")
    held = list(book.state.all_held().values())
    one = reconcile(LedgerRecords.from_records(held), period).to_json()
    other = reconcile(LedgerRecords.from_records(reversed(held)), period).to_json()
    assert one == other
    assert "X1, X2, X3" in str(one["notes"])


def test_the_words_say_what_is_missing_with_two_digits_of_its_uncertainty():
    said = sentences(whole_room(taken_at="vault").reconcile())
    assert said[0] == (
        "From 2026-10-01 06:00 to 2026-11-01 06:00, as known 2027-06-01 02:00."
    )
    vault = next(each for each in said if each.startswith("Vault, gold"))
    assert "60.0 g not accounted for, ± 2.4 g" in vault
    assert "more than our scales and assays explain" in vault
    others = next(each for each in said if each.startswith("Each alone within"))
    assert "hopper (gold, silver, dry mass)" in others
    assert "vault (gold" not in others


def test_dry_mass_is_told_in_kilograms():
    report = whole_room().reconcile()
    hopper = report.steps["hopper"]["dry_mass"]
    missing = replace(
        hopper, unaccounted=Amount(Decimal("261000.000"), Measured(261000.0))
    )
    steps = {**report.steps, "hopper": {"dry_mass": missing}}
    said = " ".join(sentences(replace(report, steps=steps)))
    assert "Hopper, dry mass: held and received " in said
    assert "261.000 kg not accounted for. This is more than our scales" in said


def test_a_period_that_ends_before_it_starts_is_refused_with_what_to_do():
    with pytest.raises(OutOfRange, match="must end after it starts") as refused:
        Period(OCTOBER[1], OCTOBER[0], OCTOBER[1], ZONE, "06:00")
    assert refused.value.field == "to_at"
    with pytest.raises(OutOfRange, match="IANA name"):
        Period(*OCTOBER, OCTOBER[1], "Nowhere/Town", "06:00")
    with pytest.raises(OutOfRange, match="expected UTC to the second"):
        Period("2026-10-01", OCTOBER[1], OCTOBER[1], ZONE, "06:00")


def test_a_cycle_counted_late_is_not_in_the_check_as_it_was_known_before():
    book = Book()
    name = book.flush(7, at="2026-10-05T08:00:00Z")
    flush = book.state.get(Flush, name)
    assert flush is not None
    closed, late = "2026-11-01T08:00:00Z", "2026-11-03T08:00:00Z"

    def counts(as_known_at: str, **known_at: str) -> tuple[int, int]:
        book.put(replace(flush, **known_at))
        found = book.reconcile(as_known_at=as_known_at).gravity.flushes
        return found.counted, found.listed

    assert counts(closed, counted_known_at=late) == (0, 0)
    assert counts(late, counted_known_at=late) == (1, 1)
    assert counts(closed, listed_known_at=late) == (1, 0)
    assert counts(closed, counted_known_at=late, listed_known_at=late) == (0, 0)
