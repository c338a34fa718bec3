"""Mine against refinery: shared errors of many shipments, held against an oracle.

The worked example is our own; the same sums are worked out a second time by the
`uncertainties` package, which knows nothing of effect keys.
"""

import math

import pytest
from uncertainties import ufloat

from goldroom.metal import contained, effect_keys
from goldroom.metal.uncertainty import Measured, exact, reading
from goldroom.reconcile.outturn import OutturnDifference, difference_of, together
from goldroom.reconcile.priors import Quantities
from tests.goldroom import dealings
from tests.goldroom.reconcile.book import LedgerRecords

OWN = pytest.mark.source("own worked example")
ORACLE = pytest.mark.source("the uncertainties package; run in the test")
MINES = ((8412.3, 842.6), (8127.9, 839.1))
REFINERYS = ((8412.1, 842.2), (8127.8, 838.8))


def mines_bar(shipment: int, n: int) -> Measured:
    """Return the gold of a bar as the mine has it."""
    name = f"{shipment}-{n}"
    mass_g, fineness = MINES[n]
    mass = reading(mass_g, 0.2, effect_keys.reading(name)).scaled_by(
        2e-5, effect_keys.scale_slope("bullion", "1")
    )
    content = (
        exact(fineness)
        .scaled_by(3e-4, effect_keys.lab_bias("mine", "fire_assay", "gold", "1"))
        .scaled_by(3e-4, effect_keys.sampler_bias("drill"))
        .scaled_by(5e-4, effect_keys.segregation(name))
        .scaled_by(2e-4, effect_keys.assay_repeat(name, "gold"))
    )
    return contained.bar_metal_g(mass_g=mass, fineness_permille=content)


def refinerys_bar(shipment: int, n: int) -> Measured:
    """Return the gold of a bar as the refinery has it."""
    name = f"refinery-{shipment}-{n}"
    mass_g, fineness = REFINERYS[n]
    mass = reading(mass_g, 0.2, effect_keys.reading(name)).scaled_by(
        2e-5, effect_keys.refinery_slope("refinery", "1")
    )
    content = (
        exact(fineness)
        .scaled_by(
            2e-4, effect_keys.refinery_lab("refinery", "fire_assay", "gold", "1")
        )
        .scaled_by(2e-4, effect_keys.assay_repeat(name, "gold"))
    )
    return contained.bar_metal_g(mass_g=mass, fineness_permille=content)


def shipment(number: int = 0) -> OutturnDifference:
    """Return a shipment of two bars, with a melt loss of 3 g +- 2 g."""
    mine = mines_bar(number, 0) + mines_bar(number, 1)
    refinery = refinerys_bar(number, 0) + refinerys_bar(number, 1)
    loss = reading(3.0, 2.0, effect_keys.refinery_melt(str(number)))
    return OutturnDifference(mine, refinery, loss)


@OWN
def test_one_shipment_is_as_the_worked_example_has_it():
    found = shipment()
    assert found.refinery.value == pytest.approx(13902.269, abs=5e-4)
    assert found.refinery.u == pytest.approx(3.425, abs=5e-4)
    assert found.difference.value == pytest.approx(3.056, abs=5e-4)
    assert found.difference.u == pytest.approx(8.874, abs=5e-4)
    assert found.z == pytest.approx(0.344, abs=5e-4)


@OWN
def test_eight_equal_shipments_share_what_does_not_average_away():
    found = together(shipment(n) for n in range(8))
    assert found.difference.u == pytest.approx(54.968, abs=5e-4)
    assert math.sqrt(8 * 36.039 + 64 * 42.705) == pytest.approx(54.968, abs=1e-3)
    assert found.difference.value == pytest.approx(8 * 3.056, abs=4e-3)
    independent = math.sqrt(8) * shipment().difference.u
    assert independent == pytest.approx(25.099, abs=5e-4)


@ORACLE
@pytest.mark.parametrize("count", [1, 2, 8, 20])
def test_shipments_agree_with_the_oracle(count: int):
    slope, drill, lab = (ufloat(1, u) for u in (2e-5, 3e-4, 3e-4))
    refinery_slope, refinery_lab = ufloat(1, 2e-5), ufloat(1, 2e-4)
    gone = 0
    for _ in range(count):
        for mass_g, fineness in MINES:
            mass = (ufloat(mass_g, 0.2) + mass_g * (slope - 1)) / 1000
            own = ufloat(1, 5e-4) * ufloat(1, 2e-4)
            gone += mass * fineness * lab * drill * own
        for mass_g, fineness in REFINERYS:
            mass = (ufloat(mass_g, 0.2) + mass_g * (refinery_slope - 1)) / 1000
            gone -= mass * fineness * refinery_lab * ufloat(1, 2e-4)
        gone -= ufloat(3, 2)
    found = together(shipment(n) for n in range(count)).difference
    assert found.value == pytest.approx(gone.nominal_value, rel=1e-9)
    assert found.u == pytest.approx(gone.std_dev, rel=1e-6)


def test_nothing_uncertain_has_no_z():
    assert OutturnDifference(exact(5.0), exact(4.0)).z is None


def test_difference_of_a_melt_on_record_is_between_its_bars_and_its_settled_figure():
    state = dealings.melted()
    dealings.tell(state, "exchanged")
    data = LedgerRecords.from_held(state.all_held())
    found = difference_of("MELT-1", Quantities(data), "gold")
    assert found is not None
    assert found.mine.value == pytest.approx((5992.3 + 4900.0) * 0.8426, abs=1e-9)
    assert found.refinery.value == pytest.approx(10885.1 * 0.8429, abs=1e-9)
    silver = difference_of("MELT-1", Quantities(data), "silver")
    assert silver is not None
    assert silver.refinery.value == pytest.approx(10885.1 * 0.1193, abs=1e-9)


def test_result_told_after_the_settled_figure_does_not_displace_it():
    state = dealings.melted()
    dealings.tell(state, "exchanged")
    dealings.report_late(state, "refiner", gold="841.0", silver="118.0")
    data = LedgerRecords.from_held(state.all_held())
    found = Quantities(data).of("MELT-1")
    assert found.standing == "final"
    assert found.gold is not None
    assert found.gold.measured.value == pytest.approx(10885.1 * 0.8429, abs=1e-9)


def test_difference_is_not_told_where_a_bar_is_not_known():
    state = dealings.melted()
    data = LedgerRecords.from_held(state.all_held())
    kept = {name: each for name, each in data.masses.items() if name == "MELT-1"}
    bare = LedgerRecords(
        **{**vars(data), "masses": kept, "assays": {}, "estimates": {}}
    )
    assert difference_of("MELT-1", Quantities(bare), "gold") is None
