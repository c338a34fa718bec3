"""Whose gold it is: mixed pours, cells and returns, attributed by measured inputs."""

from collections.abc import Sequence
from decimal import Decimal
from itertools import pairwise

import numpy as np
import pytest
import uncertainties
from uncertainties import ufloat

from goldroom.custody import figures, moves
from goldroom.custody.other_metal import OTHER_METAL, OtherMetal
from goldroom.metal.uncertainty import Measured, total
from goldroom.reconcile.gravity_check import GravityCheck
from goldroom.reconcile.ledger_records import LedgerRecords
from goldroom.reconcile.priors import Quantities
from goldroom.reconcile.sources import (
    NEGLIGIBLE,
    GravityShares,
    Shares,
    inputs_of,
    is_earlier,
    source_of_origin,
)
from goldroom.reconcile.words import sentences
from tests.goldroom import cell_story
from tests.goldroom.reconcile.book import OCTOBER, Book

DAY = "2026-10-02T08:00:00Z"
POUR = "2026-10-05T08:00:00Z"
NUMBERED = "2026-10-05T10:00:00Z"


def concentrate(book: Book, name: str, grams: str, *, at: str = DAY) -> None:
    """Write a concentrate half of gold, with gravity for its source."""
    done = book.make(name, "concentrate", step="smelt", from_step="table", at=at)
    book.weigh(name, grams, done, scale="BU1", wanted_for="table_product")
    book.assay(name, "500000", "100000", at=at, wanted_for="table_concentrate")


def received(
    book: Book,
    name: str,
    *,
    sort: str = "sludge",
    step: str = "smelt",
    source: str = "other",
    grams: str | None = None,
    gpt: str | None = None,
    sample: str = "",
    at: str = DAY,
) -> None:
    """Write metal from elsewhere in the plant, weighed and assayed if told."""
    done = book.make(name, sort, step=step, at=at, source=source, is_opening=True)
    book._hold(
        moves.cross(book.state, done, name, step, where_to=OTHER_METAL, from_step="")
    )
    book.put(
        OtherMetal(
            item=name, origin="trap", sample=sample, from_where="mill",
            handed_over_by="Pell Draven", at=done.at, entry=done.entry,
            known_at=done.known_at,
        )
    )  # fmt: skip
    if grams is not None:
        book.weigh(name, grams, done, scale="BU1", wanted_for="other_metal")
    if gpt is not None:
        book.assay(name, gpt, "100000", at=at, wanted_for=sort)


def measure(book: Book, name: str, litres: str) -> None:
    """Write a solution's volume."""
    book._hold(
        figures.volume(
            book.state,
            book.act(DAY),
            item=name,
            litres=Decimal(litres),
            tank="",
            path=name,
        )
    )


def solution(
    book: Book, name: str, litres: str, mg_l: str | None, *, at: str = DAY,
    source: str = "gravity",
) -> None:  # fmt: skip
    """Write a solution for the cells, assayed if told."""
    if source == "gravity":
        book.make(name, "solution", step="electrowinning", at=at)
    else:
        received(book, name, sort="solution", step="electrowinning", at=at)
    measure(book, name, litres)
    if mg_l is not None:
        book.assay(name, mg_l, at=at, unit="mg_l", wanted_for="solution")


def put_in(book: Book, items: Sequence[str], holder: str, *, at: str) -> None:
    book._hold(moves.put_in(book.state, book.act(at), items, holder))


def draw(book: Book, name: str, sort: str, parent: str, *, at: str) -> None:
    new = moves.NewItem(
        item=name, sort=sort, step="electrowinning", from_step="electrowinning",
        parents=(parent,), source=book.data().items[parent].source,
    )  # fmt: skip
    book._hold(moves.draw(book.state, book.act(at), new))


def shares_of(book: Book, item: str, **more: object) -> dict[str, Measured]:
    return dict(Shares(Quantities(book.data()), **more).of(item))


def check_sum(shares: dict[str, Measured]) -> None:
    """Assert that shares add up to 1, and that nothing is uncertain of that."""
    whole = total(shares.values())
    assert whole.value == pytest.approx(1, abs=1e-12)
    assert whole.u == pytest.approx(0, abs=1e-12)


def three_ways() -> Book:
    """Return a pour of 300 g gravity, 60 g elution sludge, 40 g of floor cleanings."""
    book = Book()
    concentrate(book, "CON", "600")
    received(book, "SLUDGE", grams="100", gpt="600000")
    received(book, "FLOOR", sort="other")
    book.estimate("FLOOR", "40", "10", at=DAY)
    book.pour("CH", ["CON", "SLUDGE", "FLOOR"], ["BAR"], at=POUR, source="mixed")
    book.number("BAR", "500", "800", at=NUMBERED)
    return book


@pytest.mark.source("shares by hand: 300, 60 and 40 of 400 g")
def test_a_pour_is_attributed_to_each_origin_by_its_measured_gold():
    shares = shares_of(three_ways(), "BAR")
    assert {name: share.value for name, share in shares.items()} == pytest.approx(
        {"CON": 0.75, "SLUDGE": 0.15, "FLOOR": 0.10}
    )
    check_sum(shares)


@pytest.mark.source("the `uncertainties` package: a share of three measured parts")
@pytest.mark.parametrize("origin", ["CON", "SLUDGE", "FLOOR"])
def test_a_share_is_as_uncertain_as_an_outside_library_says(origin: str):
    book = three_ways()
    quantities = Quantities(book.data())
    names = ("CON", "SLUDGE", "FLOOR")
    held = [quantities.of(each).gold.measured for each in names]
    keys = sorted({key for each in held for key in each.effects})
    errors = {key: ufloat(0, 1) for key in keys}
    golds = [
        each.value + sum(c * errors[key] for key, c in each.effects.items())
        for each in held
    ]
    told = golds[names.index(origin)] / sum(golds)
    found = Shares(quantities).of("BAR")[origin]
    assert found.value == pytest.approx(uncertainties.nominal_value(told), rel=1e-12)
    assert found.u == pytest.approx(uncertainties.std_dev(told), rel=1e-9)


@pytest.mark.source("JCGM 101:2008: propagation of distributions by Monte Carlo")
def test_a_share_spreads_as_a_thousand_drawn_pours_do():
    quantities = Quantities(three_ways().data())
    held = [quantities.of(each).gold.measured for each in ("CON", "SLUDGE", "FLOOR")]
    keys = sorted({key for each in held for key in each.effects})
    drawn = np.random.default_rng(7).standard_normal((200_000, len(keys)))
    golds = [
        each.value + drawn @ np.array([each.effects.get(key, 0.0) for key in keys])
        for each in held
    ]
    told = golds[2] / sum(golds)
    found = Shares(quantities).of("BAR")["FLOOR"]
    assert found.u == pytest.approx(told.std(), rel=0.02)


@pytest.mark.source("two errors that cancel: JCGM 100:2008, F.1.2.3, correlated inputs")
def test_one_laboratorys_bias_on_both_parts_leaves_the_share_alone():
    book = Book()
    concentrate(book, "A", "600")
    received(book, "B", sort="concentrate", grams="200")
    book.assay("B", "500000", "1", at=DAY, wanted_for="table_concentrate")
    book.pour("CH", ["A", "B"], ["BAR"], at=POUR, source="mixed")
    share = shares_of(book, "BAR")["A"]
    assert share.value == pytest.approx(0.75)
    assert not [key for key in share.effects if key.startswith(("lab:", "sampler:"))]
    assert [key for key in share.effects if key.startswith("fse:")]


@pytest.mark.source("mass balance model of ISO 22095:2020: outputs take inputs' shares")
def test_all_that_is_poured_together_has_the_same_shares():
    book = three_ways()
    book.make("SLAG", "slag", step="smelt", from_step="smelt", at=POUR,
              parents=("CH",), source="mixed")  # fmt: skip
    book.estimate("SLAG", "4", "1", at=POUR)
    assert shares_of(book, "SLAG") == shares_of(book, "BAR")


@pytest.mark.source("chain of two mixings by hand: 0.9 x 0.75 and so on")
def test_a_pour_of_returns_carries_the_returns_own_shares():
    book = three_ways()
    book.make("SLAG", "slag", step="smelt", from_step="smelt", at=POUR,
              parents=("CH",), source="mixed")  # fmt: skip
    book.estimate("SLAG", "20", "5", at=POUR)
    concentrate(book, "CON-2", "360", at="2026-10-06T08:00:00Z")
    book.pour("CH-2", ["CON-2", "SLAG"], ["BAR-2"], at="2026-10-07T08:00:00Z",
              source="mixed")  # fmt: skip
    shares = shares_of(book, "BAR-2")
    assert {name: share.value for name, share in shares.items()} == pytest.approx(
        {"CON-2": 0.9, "CON": 0.075, "SLUDGE": 0.015, "FLOOR": 0.01}
    )
    check_sum(shares)
    gravity = GravityShares.of_all(Quantities(book.data())).of("BAR-2")
    assert gravity.value == pytest.approx(0.975)
    assert gravity.u == pytest.approx(
        total([shares["CON-2"], shares["CON"]]).u, rel=1e-9
    )


def test_a_bar_melted_again_brings_its_shares_along():
    book = three_ways()
    concentrate(book, "CON-2", "800", at="2026-10-06T08:00:00Z")
    book.pour("CH-2", ["BAR", "CON-2"], ["BAR-2"], at="2026-10-07T08:00:00Z",
              source="mixed")  # fmt: skip
    shares = shares_of(book, "BAR-2")
    assert {name: share.value for name, share in shares.items()} == pytest.approx(
        {"CON": 0.375, "SLUDGE": 0.075, "FLOOR": 0.05, "CON-2": 0.5}
    )
    check_sum(shares)


def test_a_bars_shares_go_back_through_lots_to_their_loads():
    book = Book()
    book.load("L1", at=DAY, grams="20000", gold="2000")
    book.load("L2", at=DAY, grams="20000", gold="6000")
    book.lot("LOT", ["L1", "L2"], at="2026-10-03T08:00:00Z", grams="40000")
    book.table_run(["LOT"], "CON", "TLS", at="2026-10-03T10:00:00Z")
    book.pour("CH", ["CON"], ["BAR"], at=POUR)
    shares = shares_of(book, "BAR")
    assert {name: share.value for name, share in shares.items()} == pytest.approx(
        {"L1": 0.25, "L2": 0.75}
    )
    check_sum(shares)


def test_loads_that_nobody_can_weigh_against_each_other_stand_as_their_lot():
    book = Book()
    for name in ("L1", "L2"):
        book.make(name, "load", step="hopper", at=DAY)
    book.lot("LOT", ["L1", "L2"], at="2026-10-03T08:00:00Z", grams="40000", gold=None)
    book.table_run(["LOT"], "CON", "TLS", at="2026-10-03T10:00:00Z")
    received(book, "SLUDGE", grams="100", gpt="340000")
    book.pour("CH", ["CON", "SLUDGE"], ["BAR"], at=POUR, source="mixed")
    shares = Shares(Quantities(book.data()))
    assert {name: share.value for name, share in shares.of("BAR").items()} == (
        pytest.approx({"LOT": 0.5, "SLUDGE": 0.5})
    )
    assert shares.inseparable == {}  # of one source: nothing is lost by it


def test_silver_has_shares_of_its_own():
    book = Book()
    concentrate(book, "CON", "600")
    received(book, "SLUDGE", grams="200", gpt="600000")
    book.pour("CH", ["CON", "SLUDGE"], ["BAR"], at=POUR, source="mixed")
    assert shares_of(book, "BAR")["CON"].value == pytest.approx(300 / 420)
    silver = shares_of(book, "BAR", metal="silver")
    assert silver["CON"].value == pytest.approx(0.75)
    check_sum(silver)


# --- cells ------------------------------------------------------------------


def cell(book: Book, litres: tuple[str, str], strengths: tuple[str | None, str | None]):
    """Write a cell's load of a gravity solution and an eluate, and its sludge."""
    solution(book, "PREG", litres[0], strengths[0])
    solution(book, "EL", litres[1], strengths[1], source="other")
    book.make("LOAD", "cell_load", step="electrowinning",
              from_step="electrowinning", at="2026-10-03T08:00:00Z")  # fmt: skip
    put_in(book, ["PREG"], "LOAD", at="2026-10-03T09:00:00Z")
    put_in(book, ["EL"], "LOAD", at="2026-10-03T12:00:00Z")
    done = book.act("2026-10-04T08:00:00Z")
    book.use_up(["LOAD"], done)
    book.make("CELLS", "sludge", step="smelt", from_step="electrowinning",
              at="2026-10-04T08:00:00Z", parents=("LOAD",), act=done,
              source=book.data().items["LOAD"].source)  # fmt: skip
    book.weigh("CELLS", "500", done, scale="BU1", wanted_for="sludge")
    book.assay("CELLS", "800000", "1", at=done.at, wanted_for="sludge")


@pytest.mark.source("shares by hand: 1000 L at 300 mg/L and 500 L at 200 mg/L")
def test_a_mixed_cell_load_is_attributed_by_what_was_put_in():
    book = Book()
    cell(book, ("1000", "500"), ("300", "200"))
    shares = shares_of(book, "CELLS")
    assert {name: share.value for name, share in shares.items()} == pytest.approx(
        {"PREG": 0.75, "EL": 0.25}
    )
    check_sum(shares)
    assert book.data().items["LOAD"].source == "mixed"


def test_what_was_drawn_off_before_the_eluate_joined_is_all_gravity():
    book = Book()
    solution(book, "PREG", "1000", "300")
    solution(book, "EL", "500", "200", source="other")
    book.make("LOAD", "cell_load", step="electrowinning",
              from_step="electrowinning", at="2026-10-03T08:00:00Z")  # fmt: skip
    put_in(book, ["PREG"], "LOAD", at="2026-10-03T09:00:00Z")
    draw(book, "EARLY", "solution", "LOAD", at="2026-10-03T10:00:00Z")
    put_in(book, ["EL"], "LOAD", at="2026-10-03T12:00:00Z")
    draw(book, "LATE", "solution", "LOAD", at="2026-10-03T14:00:00Z")
    assert shares_of(book, "EARLY") == {"PREG": Measured(1.0)}
    assert shares_of(book, "LATE")["EL"].value == pytest.approx(0.25)
    gravity = GravityShares.of_all(Quantities(book.data()))
    assert gravity.of("EARLY").value == 1
    assert gravity.of("LATE").value == pytest.approx(0.75)


def test_barren_that_goes_round_a_cell_makes_no_circle():
    book = Book()
    solution(book, "PREG", "1000", "300")
    book.make("LOAD", "cell_load", step="electrowinning",
              from_step="electrowinning", at="2026-10-03T08:00:00Z")  # fmt: skip
    put_in(book, ["PREG"], "LOAD", at="2026-10-03T09:00:00Z")
    draw(book, "BARREN", "solution", "LOAD", at="2026-10-03T09:00:00Z")
    put_in(book, ["BARREN"], "LOAD", at="2026-10-03T09:00:00Z")
    check_sum(shares_of(book, "LOAD"))
    assert set(shares_of(book, "BARREN")) <= {"PREG", "BARREN", "LOAD"}


@pytest.mark.source("shares by hand: 1800 g by gravity and 1000 g of eluate")
def test_a_cells_load_said_in_statements_shares_down_to_its_calcine():
    data = LedgerRecords.from_held(cell_story.upto("calcined").all_held())
    shares = Shares(Quantities(data))
    made = [
        name
        for name, item in data.items.items()
        if item.sort in ("sludge", "calcine", "heel")
    ]
    assert len(made) >= 4
    for name in made:
        found = shares.of(name)
        assert {each: share.value for each, share in found.items()} == pytest.approx(
            {"SOL-1": 1800 / 2800, "SOL-2": 1000 / 2800}
        )
        check_sum(dict(found))
    assert dict(shares.of("BRN-1")) == {"SOL-1": Measured(1.0)}
    assert shares.of("BRN-2")["SOL-2"].value == pytest.approx(1000 / 2800)
    # the heel of 30 g joins the next load's 400 g
    assert shares.of("CL-2")["SOL-3"].value == pytest.approx(400 / 430)
    check_sum(dict(shares.of("CL-2")))
    assert shares.inseparable == {}


# --- what cannot be separated -------------------------------------------------


def poured_from_cells(strength: str | None) -> Book:
    """Write a pour of 300 g concentrate and 400 g sludge of shared cells."""
    book = Book()
    concentrate(book, "CON", "600")
    cell(book, ("1000", "500"), ("300", strength))
    book.pour("CH", ["CON", "CELLS"], ["BAR"], at=POUR, source="mixed")
    book.number("BAR", "875", "800", at=NUMBERED)
    return book


def check_of(book: Book) -> GravityCheck:
    return book.reconcile(*OCTOBER).gravity


def test_cells_shared_with_an_eluate_nobody_sampled_are_inseparable():
    shares = Shares(Quantities(poured_from_cells(None).data()))
    found = shares.of("BAR")
    assert {name: share.value for name, share in found.items()} == pytest.approx(
        {"CON": 3 / 7, "LOAD": 4 / 7}
    )
    check_sum(dict(found))
    assert shares.inseparable == {"LOAD": "nobody measured solution EL"}


def test_the_gravity_check_leaves_it_out_and_says_how_far_it_may_be_from_the_truth():
    book = poured_from_cells(None)
    book.model()
    book.mill_day("2026-10-05")
    book.flush(1, at="2026-10-05T06:00:00Z")
    report = book.reconcile(*OCTOBER)
    check = report.gravity
    assert check.poured.posted_g == Decimal("300.000")
    assert check.accounted.posted_g + check.inseparable.gold.posted_g == (
        check.accounted_with_inseparable.posted_g
    )
    assert check.inseparable.gold.posted_g == Decimal("400.000")
    assert check.inseparable.items == ("LOAD",)
    told = check.to_json()["inseparable"]
    assert told["gold"] == "400.000"
    assert told["why"] == [
        "nobody measured solution EL: the gravity share of LOAD cannot be told"
    ]
    assert float(told["ratio_with_all"]) - check.ratio.value == pytest.approx(
        400 / check.estimate.total_g.value, abs=1e-3
    )
    said = " ".join(sentences(report))
    assert (
        "Gravity and other metal cannot be told apart in LOAD. Nobody measured solution"
        " EL: the gravity share of LOAD cannot be told. It comes to 400.0 g ±" in said
    )
    assert "Were all of it gravity gold" in said
    assert "What is so lies between the two" in said


def test_sampling_the_eluate_makes_it_separable_and_provisional_until_assayed():
    book = poured_from_cells(None)
    before = Shares(Quantities(book.data()))
    before.of("BAR")
    assert "LOAD" in before.inseparable
    draw(book, "EL-S", "sample", "EL", at=DAY)
    measure(book, "EL-S", "0.5")
    shares = Shares(Quantities(book.data()))
    found = shares.of("BAR")
    # a typical strength stands in, 30 per cent wide
    assert found["EL"].u / found["EL"].value > 0.15
    assert shares.inseparable == {}
    assert shares.pending_in("BAR") == {"EL"}
    check = check_of(book)
    assert check.inseparable.items == ()
    assert check.inseparable.provisional == ("EL",)
    book.assay("EL", "200", at=DAY, unit="mg_l", wanted_for="solution")
    assert Shares(Quantities(book.data())).pending_in("BAR") == frozenset()
    # half a litre of five hundred went with the sample
    mixed = shares_of(book, "BAR")["EL"].value
    assert mixed == pytest.approx(4 / 7 * 99.9 / 399.9)


def test_a_sort_that_nobody_ever_measures_cannot_be_weighed_against_the_rest():
    book = Book()
    concentrate(book, "CON", "600")
    received(book, "TRAP", sort="other", grams="900", sample="S-1")
    book.pour("CH", ["CON", "TRAP"], ["BAR"], at=POUR, source="mixed")
    book.number("BAR", "500", "800", at=NUMBERED)
    check = check_of(book)
    assert check.inseparable.why == (
        "nobody measured other TRAP: the gravity share of CH cannot be told",
    )
    assert check.poured.posted_g == 0
    assert check.accounted_with_inseparable.posted_g == Decimal("400.000")


def test_what_was_dried_of_a_sludge_nobody_sampled_is_no_better_known():
    book = Book()
    concentrate(book, "CON", "600")
    received(book, "KNOWN", grams="100", gpt="600000")
    received(book, "WET", grams="80")
    done = book.act("2026-10-03T08:00:00Z")
    book.use_up(["WET"], done)
    book.make("DRY", "calcine", step="smelt", from_step="smelt", act=done,
              at="2026-10-03T08:00:00Z", parents=("WET",), source="other")  # fmt: skip
    book.weigh("DRY", "60", done, scale="BU1", wanted_for="calcine")
    book.pour("CH", ["CON", "DRY"], ["BAR"], at=POUR, source="mixed")
    shares = Shares(Quantities(book.data()))
    assert set(shares.of("BAR")) == {"CH"}
    assert shares.inseparable == {"CH": "nobody measured calcine DRY"}


def test_stock_said_to_be_mixed_is_inseparable_and_says_so():
    book = Book()
    concentrate(book, "CON", "600")
    book.make("OLD", "slag", step="smelt", at=DAY, source="mixed", is_opening=True)
    book.estimate("OLD", "100", "20", at=DAY)
    book.pour("CH", ["CON", "OLD"], ["BAR"], at=POUR, source="mixed")
    book.number("BAR", "500", "800", at=NUMBERED)
    check = check_of(book)
    assert check.poured.posted_g == Decimal("300.000")
    assert check.inseparable.why == (
        "nobody knows what it was mixed from: the gravity share of OLD cannot be told",
    )


def test_sweepings_of_two_pours_share_both_by_what_was_charged():
    book = three_ways()
    concentrate(book, "CON-2", "800", at="2026-10-06T08:00:00Z")
    book.pour("CH-2", ["CON-2"], ["BAR-2"], at="2026-10-07T08:00:00Z")
    book.make(
        "SWEPT",
        "sweepings",
        step="smelt",
        from_step="smelt",
        at="2026-10-08T08:00:00Z",
        parents=("CH", "CH-2"),
        source="mixed",
    )
    book.estimate("SWEPT", "12", "4", at="2026-10-08T08:00:00Z")
    shares = shares_of(book, "SWEPT")
    assert {name: share.value for name, share in shares.items()} == pytest.approx(
        {"CON": 0.375, "SLUDGE": 0.075, "FLOOR": 0.05, "CON-2": 0.5}
    )
    check_sum(shares)


# --- the check and the balances ----------------------------------------------


def test_the_gravity_check_of_a_mixed_pour_is_that_of_the_same_gravity_alone():
    alone, mixed = Book(), Book()
    for book, others in ((alone, []), (mixed, ["SLUDGE"])):
        concentrate(book, "CON", "600")
        if others:
            received(book, "SLUDGE", grams="200", gpt="500000")
        source = "mixed" if others else "gravity"
        book.pour("CH", ["CON", *others], ["BAR"], at=POUR, source=source)
        book.number("BAR", "500" if others else "375", "800", at=NUMBERED)
    first, second = check_of(alone), check_of(mixed)
    for name in ("poured", "holdings_rise", "went_out", "accounted"):
        assert getattr(first, name).posted_g == getattr(second, name).posted_g, name
    assert second.poured.posted_g == Decimal("300.000")
    assert second.poured.u_g > first.poured.u_g
    assert second.inseparable.gold.posted_g == 0


def test_gravity_metal_that_came_round_the_hopper_is_accounted_and_told():
    book = Book()
    concentrate(book, "CON", "600")
    received(book, "LAUNDER", sort="other", source="gravity", grams="160")
    book.assay("LAUNDER", "500000", "1", at=DAY, wanted_for="lot")
    book.pour("CH", ["CON", "LAUNDER"], ["BAR"], at=POUR)
    book.number("BAR", "475", "800", at=NUMBERED)
    book.model()
    book.mill_day("2026-10-05")
    book.flush(1, at="2026-10-05T06:00:00Z")
    report = book.reconcile(*OCTOBER)
    assert report.gravity.poured.posted_g == Decimal("380.000")
    assert report.gravity.round_the_hopper.posted_g == Decimal("80.000")
    assert report.gravity.to_json()["round_the_hopper"] == "80.000"
    assert "of gravity gold came round the hopper" in " ".join(sentences(report))


def test_attribution_moves_no_metal_in_any_balance():
    poured = {}
    for strength in (None, "200"):
        report = poured_from_cells(strength).reconcile(*OCTOBER)
        smelt, vault = report.steps["smelt"]["gold"], report.steps["vault"]["gold"]
        poured[strength] = (smelt.to_json(), vault.to_json())
    assert poured[None] == poured["200"]
    assert poured["200"][0]["unaccounted"] == "0.000"


def test_other_metal_comes_into_its_step_and_leaves_the_hopper_alone():
    report = three_ways().reconcile(*OCTOBER)
    assert report.steps["smelt"]["gold"].came_in.posted_g == Decimal("400.000")
    assert report.steps["smelt"]["gold"].unaccounted.posted_g == 0
    assert report.steps["hopper"]["gold"].is_idle


def test_sweepings_found_lessen_what_their_pour_left_unaccounted():
    book = Book()
    concentrate(book, "CON", "600")
    book.pour("CH", ["CON"], ["BAR"], at=POUR)
    book.number("BAR", "350", "800", at=NUMBERED)
    smelt = book.reconcile(*OCTOBER).steps["smelt"]["gold"]
    assert smelt.unaccounted.posted_g == Decimal("20.000")
    book.make("SWEPT", "sweepings", step="smelt", from_step="smelt",
              at="2026-10-08T08:00:00Z", parents=("CH",))  # fmt: skip
    book.estimate("SWEPT", "15", "4", at="2026-10-08T08:00:00Z")
    smelt = book.reconcile(*OCTOBER).steps["smelt"]["gold"]
    assert smelt.unaccounted.posted_g == Decimal("5.000")
    assert smelt.came_in.posted_g == Decimal("300.000")


# --- a long way back ------------------------------------------------------------


def round_and_round(pours: int, *, other: bool) -> Book:
    """Write pours that each take the slag of the one before, 2 g of 102 g."""
    book = Book()
    slag: list[str] = []
    for n in range(pours):
        at = f"2026-10-05T08:{n // 60:02d}:{n % 60:02d}Z"
        concentrate(book, f"CON-{n}", "200", at=at)
        sources = [f"CON-{n}", *slag]
        if other and n == 0:
            received(book, "SLUDGE", grams="100", gpt="500000", at=at)
            sources.append("SLUDGE")
        source = "mixed" if other else "gravity"
        book.pour(f"CH-{n}", sources, [f"BAR-{n}"], at=at, source=source)
        book.make(f"SLAG-{n}", "slag", step="smelt", from_step="smelt", at=at,
                  parents=(f"CH-{n}",), source=source)  # fmt: skip
        book.estimate(f"SLAG-{n}", "2", "0.5", at=at)
        slag = [f"SLAG-{n}"]
    return book


@pytest.mark.source("geometric series by hand: each pour keeps 2 parts in 102")
def test_returns_fade_pour_by_pour_and_what_fades_away_is_kept_together():
    book = round_and_round(8, other=True)
    shares = shares_of(book, "BAR-7")
    check_sum(shares)
    newest = [shares[f"CON-{n}"].value for n in (7, 6, 5)]
    assert newest[0] == pytest.approx(100 / 102)
    for older, newer in pairwise(reversed(newest)):
        assert newer / older == pytest.approx(102 / 2, rel=1e-9)
    faded = [name for name in shares if is_earlier(name)]
    data = book.data()
    assert {source_of_origin(data, name) for name in faded} == {"gravity", "other"}
    assert all(shares[name].value < 3 * NEGLIGIBLE for name in faded)


def test_a_thousand_pours_of_returns_are_no_deeper_than_the_stack():
    book = round_and_round(1100, other=True)
    shares = GravityShares.of_all(Quantities(book.data()))
    assert shares.of("BAR-1099").value == pytest.approx(1, abs=1e-9)
    assert shares.shares.inseparable == {}


def test_what_went_into_a_thing_is_told_as_far_back_as_one_step():
    data = three_ways().data()
    assert inputs_of(data, "CON") == ()
    assert inputs_of(data, "BAR") == ("CH",)
    assert inputs_of(data, "CH") == ("CON", "SLUDGE", "FLOOR")
