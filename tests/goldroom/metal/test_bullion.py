"""Good-delivery arithmetic against the Good Delivery Rules and worked bars."""

from decimal import Decimal

import pytest

from goldroom.errors import NegativeFigure
from goldroom.metal import bullion, units

source = pytest.mark.source
RULES = "LBMA Good Delivery Rules"


@pytest.mark.parametrize(
    ("gross", "fineness", "fine"),
    [
        pytest.param(
            "401.125",
            "995.8",
            "399.440",
            marks=source(f"{RULES} Annex C specimen row; seen"),
        ),
        pytest.param("401.125", "999.9", "401.085", marks=source("own example")),
        pytest.param("402.350", "995.6", "400.580", marks=source("own example")),
        pytest.param("401.500", "995.0", "399.492", marks=source("own example")),
    ],
)
def test_fine_ounces_are_given_to_three_decimals(gross, fineness, fine):
    found = bullion.fine_ozt(
        gross_ozt=Decimal(gross), fineness_permille=Decimal(fineness)
    )
    assert str(found) == fine


@pytest.mark.parametrize(
    ("weighed", "rounding", "gross"),
    [
        pytest.param(
            "1164.9",
            "silver_rounded_down",
            "1164.9",
            marks=source(f"{RULES} Annex C specimen row; seen"),
        ),
        pytest.param(
            "401.1269",
            "gold_turn_of_the_scale",
            "401.100",
            marks=source(f"{RULES} Annex B: an excess of 0.002 is demanded; seen"),
        ),
        pytest.param(
            "401.127",
            "gold_turn_of_the_scale",
            "401.125",
            marks=source(f"{RULES} Annex B: an excess of 0.002 is enough; seen"),
        ),
        pytest.param(
            "401.1499",
            "gold_rounded_down",
            "401.125",
            marks=source(f"{RULES}: multiples of 0.025, rounded down; seen"),
        ),
        pytest.param(
            "1164.99",
            "silver_rounded_down",
            "1164.9",
            marks=source(f"{RULES}: multiples of 0.1, rounded down; seen"),
        ),
        *[
            pytest.param(weighed, rounding, gross, marks=source("own example"))
            for weighed, rounding, gross in [
                ("400.000298", "gold_rounded_down", "400.000"),
                ("400.000298", "gold_turn_of_the_scale", "399.975"),
                ("401.125", "gold_rounded_down", "401.125"),
                ("401.126", "gold_rounded_down", "401.125"),
                ("401.127", "gold_rounded_down", "401.125"),
                ("401.150", "gold_rounded_down", "401.150"),
                ("401.152", "gold_rounded_down", "401.150"),
                ("401.125", "gold_turn_of_the_scale", "401.100"),
                ("401.126", "gold_turn_of_the_scale", "401.100"),
                ("401.150", "gold_turn_of_the_scale", "401.125"),
                ("401.152", "gold_turn_of_the_scale", "401.150"),
                ("0.001", "gold_turn_of_the_scale", "0"),
            ]
        ],
    ],
)
def test_gross_ounces_are_rounded_down_by_the_named_rule(weighed, rounding, gross):
    rule = bullion.BULLION_ROUNDINGS[rounding]
    assert rule.gross_ozt(Decimal(weighed)) == Decimal(gross)


def test_a_bar_weighed_in_kilograms_is_stated_in_ounces():
    """Own example: 12.4768 kg."""
    weighed = units.from_grams(units.to_grams(Decimal("12.4768"), "kg"), "ozt")
    assert round(weighed, 6) == Decimal("401.138435")
    assert bullion.GOLD_ROUNDED_DOWN.gross_ozt(weighed) == Decimal("401.125")
    assert bullion.SILVER_ROUNDED_DOWN.gross_ozt(weighed) == Decimal("401.1")


def test_one_step_of_gold_is_777_milligrams():
    """Own example."""
    step = bullion.GOLD_ROUNDED_DOWN.step_ozt
    assert units.to_grams(step, "ozt") == Decimal("0.77758692")


def test_a_list_sums_the_fine_ounces_already_rounded():
    """Own example."""
    bars = [("401.125", "995.8"), ("398.775", "996.5"), ("402.350", "995.6")]
    fine = sum(
        bullion.fine_ozt(gross_ozt=Decimal(g), fineness_permille=Decimal(f))
        for g, f in bars
    )
    assert fine == Decimal("1197.399")


@pytest.mark.parametrize(
    ("fine", "fineness", "meets"),
    [
        pytest.param("350", "995.0", True, marks=source(f"{RULES}, gold; seen")),
        pytest.param("430", "999.9", True, marks=source(f"{RULES}, gold; seen")),
        pytest.param("349.999", "995.0", False, marks=source(f"{RULES}, gold; seen")),
        pytest.param("430.001", "999.9", False, marks=source(f"{RULES}, gold; seen")),
        pytest.param("400", "994.9", False, marks=source(f"{RULES}, gold; seen")),
    ],
)
def test_gold_bars_meet_the_specification_or_do_not(fine, fineness, meets):
    found = bullion.is_good_delivery_gold(
        fine_ozt=Decimal(fine), fineness_permille=Decimal(fineness)
    )
    assert found is meets


@pytest.mark.parametrize(
    ("gross", "fineness", "meets"),
    [
        pytest.param("750", "999.0", True, marks=source(f"{RULES}, silver; seen")),
        pytest.param("1100.1", "999.0", False, marks=source(f"{RULES}, silver; seen")),
        pytest.param("1000", "998.9", False, marks=source(f"{RULES}, silver; seen")),
    ],
)
def test_silver_bars_meet_the_specification_or_do_not(gross, fineness, meets):
    found = bullion.is_good_delivery_silver(
        gross_ozt=Decimal(gross), fineness_permille=Decimal(fineness)
    )
    assert found is meets


def test_negative_weight_is_refused():
    with pytest.raises(NegativeFigure):
        bullion.GOLD_ROUNDED_DOWN.gross_ozt(Decimal("-1"))
