"""What each figure is worth: which uncertainty belongs to which determination.

Rows are `goldroom.metal.starting_uncertainties`; a calibration's own figures for a
reading and a slope win over them. A site that has evidence sets rows of its own, in
force from a time on.

A figure is worth what the budget in force when it was measured says, not that of the
period's end: so a closing is the next opening with the same effects, a reading that
two loads share is worth the same in both, and no later row changes a period that
was over before it.

The spread of drillings within a bar and the drill's bias are charged to gold only:
a bar's silver repeats worse than that by an order, so its own row holds both.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import cast

from goldroom.custody.error_budget import ErrorBudget
from goldroom.custody.records import Instrument
from goldroom.metal.starting_uncertainties import (
    STARTING,
    Basis,
    Spread,
    StartingUncertainty,
)
from goldroom.metal.units import grams_per

WEIGHED_LIKE: Mapping[str, str] = {
    "hopper_cells": "hopper_cells",
    "platform_scale": "platform_scale",
    "bench_balance": "bench_balance",
    "bullion_balance": "bullion_balance",
}
"""Row of the table by an instrument's sort."""

SAMPLED_LIKE: Mapping[str, str] = {
    "load": "cleanup_sample",
    "lot": "hopper_lot_sample",
    "table_concentrate": "table_concentrate_sample",
    "table_tails": "table_tails_sample",
    "sludge": "sludge_sample",
    "residue": "leach_residue_sample",
    "slag": "table_tails_sample",
    "bar": "bar_drilling",
}
"""Row for the sampling of what an assay was wanted for."""

UNSAMPLED = ("melt", "solution")
"""Assayed with no sampling error of their own: a molten bath, a stirred solution."""

ASSAYED_LIKE: Mapping[str, str] = {
    "table_concentrate": "high_grade_assay",
    "sludge": "high_grade_assay",
    "solution": "solution_assay",
    "bar": "bullion_assay",
    "melt": "refinery_assay",
}
"""Row for the assay itself; others are assayed like concentrates."""

SPECTROMETER = StartingUncertainty("spectrometer_assay", Spread(0.004), Spread(0.003))
GUESSED = StartingUncertainty("estimated_content", Spread(0.02), Spread(0.02))
"""Content that nobody assayed: judged from earlier bars (engineering judgement)."""

GRAMS = {"g": 1.0, "kg": 1000.0}


@dataclass(frozen=True, slots=True)
class Pair:
    """A standard uncertainty renewed each time, and one that is shared."""

    own: float
    shared: float


@dataclass(frozen=True)
class Budget:
    """The rows in force, by quantity, and what changes them, in order of time.

    `at` gives the budget of a time; those made are kept by how many changes they hold.
    """

    rows: Mapping[str, StartingUncertainty]
    changes: tuple[ErrorBudget, ...] = ()
    _made: dict[int, Budget] = field(default_factory=dict, compare=False, repr=False)

    def changed_by(self, changes: Sequence[ErrorBudget]) -> Budget:
        """Return this budget with the changes that a site has set."""
        in_order = sorted(changes, key=lambda each: (each.in_force_from, each.version))
        return Budget(self.rows, tuple(in_order))

    def at(self, at: str) -> Budget:
        """Return the budget in force at a time (UTC text)."""
        if not self.changes:
            return self
        count = bisect_right([each.in_force_from for each in self.changes], at)
        if count not in self._made:
            rows = dict(self.rows)
            for each in self.changes[:count]:
                rows[each.quantity] = _changed(rows[each.quantity], each)
            self._made[count] = Budget(rows)
        return self._made[count]

    def weighing(
        self, instrument: Instrument | None, *, is_refinery: bool = False
    ) -> Pair:
        """Return what a reading is worth: (grams, share of the value).

        A refinery's is taken for a bullion balance. What was read on no registered
        instrument (a constant, a fill mark) says itself what it is worth.
        """
        if instrument is None and not is_refinery:
            return Pair(0.0, 0.0)
        row = self.rows["bullion_balance"]
        if instrument is not None:
            row = self.rows[WEIGHED_LIKE[instrument.sort]]
        if instrument is not None and row.random.basis == "span":
            span_g = float(instrument.capacity * grams_per(instrument.unit))
            return Pair(row.random.u * span_g, row.shared.u)
        return Pair(row.random.u * GRAMS[row.random.basis], row.shared.u)

    def moisture_points(self) -> Pair:
        """Return what a moisture is worth, in percentage points."""
        row = self.rows["moisture"]
        return Pair(row.random.u, row.shared.u)

    def volume(self) -> Pair:
        """Return what a solution's volume is worth, as shares of it."""
        return self._pair("tank_volume")

    def sampling(self, wanted_for: str) -> Pair:
        """Return what a sample is worth, as shares of the content."""
        if wanted_for in UNSAMPLED:
            return Pair(0.0, 0.0)
        return self._pair(SAMPLED_LIKE.get(wanted_for, "hopper_lot_sample"))

    def assaying(
        self, wanted_for: str, metal: str, *, method: str, standing: str
    ) -> Pair:
        """Return what a laboratory's figure is worth, as shares of the content."""
        if method == "spectrometer":
            return Pair(SPECTROMETER.random.u, SPECTROMETER.shared.u)
        if standing == "estimated" or method == "judgement":
            return Pair(GUESSED.random.u, GUESSED.shared.u)
        return self._pair(
            f"{ASSAYED_LIKE.get(wanted_for, 'concentrate_assay')}_{metal}"
        )

    def melt_loss_g(self) -> float:
        """Return what a refinery's melting may take from a melt, in grams."""
        return self.rows["refinery_melt_loss"].random.u

    def gravity(self, parameter: str) -> Pair:
        """Return what a parameter of the gravity estimate is worth, as shares."""
        return self._pair(f"gravity_{parameter}")

    def _pair(self, quantity: str) -> Pair:
        row = self.rows[quantity]
        return Pair(row.random.u, row.shared.u)


def _changed(row: StartingUncertainty, by: ErrorBudget) -> StartingUncertainty:
    """Return a row with the site's own figures."""
    return replace(
        row,
        random=Spread(float(by.random_u), cast(Basis, by.basis)),
        shared=Spread(float(by.shared_u), cast(Basis, by.shared_basis)),
        standing=by.evidence,
    )


DEFAULT = Budget(STARTING)
"""The wider figures that a new site starts from."""
