"""Bars weighed in water: density against the assay's, never a refusal of what was seen.

Figures marked as sources are those of mixtures and readings; the densities of the
alloys are ideal mixing of handbook densities.
"""

from decimal import Decimal
from typing import Any

import pytest

from goldroom.custody.density import Density
from goldroom.custody.state import State
from goldroom.errors import Refusal
from goldroom.statements.assays import AssayReported
from goldroom.statements.density import BarDensityMeasured
from goldroom.statements.limits import LimitSet
from goldroom.statements.record import RecordCorrected
from tests.goldroom.room import codes, noticed, reading, removed, say
from tests.goldroom.room import refused as refused_saying
from tests.goldroom.story import CHEMISTS, upto

AT = "2026-10-06T17:00:00+02:00"
CIPM = pytest.mark.source(
    "Tanaka and others, Metrologia 38, 301 (2001), 20 degrees; from memory"
)


def said(**changed: Any) -> dict[str, Any]:
    """Return a bar of 842.6 and 119.2 parts, weighed in water as it should read."""
    values: dict[str, Any] = {
        "item": "BAR-1",
        "in_air": reading("5992.3", "g", "BU1"),
        "in_water": reading("5635.7", "g", "BU1"),
        "water_temperature_c": "20.0",
        **changed,
    }
    return {name: value for name, value in values.items() if value is not None}


def measured(state: State, version: int = 1) -> Density:
    found = state.get(Density, f"BAR-1/{version:03d}")
    assert found is not None
    return found


def assayed(gold: str, silver: str) -> State:
    state = upto("reweighed")
    result = {
        "items": ["BAR-1"],
        "sample": "E-2",
        "unit": "permille",
        "gold": gold,
        "silver": silver,
    }
    values = {
        "laboratory": "lab",
        "method": "fire_assay",
        "standing": "provisional",
        "sampler": "dip_ladle",
        "results": [result],
    }
    say(state, AssayReported, values, at="2026-10-06T16:00:00+02:00", people=CHEMISTS)
    return state


def test_density_is_kept_beside_the_one_its_assay_gives():
    state = upto("assayed")
    say(state, BarDensityMeasured, said(), at=AT)
    found = measured(state)
    assert found.density_g_cm3 == Decimal("16.755")
    assert found.expected_g_cm3 == Decimal("16.868")
    assert codes(state) == []


@CIPM
def test_density_of_a_bar_read_in_water_with_the_airs_lift_taken_off():
    """Own example: 10 000.0 g in air, 9440.0 g in water."""
    state = upto("assayed")
    read = {
        "in_air": reading("10000.0", "g", "BU1"),
        "in_water": reading("9440.0", "g", "BU1"),
    }
    say(state, BarDensityMeasured, said(**read), at=AT)
    assert measured(state).density_g_cm3 == Decimal("17.805")


@pytest.mark.parametrize(
    ("gold", "silver", "expected"),
    [
        pytest.param("995", "5", "19.219", id="refined"),
        pytest.param("900", "80", "17.702", id="rich"),
        pytest.param("850", "100", "16.905", id="usual"),
        pytest.param("600", "400", "14.447", id="electrum"),
        pytest.param("0", "925", "10.357", id="silver"),
        pytest.param("800", "210", "16.431", id="sum over the whole, in proportion"),
    ],
)
@pytest.mark.source("handbook densities of gold, silver and copper, ideal mixing; seen")
def test_assay_gives_the_density_of_an_ideal_mixture(
    gold: str, silver: str, expected: str
):
    state = assayed(gold, silver)
    say(state, BarDensityMeasured, said(), at=AT)
    found = measured(state).expected_g_cm3
    assert found is not None
    assert abs(found - Decimal(expected)) <= Decimal("0.001")


def test_bar_without_an_assay_is_measured_and_held_against_nothing():
    state = upto("reweighed")
    say(state, BarDensityMeasured, said(), at=AT)
    assert measured(state).expected_g_cm3 is None
    assert codes(state) == []


def test_lead_under_a_golden_skin_is_noticed_and_tungsten_is_named():
    state = assayed("995", "5")
    lead = {"in_air": reading("5000.0", "g", "BU1"),
            "in_water": reading("4559.9", "g", "BU1")}  # fmt: skip
    say(state, BarDensityMeasured, said(**lead), at=AT)
    (found,) = noticed(state)
    assert found.code == "density_implausible"
    assert found.expected == "19.219 g/cm3 by its assay, within 2 %"
    assert "tungsten cannot be told from gold" in found.message


@pytest.mark.source("handbook densities of tungsten and gold; from memory")
def test_tungsten_passes_for_fine_gold():
    """What the check cannot do: 5000 g of tungsten displace 259.74 cm3
    and are lifted by that much water less that much air, 258.96 g."""
    state = assayed("999", "1")
    tungsten = {"in_air": reading("5000.0", "g", "BU1"),
                "in_water": reading("4741.0", "g", "BU1")}  # fmt: skip
    say(state, BarDensityMeasured, said(**tungsten), at=AT)
    assert abs(measured(state).density_g_cm3 - Decimal("19.25")) < Decimal("0.02")
    assert codes(state) == []


def test_limit_of_disagreement_is_the_sites():
    state = upto("assayed")
    limit = {"limit": "density_percent", "value": "0.5", "unit": "%", "reason": "proof"}
    say(state, LimitSet, limit)
    say(state, BarDensityMeasured, said(), at=AT)
    assert codes(state) == ["density_implausible"]


def test_hanger_is_taken_off_the_reading_in_water():
    state = upto("assayed")
    hung = {
        "in_water": reading("5648.2", "g", "BU1"),
        "hanger": reading("12.5", "g", "BU1"),
    }
    say(state, BarDensityMeasured, said(**hung), at=AT)
    assert measured(state).in_water_g == Decimal("5635.7")
    assert measured(state).density_g_cm3 == Decimal("16.755")


@pytest.mark.parametrize(
    ("changed", "code"),
    [
        pytest.param({}, None, id="as it was"),
        pytest.param(
            {"in_water": reading("5992.4", "g", "BU1")}, "out_of_range", id="no lift"
        ),
        pytest.param({"water_temperature_c": "41"}, "bad_field", id="hot water"),
        pytest.param(
            {"in_air": reading("5992.34", "g", "BU1")},
            "more_digits_than_instrument",
            id="more digits than the balance shows",
        ),
        pytest.param(
            {"in_water": reading("5.6", "kg", "BU1")}, "wrong_unit", id="wrong unit"
        ),
        pytest.param(
            {"hanger": reading("12.5", "g", "BB1")}, "bad_field", id="other balance"
        ),
        pytest.param({"item": "DRL-1"}, "wrong_sort", id="drillings"),
        pytest.param({"item": "BAR-9"}, "unknown_item", id="a bar nobody cast"),
    ],
)
def test_density_is_refused(changed: dict[str, Any], code: str | None):
    state = upto("assayed")
    assert refused_saying(state, BarDensityMeasured, said(**changed), at=AT) == code


def test_bar_in_a_sealed_safe_is_taken_out_first():
    state = upto("placed")
    at = "2026-10-07T17:00:00+02:00"
    assert refused_saying(state, BarDensityMeasured, said(), at=at) == "vessel_sealed"
    opened = [{"vessel": "S1", "seals_removed": [removed("door", "S-0005")]}]
    assert refused_saying(state, BarDensityMeasured, said(opened=opened), at=at) is None


def test_corrected_reading_is_a_version_of_the_density():
    state = upto("assayed")
    say(state, BarDensityMeasured, said(), at=AT, entry="entry-density")
    corrected = {
        "entry": "entry-density",
        "kind": "bar.density_measured",
        "mode": "figures",
        "values": said(in_water=reading("5637.5", "g", "BU1")),
        "reason": "5637.5 read as 5635.7",
    }
    menders = (("p-jonas", "officer"), ("p-brandt", "manager"))
    say(
        state, RecordCorrected, corrected, at="2026-10-07T08:00:00+02:00",
        people=menders, corrects="entry-density",
    )  # fmt: skip
    assert measured(state, 2).density_g_cm3 > measured(state).density_g_cm3
    assert measured(state, 2).measured_in == "entry-density"
    with pytest.raises(Refusal) as refusal:
        say(
            state, RecordCorrected,
            {**corrected, "mode": "void", "values": None},
            at="2026-10-07T09:00:00+02:00", people=menders, corrects="entry-density",
        )  # fmt: skip
    assert refusal.value.code == "cannot_void"


def test_density_reads_aloud():
    state = upto("assayed")
    told = say(state, BarDensityMeasured, said(), at=AT)
    assert told.sentence() == (
        "Bar BAR-1 read 5992.3 g in air and 5635.7 g in water at 20.0 °C: 16.755 g/cm3."
        " Tungsten cannot be told from gold by density."
    )
