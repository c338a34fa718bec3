"""Several determinations, and what lies below a detection limit, in the balance."""

import math
from decimal import Decimal

import pytest
from uncertainties import ufloat

from goldroom.custody import figures
from goldroom.metal.uncertainty import below_detection
from goldroom.reconcile.priors import Quantities
from tests.goldroom.reconcile.book import WELL, Book

AT = "2026-10-05T08:00:00Z"
source = pytest.mark.source


def told(item: str, sort: str, content: figures.Content, wanted_for: str) -> Book:
    """Return a book with one weighed or measured item and its result."""
    book = Book()
    done = book.make(item, sort, step="smelt", from_step="smelt", at=AT)
    if content.unit == "mg_l":
        records = figures.volume(
            book.state, done, item=item, litres=Decimal(5000), tank="T1", path="dip"
        )
        for each in records:
            book.put(each)
    else:
        book.weigh(item, "8412.3", done, scale="BU1", wanted_for=wanted_for)
    origin = figures.Origin(
        assay_id="A1",
        sample="S1",
        standing="final",
        laboratory="LAB",
        method="fire_assay",
        sampler="drill",
        wanted_for=wanted_for,
    )
    for each in figures.assay(
        book.state, done, item=item, content=content, origin=origin
    ):
        book.put(each)
    return book


def bar(**more: int) -> figures.Content:
    """Return a bar's content; determinations where more than one."""
    return figures.Content(
        unit="permille", gold=Decimal("842.6"), silver=Decimal("119.2"), **more
    )


@pytest.mark.source("JCGM 100:2008, 4.2.3: the mean of n has u over the root of n")
@pytest.mark.parametrize("count", [1, 2, 3, 4])
def test_the_mean_of_several_determinations_repeats_better(count: int):
    alone = Quantities(told("B1", "bar", bar(), "bar").data(), WELL).of("B1").gold
    book = told("B1", "bar", bar(gold_determinations=count), "bar")
    found = Quantities(book.data(), WELL).of("B1").gold
    by_key = found.measured.effects
    assert by_key["rep:A1:gold"] == pytest.approx(
        alone.measured.effects["rep:A1:gold"] / math.sqrt(count)
    )
    assert found.posted_g == alone.posted_g
    rest = {key: c for key, c in by_key.items() if key != "rep:A1:gold"}
    before = alone.measured.effects
    assert rest == {key: before[key] for key in rest}


def test_silver_that_was_determined_once_keeps_its_repeat():
    book = told("B1", "bar", bar(gold_determinations=4), "bar")
    silver = Quantities(book.data(), WELL).of("B1").silver.measured
    assert silver.effects["rep:A1:silver"] == pytest.approx(1002.746 * 1.5e-3)


@pytest.mark.source("the `uncertainties` package: a mean of four independent readings")
def test_the_root_of_the_number_is_what_four_readings_give():
    four = sum(ufloat(842.6, 842.6 * 2e-4) for _ in range(4)) / 4
    book = told("B1", "bar", bar(gold_determinations=4), "bar")
    gold = Quantities(book.data(), WELL).of("B1").gold.measured
    assert gold.effects["rep:A1:gold"] == pytest.approx(8.4123 * four.std_dev)


@pytest.mark.source("JCGM 100:2008, 4.3.7: anything from nothing to the limit")
def test_a_solution_below_detection_holds_half_the_limit_widely():
    content = figures.Content(
        unit="mg_l",
        gold=Decimal("0.05"),
        silver=Decimal(2),
        gold_limit=Decimal("0.1"),
    )
    book = told("BARREN-1", "solution", content, "solution")
    found = Quantities(book.data(), WELL).of("BARREN-1")
    assert found.gold.posted_g == Decimal("0.250")
    wanted = 5.0 * below_detection(Decimal("0.1"), "rep:A1:gold")
    effects = found.gold.measured.effects
    assert effects["rep:A1:gold"] == pytest.approx(wanted.u)
    assert wanted.u == pytest.approx(0.5 / math.sqrt(12))
    assert not any(key.startswith("lab:") for key in effects)
    assert any(key.startswith("lab:") for key in found.silver.measured.effects)
