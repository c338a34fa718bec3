"""What an item holds, with its effects: worked examples of our own, and choices."""

from dataclasses import replace
from decimal import Decimal

import pytest

from goldroom.custody.records import Instrument
from goldroom.metal.uncertainty import corr, cov, total
from goldroom.reconcile.priors import Quantities
from tests.goldroom.reconcile.book import WELL, Book, instrument

AT = "2026-10-05T08:00:00Z"


def near(expected: float, digits: int = 4) -> object:
    return pytest.approx(expected, abs=0.5 * 10**-digits * 1.02)


def two_bars() -> Book:
    book = Book()
    for bar, grams, gold, silver in (
        ("B1", "8412.3", "842.6", "119.2"),
        ("B2", "8127.9", "839.1", "122.1"),
    ):
        book.make(bar, "bar", step="smelt", from_step="smelt", at=AT)
        book.number(bar, grams, gold, silver=silver, at=AT)
    return book


def test_two_bars_have_the_gold_silver_and_correlation_of_the_worked_example():
    found = Quantities(two_bars().data(), WELL)
    first, second = found.of("B1"), found.of("B2")
    gold = [first.gold.measured, second.gold.measured]
    assert [each.value for each in gold] == [near(7088.2040), near(6820.1209)]
    assert [each.u for each in gold] == [near(4.8644), near(4.6806)]
    assert cov(*gold) == near(8.7210)
    assert corr(*gold) == near(0.3830)
    assert total(gold).u == near(7.9381)
    silver = [first.silver.measured, second.silver.measured]
    assert [each.u for each in silver] == [near(3.3635), near(3.3288)]
    assert corr(*silver) == near(0.8000)
    assert (total(silver).value, total(silver).u) == (near(1995.1627), near(6.3488))


def test_a_bars_gold_is_posted_to_the_milligram_from_exact_products():
    gold = Quantities(two_bars().data(), WELL).of("B1").gold
    assert gold.posted_g == Decimal("7088.204")


def test_a_wet_lot_has_the_dry_mass_and_contributions_of_the_worked_example():
    book = Book()
    done = book.make("T1", "lot", step="table", from_step="hopper", at=AT)
    book.weigh("T1", "1363600", done, moisture="12.0")
    book.assay("T1", "2084", "313", at=AT, sample="S9")
    found = Quantities(book.data(), WELL).of("T1")
    assert found.dry_mass.posted_g == Decimal("1199968.000")
    assert found.dry_mass.measured.u == pytest.approx(6928, abs=0.5)
    gold = found.gold.measured
    assert (gold.value, gold.u) == (near(2500.73, 2), near(130.48, 2))
    shares = {key.partition(":")[0]: c for key, c in gold.effects.items()}
    expected = {
        "fse": 125.037,
        "sampler": 25.007,
        "rep": 20.006,
        "lab": 12.504,
        "moist": -11.367,
        "oven": -8.525,
        "scale": 2.501,
        "reading": 0.550,
    }
    assert shares == {kind: near(value, 3) for kind, value in expected.items()}


def test_gold_and_silver_of_a_sample_share_its_sampling_error():
    book = Book()
    book.load("L1", at=AT)
    held = Quantities(book.data(), WELL).of("L1")
    shared = set(held.gold.measured.effects) & set(held.silver.measured.effects)
    assert {key.partition(":")[0] for key in shared} == {
        "reading",
        "scale",
        "fse",
        "sampler",
    }


def test_an_estimate_has_one_error_for_both_metals():
    book = Book()
    book.make("heel", "heel", step="smelt", at=AT, is_opening=True)
    book.estimate("heel", "800", "80", at=AT)
    held = Quantities(book.data(), WELL).of("heel")
    assert held.gold.measured.effects == {"hold:heel": pytest.approx(80)}
    assert corr(held.gold.measured, held.silver.measured) == pytest.approx(1)


def test_an_instrument_whose_calibration_tells_nothing_gets_the_starting_figures():
    book = Book()
    book.put(instrument("PS2", "platform_scale"))
    done = book.make("T1", "lot", step="table", from_step="hopper", at=AT)
    book.weigh("T1", "1000000", done, scale="PS2")
    effects = Quantities(book.data(), WELL).of("T1").dry_mass.measured.effects
    assert sorted(effects.values()) == [pytest.approx(300), pytest.approx(1000)]
    assert "scale:PS2:slope:PS2-c1" in effects


def test_a_refiners_assay_is_used_for_a_melt_and_never_for_a_bar():
    book = two_bars()
    book.assay(
        "B1",
        "830.0",
        "119",
        at=AT,
        unit="permille",
        wanted_for="bar",
        standing="refiner",
    )
    book.melt("M1", ["B1", "B2"], "16500.0", "840.0", at="2026-10-20T08:00:00Z")
    found = Quantities(book.data(), WELL)
    assert found.of("B1").gold.posted_g == Decimal("7088.204")
    assert found.of("M1").gold.posted_g == Decimal("13860.000")
    assert found.of("M1").standing == "refiner"
    assert {key.partition(":")[0] for key in found.of("M1").gold.measured.effects} == {
        "reading",
        "ref",
        "rep",
    }


def test_the_mines_latest_assay_is_used_and_a_provisional_one_is_flagged():
    book = two_bars()
    book.assay(
        "B1",
        "845.5",
        "119",
        at=AT,
        unit="permille",
        wanted_for="bar",
        standing="provisional",
        method="spectrometer",
    )
    held = Quantities(book.data(), WELL).of("B1")
    assert held.gold.posted_g == Decimal("7112.600")
    assert held.is_provisional
    assert not held.is_pending
    # our own worked example: spectrometer bias 0.3 %, repeat 0.4 %
    without_drilling = held.gold.measured.without(
        [key for key in held.gold.measured.effects if "s" in key[:2]]
    )
    assert without_drilling.u == pytest.approx(35.564, abs=0.01)


def test_a_product_weighed_again_into_its_charge_keeps_the_tables_figure():
    book = Book()
    done = book.make("C1", "concentrate", step="smelt", from_step="table", at=AT)
    book.weigh(
        "C1", "1000", done, scale="BU1", wanted_for="table_product", moisture="10"
    )
    book.weigh("C1", "850", book.act(AT), scale="BU1", wanted_for="charge")
    book.weigh(
        "C1",
        "1010",
        book.act(AT),
        scale="BU1",
        wanted_for="table_product",
        moisture="10",
    )
    assert Quantities(book.data(), WELL).of("C1").dry_mass.posted_g == 909


def test_a_bar_weighed_again_after_drilling_has_its_shipping_mass():
    book = two_bars()
    book.weigh("B1", "8404.3", book.act(AT), scale="BU1", wanted_for="bar")
    assert Quantities(book.data(), WELL).of("B1").dry_mass.posted_g == Decimal("8404.3")


def test_an_item_without_a_result_takes_its_sorts_mean_and_is_never_zero():
    book = Book()
    for n in range(6):
        book.load(f"L{n}", at=AT, gold=str(1800 + 100 * n))
    book.load("late", at=AT, grams="10000", gold=None)
    held = Quantities(book.data(), WELL).of("late")
    assert held.is_pending
    assert held.gold.posted_g == Decimal("20.500")
    # sd of 1800..2300 is 187.1; of one more around the mean, x sqrt(1 + 1/6)
    spread = 187.0829 * (7 / 6) ** 0.5 / 2050
    assert held.gold.measured.effects["hold:late"] == pytest.approx(
        20.5 * spread, rel=1e-5
    )
    assert "mean of 6 measured load" in held.said
    assert corr(held.gold.measured, held.silver.measured) == pytest.approx(1, abs=0.02)


def test_a_mean_of_few_items_is_taken_as_good_to_thirty_per_cent():
    book = Book()
    book.load("L1", at=AT)
    book.load("L2", at=AT, gold=None)
    held = Quantities(book.data(), WELL).of("L2")
    assert held.gold.measured.effects["hold:L2"] == pytest.approx(0.3 * 40)


def test_a_bar_not_weighed_yet_takes_its_share_of_its_charge():
    book = Book()
    for name in ("C1", "C2"):
        done = book.make(name, "concentrate", step="smelt", from_step="table", at=AT)
        book.weigh(name, "1000", done, scale="BU1", wanted_for="table_product")
        book.assay(name, "400000", at=AT, wanted_for="table_concentrate")
    book.pour("F1", ["C1", "C2"], ["B1", "B2"], at="2026-10-06T08:00:00Z")
    held = Quantities(book.data(), WELL).of("B1")
    assert held.is_pending
    assert held.gold.posted_g == Decimal("400.000")
    assert held.gold.measured.effects["hold:B1"] == pytest.approx(120)


def test_an_item_of_which_nothing_tells_is_unknown_not_zero():
    book = Book()
    done = book.make("X1", "slag", step="smelt", from_step="smelt", at=AT)
    book.weigh("X1", "500", done)
    held = Quantities(book.data(), WELL).of("X1")
    assert held.gold is None
    assert held.is_pending
    assert "nothing in the record tells" in held.said


def test_a_calibration_entered_late_makes_new_figures_of_earlier_weighings():
    """The reading was taken after the calibration, which was entered a week later."""
    book = two_bars()
    balance = book.state.get(Instrument, "BU1")
    late = replace(
        balance.calibrations[0], calibration_id="BU1-c2",
        from_at="2026-10-04T08:00:00Z", reading_u_g=Decimal("0.5"),
        known_at="2026-10-12T08:00:00Z",
    )  # fmt: skip
    book.put(replace(balance, calibrations=(*balance.calibrations, late)))
    now = Quantities(book.data(), WELL).of("B1").gold.measured
    then = Quantities(book.data().as_known("2026-10-11T00:00:00Z"), WELL)
    before = then.of("B1").gold.measured
    assert any("BU1-c2" in key for key in now.effects)
    assert any("BU1-c1" in key for key in before.effects)
    assert now.u > before.u
    assert now.value == before.value
