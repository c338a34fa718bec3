"""What the invented people see of true metal: displays, errors, assays."""

from decimal import Decimal

import pytest

from goldroom.demo import mine
from goldroom.demo.chance import CARE, Chance
from goldroom.demo.looking import BARS, LOTS, Looking, hopper_gross_g, shown
from goldroom.demo.truth import Matter
from goldroom.metal.pulp import dry_solids_in_vessel_kg
from goldroom.metal.weighing import check_digits

WORST = 2 * CARE


@pytest.mark.parametrize(
    ("value", "step", "expected"),
    [
        (2310.26, "0.5", "2310.5"),
        (2310.25, "0.5", "2310.0"),
        (7.0, "1", "7"),
        (0.004, "0.01", "0.00"),
        (-0.3, "0.1", "0.0"),
    ],
)
def test_display_shows_its_own_steps_and_nothing_below_zero(value, step, expected):
    assert shown(value, step) == expected


@pytest.mark.parametrize("scale", mine.SCALES, ids=lambda scale: scale.instrument)
def test_reading_is_one_the_instrument_can_show_and_within_its_certificate(scale):
    true_g = float(scale.capacity) * (1000 if scale.unit == "kg" else 1) / 2
    for n in range(40):
        read = Looking(Chance(n)).reading(scale, true_g, "r")
        check_digits(read["reading"], scale_interval=Decimal(scale.interval))
        in_g = float(read["reading"]) * (1000 if scale.unit == "kg" else 1)
        step_g = float(scale.interval) * (1000 if scale.unit == "kg" else 1)
        allowed_g = WORST * (
            float(scale.reading_u_g) + float(scale.slope_u_relative) * true_g
        )
        assert abs(in_g - true_g) <= allowed_g + step_g


def test_two_readings_on_one_scale_share_its_slope():
    look = Looking(Chance(3))
    far = [
        float(look.reading(mine.PLATFORM, 1.4e6, f"r{n}")["reading"]) for n in range(30)
    ]
    off_kg = sum(far) / len(far) - 1400
    assert abs(off_kg) > 0.2, "one slope error for all, not averaged away"


def test_flooded_hopper_gives_back_its_solids():
    """Wills' Mineral Processing Technology: solids of a pulp in a marked volume."""
    gross_kg = Decimal(repr(hopper_gross_g(812_000.0))) / 1000
    dry_kg = dry_solids_in_vessel_kg(
        net_kg=gross_kg - Decimal(mine.HOPPER_TARE_KG),
        volume_m3=Decimal(mine.HOPPER_MARK_M3),
        solids_kg_m3=Decimal(mine.SOLIDS_KG_M3),
        water_kg_m3=Decimal(1000),
    )
    assert abs(dry_kg - 812) < Decimal("0.001")


def test_bar_assay_stays_near_the_truth_and_a_lot_sample_less_so():
    bar, lot = Matter(2600.0, 2236.0, 312.0), Matter(8e5, 900.0, 126.0)
    for seed in range(40):
        look = Looking(Chance(seed))
        fine = look.contents(BARS, bar, sample="s", assay="a")
        assert abs(Decimal(fine["gold"]) / 860 - 1) < Decimal("0.005")
        grade = look.contents(LOTS, lot, sample="s", assay="a")
        assert abs(Decimal(grade["gold"]) / Decimal("1125") - 1) < Decimal("0.11")
