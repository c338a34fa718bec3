"""Readings of a flooded hopper, against hand-made mixtures of water and solids.

Each case mixes a known mass of dry solids with the water that fills the rest of the
marked volume; the formula under test must give the solids back. The mixing itself
(volumes add, masses add) is the definition of pulp density in Wills' Mineral
Processing Technology, metallurgical accounting.
"""

from contextlib import nullcontext
from decimal import Decimal
from fractions import Fraction

import pytest

from goldroom.custody import levels
from goldroom.custody.reading import Reading
from goldroom.custody.records import Mark, Term
from goldroom.errors import NotAPulp
from tests.goldroom.room import act, room, vessel

TARE_KG = Decimal(650)


def hopper(*, solids_kg_m3: str):
    return vessel(
        "H5",
        "hopper",
        "hopper_bay",
        {"lid": ""},
        tare_kg=TARE_KG,
        load_cells="LC1",
        solids_density_kg_m3=Decimal(solids_kg_m3),
    )


def gross_kg(*, dry_kg: str, volume_m3: str, solids: str, water: str) -> Fraction:
    """Return what the cells carry: tare, the solids, and water for the rest."""
    solids_m3 = Fraction(dry_kg) / Fraction(solids)
    water_kg = (Fraction(volume_m3) - solids_m3) * Fraction(water)
    return Fraction(650) + Fraction(dry_kg) + water_kg


@pytest.mark.parametrize(
    ("dry_kg", "volume_m3", "solids", "water"),
    [
        ("210", "1.2", "4200", "1000"),
        ("420", "1.2", "4200", "1000"),
        ("0", "1.2", "4200", "1000"),
        ("275.5", "0.85", "3150", "998"),
        ("900", "2.05", "4850", "1004.5"),
        ("3.25", "0.4", "5000", "1000"),
    ],
)
def test_dry_solids_come_back_out_of_a_known_mixture(dry_kg, volume_m3, solids, water):
    mixed = gross_kg(dry_kg=dry_kg, volume_m3=volume_m3, solids=solids, water=water)
    gross = Decimal(mixed.numerator) / Decimal(mixed.denominator)
    level = levels.read_on_cells(
        room(),
        act("hopper.weighed"),
        hopper(solids_kg_m3=solids),
        Mark(mark="M1", volume_m3=Decimal(volume_m3)),
        Reading(reading=gross, unit="kg", instrument="LC1"),
        water_kg_m3=Decimal(water),
    )
    assert abs(level.dry_g - Decimal(dry_kg) * 1000) <= Decimal("0.001")


def test_tare_and_water_fall_out_of_a_rise_at_equal_mark():
    state, vat = room(), hopper(solids_kg_m3="4200")
    mark = Mark(mark="M1", volume_m3=Decimal("1.2"))
    read = [
        levels.read_on_cells(
            state,
            act("hopper.weighed", entry=f"entry-{n}"),
            vat,
            mark,
            Reading(reading=Decimal(gross), unit="kg", instrument="LC1"),
            water_kg_m3=Decimal(1000),
        )
        for n, gross in enumerate(("2010.0", "2170.0"))
    ]
    now, before = levels.rise(read[1], read[0])
    assert (now.reading_id, now.coefficient) == ("entry-1.gross", Decimal("1.3125"))
    assert (before.reading_id, before.coefficient) == (
        "entry-0.gross",
        Decimal("-1.3125"),
    )
    assert before.calibration == "LC1-c1"


def test_at_another_mark_the_water_between_the_marks_stays_in_the_rise():
    """200 kg of solids, then 320 kg at a mark 0.2 m3 higher: 120 kg came in."""
    state, vat = room(), hopper(solids_kg_m3="4000")
    read = []
    for n, (dry, volume) in enumerate((("200", "1.2"), ("320", "1.4"))):
        mixed = gross_kg(dry_kg=dry, volume_m3=volume, solids="4000", water="1000")
        read.append(
            levels.read_on_cells(
                state,
                act("hopper.weighed", entry=f"entry-{n}"),
                vat,
                Mark(mark=f"M{n}", volume_m3=Decimal(volume)),
                Reading(reading=Decimal(int(mixed)), unit="kg", instrument="LC1"),
                water_kg_m3=Decimal(1000),
            )
        )
    terms = levels.rise(read[1], read[0])
    assert sum(each.coefficient * each.grams for each in terms) == pytest.approx(
        Decimal(120_000), abs=Decimal("0.001")
    )
    assert [each.reading_id for each in terms if not each.instrument] == [
        "water.H5.M1",
        "water.H5.M0",
    ]
    assert levels.fall_g(read[1], read[0], "LC1") == 0


@pytest.mark.parametrize(
    ("situation", "gross_kg", "is_refused"),
    [
        ("solids and water", "2010.0", False),
        ("water alone", "1850.0", False),
        ("a little under water alone: noise", "1846.0", False),
        ("far under water alone", "1840.0", True),
        ("a digit left out", "201.0", True),
        ("heavier than solids alone", "5700.0", True),
    ],
)
def test_a_reading_that_no_pulp_can_make_is_refused(situation, gross_kg, is_refused):
    refusal = pytest.raises(NotAPulp, match="gross: ") if is_refused else nullcontext()
    with refusal:
        levels.check_solids(
            hopper(solids_kg_m3="4200"),
            Mark(mark="M1", volume_m3=Decimal("1.2")),
            Decimal(gross_kg) * 1000,
            water_kg_m3=Decimal(1000),
            slack_g=Decimal(5000),
        )


def test_settled_solids_say_themselves_what_they_are_good_to():
    """A fill mark counts as a tank's volume: 1 % own, 2 % shared (judgement)."""
    level = levels.read_as_settled(
        act("hopper.weighed", entry="entry-3"),
        hopper(solids_kg_m3="4200"),
        Mark(mark="M1", volume_m3=Decimal("0.15")),
        Decimal(2100),
    )
    assert level.dry_g == 315_000
    assert level.net.terms == (
        Term(
            reading_id="entry-3.settled",
            instrument="H5",
            calibration="marks",
            coefficient=Decimal(1),
            grams=Decimal(315_000),
            reading_u_g=Decimal(3150),
            slope_u_relative=Decimal("0.02"),
        ),
    )


def test_the_factor_is_kept_to_twelve_decimals():
    factor = levels.solids_factor(solids_kg_m3=Decimal(4150), water_kg_m3=Decimal(1000))
    assert factor == Decimal("1.317460317460")
