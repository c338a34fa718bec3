"""What was drawn off an item that stays held, and what a holder holds at a time.

All invented. The lot is 400 kg at 5000 g/t, so a kilogram of it is 5 g of gold.
"""

from datetime import datetime, timedelta
from decimal import Decimal
from typing import Any

import pytest

from goldroom.custody import figures, moves
from goldroom.metal.uncertainty import corr
from goldroom.reconcile.contents import Contents
from goldroom.reconcile.priors import Quantities
from tests.goldroom.reconcile.book import LATER, OCTOBER, WELL, Book

DAY = "2026-10-{:02d}T08:00:00Z".format
STEPS = ("hopper", "table", "leach", "electrowinning", "smelt", "vault")


class Leach(Book):
    """A book with a leach: items drawn off, put in, and measured by volume."""

    def lot_held(self, *, weighed: int = 2, assayed: bool = True) -> None:
        """Hold lot T1 at the table from the 2nd, weighed 400 kg on a day."""
        self.make("T1", "lot", step="table", at=DAY(2), is_opening=True)
        self.weigh("T1", "400000", self.act(DAY(weighed)))
        if assayed:
            self.assay("T1", "5000", "600", at=DAY(28))

    def draw(
        self, item: str, of: str, *, day: int, sort: str = "sample", step: str = ""
    ) -> None:
        held = self.data().items[of]
        new = moves.NewItem(
            item=item, sort=sort, step=step or held.step, from_step=held.step,
            parents=(of,),
        )  # fmt: skip
        self._hold(moves.draw(self.state, self.act(DAY(day)), new))

    def weighed_sample(
        self, item: str, of: str, *, day: int, grams: str = "2000"
    ) -> None:
        self.draw(item, of, day=day)
        self.weigh(item, grams, self.act(DAY(day)), scale="BU1", wanted_for="sample")

    def batch(self, *, day: int) -> None:
        self.make("B1", "leach_batch", step="leach", from_step="leach", at=DAY(day))

    def put_in(self, *items: str, day: int) -> None:
        self._hold(moves.put_in(self.state, self.act(DAY(day)), items, "B1"))

    def litres(self, item: str, litres: str, *, day: int, tank: str = "TK1") -> None:
        self._hold(
            figures.volume(
                self.state, self.act(DAY(day)), item=item, litres=Decimal(litres),
                tank=tank, path=item,
            )
        )  # fmt: skip

    def result(self, item: str, gold: str, *, day: int = 28) -> None:
        self.assay(item, gold, "0", at=DAY(day), unit="mg_l", wanted_for="solution")

    def drained(
        self, item: str, litres: str, *, day: int, step: str = "electrowinning"
    ) -> None:
        self.draw(item, "B1", day=day, sort="solution", step=step)
        self.litres(item, litres, day=day)

    def of(self, item: str, **more: Any) -> Contents:
        return Quantities(self.data(), WELL).of(item, **more)

    def gold(self, item: str, **more: Any) -> Decimal:
        return self.of(item, **more).gold.posted_g


def test_a_sample_drawn_after_the_weighing_is_part_of_it():
    book = Leach()
    book.lot_held(weighed=2)
    book.weighed_sample("S1", "T1", day=4)
    assert book.gold("T1", drawn=0) == book.gold("T1", at=DAY(4)) == Decimal(2000)
    assert book.gold("T1") == book.gold("T1", drawn=1) == Decimal(1990)
    assert book.gold("T1", at="2026-10-04T08:00:01Z") == Decimal(1990)
    assert book.of("T1").dry_mass.posted_g == Decimal(398000)


def test_a_sample_drawn_before_the_weighing_comes_on_top_of_it():
    book = Leach()
    book.lot_held(weighed=6)
    book.weighed_sample("S1", "T1", day=4)
    assert book.gold("T1", drawn=0) == book.gold("T1", at=DAY(4)) == Decimal(2010)
    assert book.gold("T1") == Decimal(2000)
    assert book.of("T1", at=DAY(4)).dry_mass.posted_g == Decimal(402000)


def test_two_samples_are_taken_off_one_after_the_other():
    book = Leach()
    book.lot_held()
    book.weighed_sample("S1", "T1", day=4)
    book.weighed_sample("S2", "T1", day=6, grams="4000")
    found = [book.gold("T1", drawn=n) for n in range(3)]
    assert found == [Decimal(2000), Decimal(1990), Decimal(1970)]
    assert [book.gold("T1", at=DAY(day)) for day in (4, 5, 6, 7)] == [
        Decimal(2000),
        Decimal(1990),
        Decimal(1990),
        Decimal(1970),
    ]


def test_an_unassayed_sample_is_valued_as_what_it_was_drawn_off():
    book = Leach()
    book.lot_held()
    book.weighed_sample("S1", "T1", day=4)
    sample = book.of("S1")
    assert (sample.gold.posted_g, sample.silver.posted_g) == (
        Decimal("10.000"),
        Decimal("1.200"),
    )
    assert (sample.how, sample.standing, sample.is_pending) == (
        "lineage",
        "final",
        False,
    )
    assert "valued as T1" in sample.said
    assert corr(sample.gold.measured, book.of("T1").gold.measured) > 0.9


def test_what_is_left_and_what_was_drawn_make_the_whole_with_its_own_error():
    book = Leach()
    book.lot_held()
    book.weighed_sample("S1", "T1", day=4)
    whole, sample, rest = book.of("T1", drawn=0), book.of("S1"), book.of("T1")
    together = rest.gold + sample.gold
    assert together.posted_g == whole.gold.posted_g
    assert together.u_g == pytest.approx(whole.gold.u_g, rel=1e-12)


def test_a_sample_with_a_result_of_its_own_takes_just_that_off():
    book = Leach()
    book.lot_held()
    book.weighed_sample("S1", "T1", day=4)
    book.assay("S1", "7000", "600", at=DAY(27))
    assert (book.gold("S1"), book.gold("T1")) == (Decimal(14), Decimal(1986))


def test_a_sample_of_a_lot_that_nobody_assayed_gets_no_figure_out_of_nowhere():
    book = Leach()
    book.lot_held(assayed=False)
    book.weighed_sample("S1", "T1", day=4)
    assert (book.of("S1").how, book.of("S1").gold) == ("unknown", None)


def test_a_holder_holds_nothing_before_anything_was_put_in():
    book = Leach()
    book.batch(day=5)
    empty = book.of("B1")
    assert [each.posted_g for each in (empty.gold, empty.silver, empty.dry_mass)] == [
        Decimal("0.000")
    ] * 3
    assert (empty.how, empty.is_pending) == ("book", False)


def running(*, is_sampled: bool = False) -> Leach:
    """Return a batch: lot in on the 6th, drained on the 8th, lot in again, drained.

    With samples: 10 g of the lot, 0.06 g off the batch, some off the first solution.
    """
    book = Leach()
    book.lot_held()
    if is_sampled:
        book.weighed_sample("S1", "T1", day=4)
    book.make("T2", "lot", step="table", at=DAY(2), is_opening=True)
    book.weigh("T2", "100000", book.act(DAY(2)))
    book.assay("T2", "4000", "500", at=DAY(28))
    book.batch(day=6)
    book.put_in("T1", day=6)
    if is_sampled:
        book.draw("S2", "B1", day=7)
        book.litres("S2", "0.100", day=7, tank="")
        book.result("S2", "600")
    book.drained("SOL1", "2000", day=8)
    if is_sampled:
        book.draw("S3", "SOL1", day=9)
        book.litres("S3", "0.100", day=9, tank="")
    book.put_in("T2", day=10)
    book.drained("SOL2", "1000", day=12)
    book.result("SOL1", "600")
    book.result("SOL2", "150")
    return book


@pytest.mark.parametrize(
    ("at", "gold", "dry"),
    [
        (DAY(5), "0", "0"),
        (DAY(6), "0", "0"),
        (DAY(7), "2000", "400000"),
        (DAY(8), "2000", "400000"),
        (DAY(9), "800", "400000"),
        (DAY(11), "1200", "500000"),
        (DAY(13), "1050", "500000"),
        ("", "1050", "500000"),
    ],
)
def test_a_holder_holds_what_was_put_in_less_what_was_drawn(at, gold, dry):
    found = running().of("B1", at=at)
    assert (found.gold.posted_g, found.dry_mass.posted_g) == (
        Decimal(gold),
        Decimal(dry),
    )


def test_a_solution_has_litres_and_no_dry_mass():
    found = running().of("SOL1")
    assert (found.litres.posted_g, found.dry_mass.posted_g) == (2000, 0)
    assert found.gold.posted_g == Decimal(1200)


def test_a_holders_content_is_as_uncertain_as_what_went_in_and_out():
    book = running()
    parts = [book.of(name) for name in ("T1", "T2", "SOL1", "SOL2")]
    signs = (1, 1, -1, -1)
    by_hand = sum(
        (sign * each.gold.measured for sign, each in zip(signs, parts, strict=True)),
        0 * parts[0].gold.measured,
    )
    assert book.of("B1").gold.u_g == pytest.approx(by_hand.u, rel=1e-12)
    # One tank, one laboratory: the two solutions' errors are not independent.
    assert corr(parts[2].gold.measured, parts[3].gold.measured) > 0.2


def test_a_holder_of_something_provisional_says_so():
    book = Leach()
    book.lot_held(assayed=False)
    book.assay("T1", "5000", "600", at=DAY(20), standing="provisional")
    book.batch(day=6)
    book.put_in("T1", day=6)
    found = book.of("B1")
    assert (found.how, found.is_provisional) == ("book", True)
    assert found.said == "B1: T1 in it is not final"


def test_a_holder_of_something_unknown_is_unknown_and_names_it():
    book = Leach()
    book.lot_held(assayed=False)
    book.batch(day=6)
    book.put_in("T1", day=6)
    found = book.of("B1")
    assert (found.how, found.gold) == ("unknown", None)
    assert "T1" in found.said


def sampled(*, day: int = 7) -> Leach:
    """Return a batch with a sample of its solution that nobody assayed yet."""
    book = Leach()
    book.lot_held()
    book.batch(day=6)
    book.put_in("T1", day=6)
    book.draw("S1", "B1", day=day)
    book.litres("S1", "0.050", day=day, tank="")
    return book


def test_a_sample_off_a_holder_counts_with_it_until_its_result_is_in():
    book = sampled()
    sample = book.of("S1")
    assert (sample.how, sample.gold.posted_g, sample.is_pending) == ("prior", 0, True)
    assert "counted with B1" in sample.said
    assert book.gold("B1") == Decimal(2000)
    book.result("S1", "600")
    assert (book.gold("S1"), book.gold("B1")) == (Decimal("0.030"), Decimal("1999.970"))


def test_a_sample_off_a_holder_is_valued_by_its_like_where_there_is_one():
    book = sampled()
    book.drained("SOL1", "2000", day=8)
    book.result("SOL1", "600")
    sample = book.of("S1")
    assert (sample.how, sample.gold.posted_g) == ("prior", Decimal("0.030"))
    assert "mean of 1 measured" in sample.said


def test_a_balance_with_an_unassayed_sample_in_it_is_drawn():
    report = sampled().reconcile()
    leach = report.steps["leach"]["gold"]
    assert (leach.is_drawn, leach.unaccounted.posted_g) == (True, 0)
    assert [each.item for each in report.pending] == ["S1"]


def test_a_solution_that_passed_on_without_any_result_is_not_drawn_as_nothing():
    book = sampled()
    book.drained("SOL1", "2000", day=8)
    report = book.reconcile()
    assert list(report.steps)[2:3] == ["leach+electrowinning"]
    assert not report.steps["leach+electrowinning"]["gold"].is_drawn


def moments(book: Leach) -> list[str]:
    """Return every time that something was made, put in or drawn, a second apart."""
    times = {each.held_from for each in book.data().items.values()}
    times |= {each.held_until for each in book.data().items.values()}
    found = {
        datetime.fromisoformat(each) + timedelta(seconds=second)
        for each in times
        if each
        for second in (-1, 0, 1)
    }
    return sorted(each.strftime("%Y-%m-%dT%H:%M:%SZ") for each in found)


def complete() -> Leach:
    """Return a batch run to its end; samples of every sort drawn on the way."""
    book = running(is_sampled=True)
    done = book.act(DAY(14))
    book.use_up(["B1"], done)
    book.make(
        "R1", "residue", step="leach", from_step="leach", at=DAY(14), act=done,
        parents=("B1",),
    )  # fmt: skip
    book.weigh("R1", "498000", done, wanted_for="residue")
    left = Decimal("1039.94")  # 1990 + 400 - 1200 - 150 - 0.06 in sample S2
    book.assay("R1", str(left / Decimal("0.498")), "0", at=DAY(28))
    book.leave("R1", at=DAY(15))
    return book


def test_every_cut_closes_a_holders_steps_to_the_milligram_on_both_sides():
    book = complete()
    for cut in moments(book):
        first = book.reconcile(OCTOBER[0], cut)
        second = book.reconcile(cut, OCTOBER[1])
        for report in (first, second):
            for name, balances in report.steps.items():
                for metal in ("gold", "dry_mass"):
                    if metal in balances:
                        found = balances[metal].unaccounted
                        assert found.posted_g == 0, (cut, name, metal)
        for name in set(first.steps) & set(second.steps):
            closing, opening = (
                first.steps[name]["gold"].closing,
                second.steps[name]["gold"].opening,
            )
            assert closing.posted_g == opening.posted_g, (cut, name)
            assert closing.measured == opening.measured, (cut, name)


def test_what_was_learned_later_is_in_no_earlier_holder():
    book = Leach()
    book.lot_held(assayed=False)
    book.assay("T1", "5000", "600", at=DAY(3))
    book.batch(day=6)
    book.put_in("T1", day=6)
    book.drained("SOL1", "2000", day=8)
    book.result("SOL1", "600", day=9)
    known = {
        at: Quantities(book.data().as_known(at), WELL)
        for at in (DAY(5), DAY(7), DAY(8), DAY(9), LATER)
    }
    assert "B1" not in known[DAY(5)].data.items
    assert known[DAY(7)].of("B1").gold.posted_g == Decimal(2000)
    assert known[DAY(8)].of("B1").gold is None  # drained, and no solution assayed yet
    assert known[DAY(9)].of("B1").gold.posted_g == Decimal(800)
    assert known[LATER].of("B1").gold.posted_g == Decimal(800)


@pytest.mark.parametrize("weighs_again", [False, True])
def test_a_sample_taken_and_the_rest_weighed_again_in_one_minute(weighs_again):
    book = Leach()
    book.lot_held(weighed=2)
    book.weighed_sample("S1", "T1", day=4)
    if weighs_again:
        book.weigh("T1", "398000", book.act(DAY(4)))
    assert book.gold("T1") == Decimal(1990)  # 398 kg at 5 g/kg
    assert book.gold("T1", at=DAY(4)) == Decimal(2000)
