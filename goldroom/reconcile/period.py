"""A period's reconciliation: every step's balance, the whole, and the outer check.

`reconcile` takes the ledger's records and a period and returns a frozen report; the
same records, period and as-known time give the same report. `to_json` is what the
command prints and the month keeps; `goldroom.reconcile.words` reads it aloud.

    {"from", "to", "as_known_at", "zone", "day_start",
     "steps": {step: {metal: balance}}, "overall": {metal: balance},
     "gravity": {...}, "notes": [...], "provisional": [...], "pending": [...],
     "streams": [...]}

A step's name is hopper, table, smelt or vault, or several joined by a plus; a metal
is gold, silver or, for hopper and table, dry_mass. Figures are texts of decimals.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from goldroom.custody.records import STEPS, StreamMeter
from goldroom.metal.assay import metal_in_solids_g
from goldroom.metal.rounding import to_milligram
from goldroom.reconcile.balance import Balance, balance_of
from goldroom.reconcile.budget import DEFAULT, Budget
from goldroom.reconcile.gravity_check import GravityCheck, gravity_check
from goldroom.reconcile.ledger_records import LedgerRecords
from goldroom.reconcile.network import Parcel, merged_steps, parcels_of
from goldroom.reconcile.priors import Quantities
from goldroom.reconcile.production_days import Period
from goldroom.reconcile.quantities import METALS

DRY_STEPS = frozenset({"hopper", "table", "leach"})
NOT_EVERYWHERE = frozenset({"leach", "electrowinning"})
"""Steps that a room may not have: shown where something was held or passed."""

__all__ = ["DEFAULT", "Budget", "Period", "PeriodReport", "Stream", "reconcile"]


@dataclass(frozen=True, slots=True)
class Waiting:
    """An item whose figure will change, and why it is not final."""

    item: str
    sort: str
    why: str

    def to_json(self) -> dict[str, object]:
        """Return the item, its sort and why, as text."""
        return {"item": self.item, "sort": self.sort, "why": self.why}


@dataclass(frozen=True, slots=True)
class Stream:
    """A metered stretch of a continuous concentrator and the gold it carried."""

    meter: StreamMeter

    def to_json(self) -> dict[str, object]:
        """Return the stretch with its figures as text."""
        meter = self.meter
        gold_g = metal_in_solids_g(
            dry_mass_kg=1000 * meter.dry_t, grade_gpt=meter.gold_gpt
        )
        return {
            "unit": meter.unit,
            "stage": meter.stage,
            "from": meter.from_at,
            "to": meter.at,
            "dry_t": format(meter.dry_t, "f"),
            "gold": format(to_milligram(gold_g), "f"),
            "goes_to": meter.goes_to,
        }


@dataclass(frozen=True)
class PeriodReport:
    """What a period's records come to, as known at a time."""

    period: Period
    steps: Mapping[str, Mapping[str, Balance]]
    overall: Mapping[str, Balance]
    gravity: GravityCheck
    parcels: tuple[Parcel, ...]
    notes: tuple[str, ...]
    provisional: tuple[Waiting, ...]
    pending: tuple[Waiting, ...]
    streams: tuple[Stream, ...]

    def to_json(self) -> dict[str, object]:
        """Return the report as plain values, its figures as decimal text."""
        return {
            "from": self.period.from_at,
            "to": self.period.to_at,
            "as_known_at": self.period.as_known_at,
            "zone": self.period.zone,
            "day_start": self.period.day_start,
            "steps": {step: _by_metal(each) for step, each in self.steps.items()},
            "overall": _by_metal(self.overall),
            "gravity": self.gravity.to_json(),
            "notes": list(self.notes),
            "provisional": [each.to_json() for each in self.provisional],
            "pending": [each.to_json() for each in self.pending],
            "streams": [each.to_json() for each in self.streams],
        }


def reconcile(
    data: LedgerRecords, period: Period, budget: Budget = DEFAULT
) -> PeriodReport:
    """Return the period's balances, overall, gravity check, and what is not final."""
    known = data.as_known(period.as_known_at)
    quantities = Quantities(known, budget)
    parcels = parcels_of(known, quantities, from_at=period.from_at, to_at=period.to_at)
    groups, merged_notes = merged_steps(parcels, quantities, _in_use(parcels))
    steps = {name: _balances(parcels, group) for name, group in groups.items()}
    gravity = gravity_check(quantities, parcels, period)
    return PeriodReport(
        period=period,
        steps=steps,
        overall=_overall(parcels, groups, steps),
        gravity=gravity,
        parcels=parcels,
        notes=(*merged_notes, *_undrawn(steps), *gravity.estimate.said),
        provisional=_waiting(parcels, is_pending=False),
        pending=_waiting(parcels, is_pending=True),
        streams=tuple(
            Stream(meter) for meter in known.stream_meters if period.includes(meter.at)
        ),
    )


def _in_use(parcels: Sequence[Parcel]) -> tuple[str, ...]:
    """Return the steps to be balanced: those of every room, and those used."""
    return tuple(
        step
        for step in STEPS
        if step not in NOT_EVERYWHERE
        or any(step in (each.way.from_step, each.way.to_step) for each in parcels)
    )


def _balances(parcels: Sequence[Parcel], group: frozenset[str]) -> dict[str, Balance]:
    """Return the balances of one step, or of several merged, by metal."""
    metals = (*METALS, "dry_mass") if group <= DRY_STEPS else METALS
    return {metal: balance_of(parcels, group, metal) for metal in metals}


def _overall(
    parcels: Sequence[Parcel],
    groups: Mapping[str, frozenset[str]],
    steps: Mapping[str, Mapping[str, Balance]],
) -> dict[str, Balance]:
    """Return the balances of all steps together that can be drawn."""
    overall = {}
    for metal in METALS:
        drawn = [groups[name] for name in groups if steps[name][metal].is_drawn]
        meant = drawn or list(groups.values())
        overall[metal] = balance_of(parcels, frozenset[str]().union(*meant), metal)
    return overall


def _undrawn(steps: Mapping[str, Mapping[str, Balance]]) -> Iterable[str]:
    """Yield a sentence for each balance that cannot be drawn, and why."""
    for name, balances in steps.items():
        for metal, balance in balances.items():
            if balance.is_drawn:
                continue
            items = ", ".join(balance.unmeasured[:5])
            more = len(balance.unmeasured) - 5
            rest = f" and {more} more" if more > 0 else ""
            what = metal.replace("_", " ")
            left_out = "" if metal == "dry_mass" else " It is left out of the whole."
            yield (
                f"The {what} of {name} is not balanced: nothing tells how much is in"
                f" {items}{rest}.{left_out}"
            )


def _waiting(parcels: Iterable[Parcel], *, is_pending: bool) -> tuple[Waiting, ...]:
    """Return the items whose figure is pending, or else provisional; once each."""
    found: dict[str, Waiting] = {}
    for parcel in parcels:
        contents = parcel.contents
        if contents.is_pending is not is_pending or not contents.is_provisional:
            continue
        why = contents.said or f"{parcel.item}: {contents.standing} assay"
        found[parcel.item] = Waiting(parcel.item, parcel.sort, why)
    return tuple(found[item] for item in sorted(found))


def _by_metal(balances: Mapping[str, Balance]) -> dict[str, object]:
    """Return balances by metal as plain values."""
    return {metal: balance.to_json() for metal, balance in balances.items()}
