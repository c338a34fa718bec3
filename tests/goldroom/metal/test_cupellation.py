"""The fire assay's arithmetic against the standard, textbooks and an own worksheet."""

import math
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st
from uncertainties import ufloat

from goldroom.errors import PortionOfNothing
from goldroom.metal import cupellation
from goldroom.metal.cupellation import PERMILLE, Portion, Proof
from goldroom.metal.determinations import mean, spread, spread_percent
from goldroom.metal.starting_uncertainties import STARTING

source = pytest.mark.source
FORM = "form of ISO 11426 section 8, from memory; own figures"
STANDARD = "ISO 11426:2014, 7.2; seen"
SCOPE = "ISO 11426:2021, scope; seen"
TEXTBOOKS = "assaying textbooks on the surcharge; seen in quotation"


def proof(found: str, taken: str = "229.00", **silver: str) -> Proof:
    return Proof(
        gold_taken_mg=Decimal(taken),
        gold_found_mg=Decimal(found),
        **{name: Decimal(value) for name, value in silver.items()},
    )


def portion(
    mass: str, cornet: str, bead: str | None = None, added: str | None = None
) -> Portion:
    return Portion(
        portion_mg=Decimal(mass),
        cornet_mg=Decimal(cornet),
        bead_mg=None if bead is None else Decimal(bead),
        silver_added_mg=None if added is None else Decimal(added),
    )


@pytest.mark.parametrize(
    ("mass", "cornet", "found", "fineness"),
    [
        pytest.param("250.12", "229.35", "229.00", "916.960", marks=source(FORM)),
        pytest.param("250.12", "229.35", "229.11", "916.520", marks=source(FORM)),
        pytest.param("249.88", "229.10", "229.09", "916.480", marks=source(FORM)),
    ],
)
def test_gold_is_the_cornet_less_what_the_proofs_gained(mass, cornet, found, fineness):
    gains = cupellation.gold_gains_mg([proof(found)])
    gold = cupellation.gold_content(portion(mass, cornet), gains, PERMILLE)
    assert round(gold, 3) == Decimal(fineness)


@pytest.mark.source(FORM)
def test_the_correction_by_ratio_comes_to_the_same_for_matched_proofs():
    gains = cupellation.gold_gains_mg([proof("229.11")])
    added = cupellation.gold_content(portion("250.12", "229.35"), gains, PERMILLE)
    by_ratio = 1000 * Decimal("229.35") * Decimal("229.00") / Decimal("229.11")
    assert round(added, 3) == round(by_ratio / Decimal("250.12"), 3)


@pytest.mark.source(FORM)
def test_duplicates_of_the_worked_worksheet_are_apart_by_four_hundredths():
    first = cupellation.gold_content(
        portion("250.12", "229.35"), [Decimal("0.11")], PERMILLE
    )
    second = cupellation.gold_content(
        portion("249.88", "229.10"), [Decimal("0.09")], PERMILLE
    )
    assert round(spread([first, second]), 3) == Decimal("0.040")


@pytest.mark.source("common practice, no source: bead less cornet, silver of proofs")
def test_silver_is_bead_less_cornet_and_what_was_added_made_good_by_the_proofs():
    """229.35 mg gold, 15 mg silver, 550 mg added; proofs lose 5.5 mg of 565."""
    weighed = portion("250.12", "229.35", "788.85", "550.00")
    assert cupellation.silver_mg(weighed) == Decimal("9.50")
    proofs = [
        proof("229.11", silver_taken_mg="565.00", silver_found_mg="559.60"),
        proof("229.09", silver_taken_mg="565.00", silver_found_mg="559.40"),
        proof("229.10"),
    ]
    gains = cupellation.silver_gains_mg(proofs)
    assert gains == [Decimal("-5.40"), Decimal("-5.60")]
    silver = cupellation.silver_content(weighed, gains, PERMILLE)
    assert round(silver, 3) == round(Decimal(15000) / Decimal("250.12"), 3)


@pytest.mark.source("own example")
def test_concentrate_is_told_in_grams_a_tonne():
    gold = cupellation.gold_content(
        portion("25000", "8.52"), [Decimal("0.02")], cupellation.GRAMS_PER_TONNE
    )
    assert gold == Decimal(340)


def test_a_portion_of_nothing_is_refused():
    with pytest.raises(PortionOfNothing):
        cupellation.gold_content(portion("0", "0"), [Decimal(0)], PERMILLE)


@pytest.mark.parametrize(
    ("gold_mg", "present_mg", "least", "most", "add"),
    [
        pytest.param("225", "20", "517.5", "675", "542.5", marks=source(STANDARD)),
        pytest.param("100", "300", "230.0", "300", "0", marks=source(STANDARD)),
        pytest.param("62.5", "0", "143.75", "187.5", "156.25", marks=source(STANDARD)),
    ],
)
def test_gold_parts_well_with_so_much_silver(gold_mg, present_mg, least, most, add):
    gold, present = Decimal(gold_mg), Decimal(present_mg)
    assert cupellation.silver_wanted_mg(gold) == (Decimal(least), Decimal(most))
    added = cupellation.silver_to_add_mg(gold_mg=gold, silver_present_mg=present)
    assert added == Decimal(add)


@pytest.mark.parametrize(
    ("gold", "inside"),
    [
        pytest.param("99.9", False, marks=source(SCOPE)),
        pytest.param("100", True, marks=source(SCOPE)),
        pytest.param("999.5", True, marks=source(SCOPE)),
        pytest.param("999.6", False, marks=source(SCOPE)),
    ],
)
def test_the_method_is_meant_for_some_finenesses(gold, inside):
    assert cupellation.is_in_scope(Decimal(gold)) is inside


@pytest.mark.parametrize(
    ("gold", "surcharge", "usual"),
    [
        pytest.param("916", "0.11", True, marks=source(TEXTBOOKS)),
        pytest.param("916", "-0.11", False, marks=source(TEXTBOOKS)),
        pytest.param("750", "0.11", True, marks=source(TEXTBOOKS)),
        pytest.param("750", "-0.11", True, marks=source(TEXTBOOKS)),
        pytest.param("600", "-0.11", True, marks=source(TEXTBOOKS)),
        pytest.param("600", "0.11", False, marks=source(TEXTBOOKS)),
        pytest.param("916", "-0.10", True, id="within what is let pass"),
    ],
)
def test_rich_bullion_gains_and_poor_bullion_loses(gold, surcharge, usual):
    found = cupellation.is_usual_surcharge(
        gold_permille=Decimal(gold),
        surcharge_mg=Decimal(surcharge),
        let_pass_mg=Decimal("0.10"),
    )
    assert found is usual


def limit_of_the_sum(gold: float, silver: float, base: float) -> float:
    """Return three standard uncertainties of a sum, by the `uncertainties` package."""

    def reported(value, quantity):
        row = STARTING[quantity]
        own, shared = ufloat(1, row.random.u), ufloat(1, row.shared.u)
        return value * (own + shared - 1)

    silver_like = "bullion_assay_silver"
    total = (
        reported(gold, "bullion_assay_gold")
        + reported(silver, silver_like)
        + reported(base, silver_like)
    )
    return 3 * total.std_dev


@pytest.mark.source("the `uncertainties` package: a sum of three determinations")
@pytest.mark.parametrize(
    ("gold", "silver"), [(900.0, 90.0), (500.0, 480.0), (980.0, 5.0)]
)
def test_a_sum_is_over_the_whole_beyond_three_of_its_standard_uncertainties(
    gold, silver
):
    base = 1000 - gold - silver
    for _ in range(40):  # the limit itself moves with the base a little
        base = 1000 + limit_of_the_sum(gold, silver, base) - gold - silver
    for factor, is_over in ((1 - 1e-6, False), (1 + 1e-6, True)):
        excess = gold + silver + base - 1000
        found = cupellation.is_over_the_whole(
            gold_permille=Decimal(repr(gold)),
            silver_permille=Decimal(repr(silver)),
            base_permille=Decimal(f"{base + excess * (factor - 1):.9f}"),
        )
        assert found is is_over


def test_a_sum_of_just_the_whole_is_not_over_it():
    assert not cupellation.is_over_the_whole(
        gold_permille=Decimal(900),
        silver_permille=Decimal(100),
        base_permille=Decimal(0),
    )


@pytest.mark.source("own example")
def test_determinations_have_a_mean_and_a_spread():
    values = [Decimal("8.40"), Decimal("8.44"), Decimal("8.42")]
    assert mean(values) == Decimal("8.42")
    assert spread(values) == Decimal("0.04")
    assert math.isclose(spread_percent(values), 0.475059, rel_tol=1e-6)
    assert spread_percent([Decimal(0), Decimal(0)]) == 0
    assert cupellation.proofs_apart_mg(values) == Decimal("0.04")


MILLIGRAMS = st.integers(min_value=0, max_value=20000).map(lambda n: Decimal(n) / 100)


@given(
    gold_mg=MILLIGRAMS, silver_mg=MILLIGRAMS, added_mg=MILLIGRAMS,
    kept_mg=MILLIGRAMS.map(lambda mg: mg / 1000),
    lost_mg=MILLIGRAMS.map(lambda mg: mg / 50),
)  # fmt: skip
def test_a_proof_that_fares_like_the_sample_gives_the_truth_back(
    gold_mg, silver_mg, added_mg, kept_mg, lost_mg
):
    """Silver kept in the cornet and silver lost to the cupel both cancel."""
    bead_mg = gold_mg + silver_mg + added_mg - lost_mg
    weighed = Portion(
        portion_mg=Decimal(400),
        cornet_mg=gold_mg + kept_mg,
        bead_mg=bead_mg,
        silver_added_mg=added_mg,
    )
    alike = Proof(
        gold_taken_mg=gold_mg,
        gold_found_mg=gold_mg + kept_mg,
        silver_taken_mg=silver_mg + added_mg,
        silver_found_mg=bead_mg - (gold_mg + kept_mg),
    )
    proofs = [alike, alike]
    gold = cupellation.gold_content(
        weighed, cupellation.gold_gains_mg(proofs), PERMILLE
    )
    silver = cupellation.silver_content(
        weighed, cupellation.silver_gains_mg(proofs), PERMILLE
    )
    assert (gold, silver) == (gold_mg * 1000 / 400, silver_mg * 1000 / 400)
