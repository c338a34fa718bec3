"""Pulp arithmetic against textbook exercises, and pulps that cannot be."""

from decimal import Decimal

import pytest

from goldroom.errors import NotAPulp, OutOfRange
from goldroom.metal import pulp
from goldroom.metal.uncertainty import exact, reading
from goldroom.metal.water import water_density_kg_m3

source = pytest.mark.source
WILLS = "Wills, Mineral Processing Technology"
WATER = pulp.WATER_KG_M3


def percent(density, solids, liquor="1000"):
    return pulp.solids_percent(
        pulp_kg_m3=Decimal(density),
        solids_kg_m3=Decimal(solids),
        liquor_kg_m3=Decimal(liquor),
    )


@pytest.mark.parametrize(
    ("density", "solids", "liquor", "expected"),
    [
        pytest.param("1400", "2650", "1000", "45.887", marks=source(f"{WILLS}; seen")),
        pytest.param(
            "1800", "2500", "1000", "74.07", marks=source("student exercise; seen")
        ),
        pytest.param(
            "2000", "2500", "1000", "83.33", marks=source("student exercise; seen")
        ),
        pytest.param(
            "1600", "2500", "1000", "62.5", marks=source("student exercise; seen")
        ),
        pytest.param(
            "1130", "2650", "1000", "18.5", marks=source(f"{WILLS}; from memory")
        ),
        pytest.param(
            "1280", "2650", "1000", "35.1", marks=source(f"{WILLS}; from memory")
        ),
        pytest.param(
            "1040", "2650", "1000", "6.2", marks=source(f"{WILLS}; from memory")
        ),
        pytest.param("2200", "4200", "1000", "71.591", marks=source("own example")),
        pytest.param("2200", "4200", "998.21", "71.658", marks=source("own example")),
        pytest.param("2200", "4200", "995.65", "71.753", marks=source("own example")),
    ],
)
def test_density_gives_solids_by_mass(density, solids, liquor, expected):
    found = percent(density, solids, liquor)
    printed = Decimal(expected)
    assert round(found, -printed.as_tuple().exponent) == printed


@pytest.mark.parametrize(
    ("solids_percent", "solids", "density"),
    [
        pytest.param("30", "2500", "1219.5", marks=source("engineering table; seen")),
        pytest.param("40", "3000", "1364", marks=source(f"{WILLS}; seen")),
        pytest.param("55", "3000", "1579", marks=source(f"{WILLS}; from memory")),
    ],
)
def test_solids_give_density_and_the_density_gives_them_back(
    solids_percent, solids, density
):
    found = pulp.pulp_density_kg_m3(
        solids_percent=Decimal(solids_percent),
        solids_kg_m3=Decimal(solids),
        liquor_kg_m3=WATER,
    )
    printed = Decimal(density)
    assert round(found, -printed.as_tuple().exponent) == printed
    back = pulp.solids_percent(
        pulp_kg_m3=found, solids_kg_m3=Decimal(solids), liquor_kg_m3=WATER
    )
    assert abs(back - Decimal(solids_percent)) < Decimal("1e-20")


def test_calculator_page_with_1324_7_is_wrong():
    """30 % of 2500 kg/m3 solids; the page prints 1324.7."""
    found = pulp.pulp_density_kg_m3(
        solids_percent=Decimal(30), solids_kg_m3=Decimal(2500), liquor_kg_m3=WATER
    )
    assert abs(found - Decimal("1324.7")) > 100


def test_mass_percent_is_not_the_volume_percent():
    """A text prints the volume share as the mass share; own: 18.18 %."""
    density = pulp.pulp_density_kg_m3(
        solids_percent=Decimal(40), solids_kg_m3=Decimal(3000), liquor_kg_m3=WATER
    )
    by_volume = pulp.solids_volume_percent(
        pulp_kg_m3=density, solids_kg_m3=Decimal(3000), liquor_kg_m3=WATER
    )
    assert round(by_volume, 2) == Decimal("18.18")
    by_mass = by_volume * 3000 / density
    assert round(by_mass, 10) == 40


@pytest.mark.parametrize(
    ("volume_l", "seconds", "density", "solids", "tonnes_per_hour"),
    [
        pytest.param(
            "1", "7", "1400", "2650", "0.3304", marks=source(f"{WILLS}; seen")
        ),
        pytest.param(
            "2",
            "3.1",
            "1280",
            "2650",
            "1.04",
            marks=source(f"{WILLS}; from memory"),
        ),
    ],
)
def test_a_timed_can_gives_dry_solids_per_hour(
    volume_l, seconds, density, solids, tonnes_per_hour
):
    flow_m3_h = Decimal(volume_l) / Decimal(seconds) * Decimal("3.6")
    solids_t_h = pulp.dry_solids_flow(
        pulp_flow=flow_m3_h * Decimal(density) / 1000,
        solids_percent=percent(density, solids),
    )
    printed = Decimal(tonnes_per_hour)
    assert round(solids_t_h, -printed.as_tuple().exponent) == printed


def test_a_litre_in_seven_seconds_is_half_a_cubic_metre_an_hour():
    """A misprint: the teaching copy prints 0.15 m3/h for 0.51."""
    assert round(Decimal(1) / Decimal(7) * Decimal("3.6"), 2) == Decimal("0.51")


def test_two_streams_add_up():
    """Wills; first stream seen, second from memory: 2.73 + 2.95 = 5.68 t/h."""
    solids = [
        pulp.dry_solids_flow(
            pulp_flow=Decimal(flow)
            * pulp.pulp_density_kg_m3(
                solids_percent=Decimal(share),
                solids_kg_m3=Decimal(3000),
                liquor_kg_m3=WATER,
            )
            / 1000,
            solids_percent=Decimal(share),
        )
        for flow, share in [("5.0", "40"), ("3.4", "55")]
    ]
    assert [round(flow, 2) for flow in solids] == [Decimal("2.73"), Decimal("2.95")]
    assert round(sum(solids), 2) == Decimal("5.68")


@pytest.mark.parametrize(
    ("solids_percent", "dilution"),
    [
        pytest.param("30", "2.333", marks=source(f"{WILLS}; from memory")),
        pytest.param("50", "1", marks=source(f"{WILLS}; from memory")),
        pytest.param("15", "5.667", marks=source(f"{WILLS}; from memory")),
    ],
)
def test_dilution_is_liquor_over_solids(solids_percent, dilution):
    found = pulp.dilution(Decimal(solids_percent))
    assert round(found, 3) == Decimal(dilution)


@pytest.mark.parametrize(
    ("feed_solids", "feed", "under", "over", "expected"),
    [
        pytest.param(
            "20", "30", "50", "15", "14.286", marks=source(f"{WILLS}; from memory")
        ),
    ],
)
def test_cyclone_underflow_follows_from_three_dilutions(
    feed_solids, feed, under, over, expected
):
    found = pulp.underflow_solids(
        feed_solids=Decimal(feed_solids),
        feed_percent=Decimal(feed),
        underflow_percent=Decimal(under),
        overflow_percent=Decimal(over),
    )
    assert round(found, 3) == Decimal(expected)


def test_cyclone_of_the_exercise_splits_as_computed():
    """Own: 35 t/h of underflow pulp at 83.33 %; feed 74.07, overflow 62.5 %."""
    under = Decimal(35) * percent("2000", "2500") / 100
    feed_share = pulp.underflow_solids(
        feed_solids=Decimal(1),
        feed_percent=percent("1800", "2500"),
        underflow_percent=percent("2000", "2500"),
        overflow_percent=percent("1600", "2500"),
    )
    assert round(under, 2) == Decimal("29.17")
    assert round(under / feed_share, 2) == Decimal("46.67")


def test_cyclone_that_thickens_both_ways_is_refused():
    with pytest.raises(OutOfRange):
        pulp.underflow_solids(
            feed_solids=Decimal(1),
            feed_percent=Decimal(60),
            underflow_percent=Decimal(50),
            overflow_percent=Decimal(15),
        )


@pytest.mark.parametrize("density", ["1000", "999", "2650", "3000", "0", "-5"])
def test_density_outside_liquor_and_solids_is_not_a_pulp(density):
    """Neither lighter than its liquor nor heavier than its solids."""
    for formula in (pulp.solids_percent, pulp.solids_volume_percent):
        with pytest.raises(NotAPulp, match="must lie between the two"):
            formula(
                pulp_kg_m3=Decimal(density),
                solids_kg_m3=Decimal(2650),
                liquor_kg_m3=WATER,
            )


@pytest.mark.parametrize("solids_percent", ["-1", "100.5"])
def test_solids_share_outside_0_to_100_is_refused(solids_percent):
    with pytest.raises(OutOfRange):
        pulp.pulp_density_kg_m3(
            solids_percent=Decimal(solids_percent),
            solids_kg_m3=Decimal(2650),
            liquor_kg_m3=WATER,
        )
    with pytest.raises(OutOfRange):
        pulp.dilution(Decimal(solids_percent))


def test_vessel_at_its_mark_holds_the_solids_that_were_put_in():
    """Built forwards: 150 kg of solids of 4200 kg/m3, water to the 0.5 m3 mark."""
    water = water_density_kg_m3(Decimal(20))
    solids_kg, volume = Decimal(150), Decimal("0.5")
    net_kg = solids_kg + (volume - solids_kg / 4200) * water
    found = pulp.dry_solids_in_vessel_kg(
        net_kg=net_kg,
        volume_m3=volume,
        solids_kg_m3=Decimal(4200),
        water_kg_m3=water,
    )
    assert abs(found - solids_kg) < Decimal("1e-20")


def test_vessel_uncertainty_grows_by_the_submerged_factor():
    """dry = (m - L V) s/(s - L), so u(m) and L u(V) are stretched by s/(s - L)."""
    found = pulp.dry_solids_in_vessel_kg(
        net_kg=reading(600, 0.5, "reading:n"),
        volume_m3=reading(0.5, 0.001, "tank:h:table:1"),
        solids_kg_m3=exact(4000),
        water_kg_m3=exact(1000),
    )
    assert found.value == pytest.approx(100 * 4 / 3)
    expected = {"reading:n": 0.5 * 4 / 3, "tank:h:table:1": -1.0 * 4 / 3}
    assert dict(found.effects) == pytest.approx(expected)


@pytest.mark.parametrize(
    ("net", "volume", "refusal"),
    [("499", "0.5", NotAPulp), ("2200", "0.5", NotAPulp), ("10", "0", OutOfRange)],
)
def test_vessel_that_weighs_less_than_its_water_is_refused(net, volume, refusal):
    with pytest.raises(refusal):
        pulp.dry_solids_in_vessel_kg(
            net_kg=Decimal(net),
            volume_m3=Decimal(volume),
            solids_kg_m3=Decimal(4200),
            water_kg_m3=WATER,
        )
