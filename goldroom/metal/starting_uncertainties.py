"""Standard uncertainties a site starts from, until its own evidence is in.

Engineering judgement; no published source. `WELL_RUN` is what a well-run room
reaches; `STARTING` is the same table widened where new sites are usually worse
(hopper cells, tanks, the mine's own bullion assays) and is the default. A site
tightens its figures with duplicates, check weights and reference materials.

Each figure has a random part (renewed with every determination) and a shared
part (the same until the calibration or reference period named by
`shared_weeks` ends). A figure is one of

    relative   a share of the value: 0.05 is 5 %
    points     percentage points of moisture
    kg, g      an absolute mass
    span       a share of the instrument's span
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from types import MappingProxyType
from typing import Literal

Basis = Literal["relative", "points", "kg", "g", "span"]

STANDING = "engineering judgement, no published source"


@dataclass(frozen=True, slots=True)
class Spread:
    """One standard uncertainty and what it is a share or an amount of."""

    u: float
    basis: Basis = "relative"

    def absolute(self, *, value: float, span: float = 0.0) -> float:
        """Return the uncertainty in the value's own unit (or in points, kg, g)."""
        if self.basis == "relative":
            return self.u * abs(value)
        if self.basis == "span":
            assert span > 0
            return self.u * span
        return self.u


NONE = Spread(0.0)


@dataclass(frozen=True, slots=True)
class StartingUncertainty:
    """What a quantity's figures are worth before the site has shown better."""

    quantity: str
    random: Spread
    shared: Spread = NONE
    shared_weeks: int | None = None
    standing: str = STANDING


def _table(*rows: StartingUncertainty) -> Mapping[str, StartingUncertainty]:
    """Return the rows by quantity."""
    return MappingProxyType({row.quantity: row for row in rows})


def _relative(quantity: str, random: float, shared: float = 0.0) -> StartingUncertainty:
    """Return a row whose two parts are shares of the value."""
    return StartingUncertainty(quantity, Spread(random), Spread(shared))


WELL_RUN: Mapping[str, StartingUncertainty] = _table(
    StartingUncertainty("hopper_cells", Spread(0.5, "kg"), Spread(0.003), 26),
    StartingUncertainty("platform_scale", Spread(0.3, "kg"), Spread(0.001), 26),
    StartingUncertainty("bench_balance", Spread(0.5, "g"), Spread(1e-4), 52),
    StartingUncertainty("bullion_balance", Spread(0.2, "g"), Spread(2e-5), 52),
    StartingUncertainty("moisture", Spread(0.4, "points"), Spread(0.3, "points")),
    _relative("cleanup_sample", 0.04, 0.01),
    _relative("hopper_lot_sample", 0.05, 0.01),
    _relative("table_concentrate_sample", 0.015, 0.005),
    _relative("table_tails_sample", 0.04, 0.01),
    _relative("leach_residue_sample", 0.06, 0.02),
    _relative("sludge_sample", 0.015, 0.005),
    _relative("concentrate_assay_gold", 0.008, 0.005),
    _relative("concentrate_assay_silver", 0.015, 0.010),
    _relative("high_grade_assay_gold", 0.005, 0.003),
    _relative("high_grade_assay_silver", 0.010, 0.008),
    _relative("solution_assay_gold", 0.008, 0.006),
    _relative("solution_assay_silver", 0.010, 0.010),
    _relative("tank_volume", 0.003, 0.005),
    _relative("bullion_assay_gold", 2e-4, 3e-4),
    _relative("bullion_assay_silver", 1.5e-3, 3e-3),
    _relative("bar_drilling", 5e-4, 3e-4),
    _relative("refinery_assay_gold", 2e-4, 2e-4),
    _relative("refinery_assay_silver", 1.5e-3, 2e-3),
    StartingUncertainty("refinery_melt_loss", Spread(3.0, "g")),
    _relative("cathode_holding", 0.12),
    StartingUncertainty("furnace_holding", Spread(5.0, "g")),
    _relative("slag_gold", 0.10),
    _relative("gravity_head_assay", 0.12),
    _relative("gravity_mill_survival", 0.0, 0.01),
    _relative("gravity_classifier_return", 0.0, 0.01),
    _relative("gravity_grg_fraction", 0.0, 0.02),
    _relative("gravity_treated_fraction", 0.0, 0.05),
    _relative("gravity_unit_recovery", 0.0, 0.05),
)
"""What a well-run room reaches."""

STARTING: Mapping[str, StartingUncertainty] = MappingProxyType(
    {
        **WELL_RUN,
        "hopper_cells": replace(
            WELL_RUN["hopper_cells"], random=Spread(0.005, "span"), shared=Spread(0.005)
        ),
        "tank_volume": _relative("tank_volume", 0.01, 0.02),
        "bullion_assay_gold": _relative("bullion_assay_gold", 5e-4, 2e-3),
        "bullion_assay_silver": _relative("bullion_assay_silver", 3e-3, 5e-3),
    }
)
"""What a new site starts from: wider, to be tightened by evidence."""
