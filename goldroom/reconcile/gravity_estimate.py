"""What the gravity circuit should have caught, day by day and flush by flush.

For each production day with flushes, the day's dry feed and head assay and the model
in force give E = F h G phi (`goldroom.metal.gravity`), with the mean recovery of the
day's own cycles. A day's E is split over its flushes by (tonnes fed in the cycle) x
(p rho), so a period that starts or ends within a day takes its flushes' share. The
model's `treated_p` is taken to include the units' availability.

A day whose head assay is still to come gets the mean of the others' estimate, with
a wide uncertainty; a day with feed but no flush gives nothing, and is named.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from statistics import fmean

from goldroom.custody.records import Flush, GravityModel, MillDay
from goldroom.metal import effect_keys
from goldroom.metal.gravity import (
    Circuit,
    UnitRun,
    gravity_gold_g,
    mean_recovery,
    split_over_flushes,
)
from goldroom.metal.gravity import Flush as FedFlush
from goldroom.metal.uncertainty import Measured, exact, total
from goldroom.reconcile.budget import Budget
from goldroom.reconcile.ledger_records import LedgerRecords
from goldroom.reconcile.production_days import ONE_DAY, Period, SiteClock, moment
from goldroom.reconcile.typical import WIDE


@dataclass(frozen=True)
class EstimatedDay:
    """A production day's estimate and the flushes it is split over."""

    day: date
    estimate: Measured
    flushes: tuple[FedFlush, ...]
    is_pending: bool = False

    def by_flush(self) -> dict[str, Measured]:
        """Return each flush's part of the estimate, in grams, summing to it."""
        parts = split_over_flushes(self.estimate, self.flushes)
        return {
            flush.flush_id: part
            for flush, part in zip(self.flushes, parts, strict=True)
        }


@dataclass(frozen=True)
class GravityEstimate:
    """The estimate for a period's flushes; `total_g` None where none can be made."""

    total_g: Measured | None
    days: tuple[EstimatedDay, ...]
    said: tuple[str, ...]


def gravity_estimate(
    data: LedgerRecords, period: Period, budget: Budget
) -> GravityEstimate:
    """Return the circuit's estimate for the flushes that ended in the period."""
    flushes = flushes_by_day(data.flushes, period)
    said = _feed_without_flushes(data, period, flushes)
    known, waiting = [], []
    for day, of_day in flushes.items():
        model = model_in_force(data.gravity_models, day, period.clock)
        mill_day = latest_mill_day(data, day)
        then = budget.at(period.clock.start_of(day))
        if model is None:
            said.append(f"{day}: no gravity model was in force; not estimated.")
        elif mill_day is None:
            waiting.append((day, fed_flushes(of_day, model, then)))
        else:
            known.append(_estimated(day, mill_day, of_day, model, then))
    pending = _filled_in(waiting, known)
    said += [
        f"{day}: the mill's feed and head assay are still to come; the mean of the"
        f" other days stands in, ± {100 * WIDE:.0f} %."
        for day in (each.day for each in pending)
    ]
    if waiting and not known:
        said.append("No day has the mill's feed and head assay yet; nothing estimated.")
    days = tuple(sorted((*known, *pending), key=lambda each: each.day))
    if not days:
        return GravityEstimate(None, (), tuple(said))
    return GravityEstimate(
        total(_within(each, data.flushes, period) for each in days), days, tuple(said)
    )


def flushes_by_day(flushes: Sequence[Flush], period: Period) -> dict[date, list[Flush]]:
    """Return all flushes of the production days with a flush in the period."""
    days: dict[date, list[Flush]] = {}
    touched: set[date] = set()
    start = period.clock.start_of(period.days()[0])
    end = period.clock.start_of(period.days()[-1] + ONE_DAY)
    for flush in flushes:
        if not start <= flush.at < end:
            continue
        day = period.clock.day_of(flush.at)
        days.setdefault(day, []).append(flush)
        if period.includes(flush.at):
            touched.add(day)
    return {day: group for day, group in days.items() if day in touched}


def latest_mill_day(data: LedgerRecords, day: date) -> MillDay | None:
    """Return the mill's latest report of a production day, or None."""
    versions = data.mill_days.get(day.isoformat())
    return versions[-1] if versions else None


def model_in_force(
    models: Sequence[GravityModel], day: date, clock: SiteClock
) -> GravityModel | None:
    """Return the model in force when the day started; the first one set in it if none.

    None when no model was in force before the day's end.
    """
    start, end = clock.start_of(day), clock.start_of(day + ONE_DAY)
    before = [model for model in models if model.at <= start]
    during = [model for model in models if start < model.at < end]
    return before[-1] if before else (during[0] if during else None)


def fed_flushes(
    flushes: Sequence[Flush], model: GravityModel, budget: Budget
) -> tuple[FedFlush, ...]:
    """Return the day's flushes with their feed and p rho.

    A flush without feed tonnes takes the mean of the day's others, one without cycle
    times their mean cycle (the bowl's recovery when empty, if no cycle is known).
    """
    feeds = [float(each.feed_t) for each in flushes if each.feed_t]
    cycles = [cycle for each in flushes if (cycle := cycle_min(each))]
    mean_feed = fmean(feeds) if feeds else 1.0
    mean_cycle = fmean(cycles) if cycles else 0.0
    treated = _parameter(model.treated_p, "treated_fraction", budget)
    removed: dict[float, Measured] = {}
    fed = []
    for each in flushes:
        cycle = cycle_min(each) or mean_cycle
        if cycle not in removed:
            removed[cycle] = treated * _recovery(model, cycle, budget)
        feed_t = float(each.feed_t) if each.feed_t else mean_feed
        fed.append(FedFlush(each.flush, feed_t, removed[cycle]))
    return tuple(fed)


def cycle_min(flush: Flush) -> float:
    """Return the length of a flush's cycle in minutes; 0 where it is not known."""
    if not flush.started_at or flush.started_at >= flush.at:
        return 0.0
    return (moment(flush.at) - moment(flush.started_at)).total_seconds() / 60


def _recovery(model: GravityModel, cycle: float, budget: Budget) -> Measured:
    """Return the mean recovery over a cycle; of an empty bowl if the cycle is 0."""
    first = _parameter(model.recovery_rho0, "unit_recovery", budget)
    if not cycle:
        return first
    return mean_recovery(
        initial_recovery=first,
        time_constant_min=exact(model.saturation_tau_min),
        cycle_min=cycle,
    )


def _estimated(
    day: date,
    mill_day: MillDay,
    flushes: Sequence[Flush],
    model: GravityModel,
    budget: Budget,
) -> EstimatedDay:
    """Return the day's estimate by its feed, head assay, model and cycles."""
    fed = fed_flushes(flushes, model, budget)
    fed_t = sum(each.dry_feed_t for each in fed)
    removed = total(each.removed_fraction * (each.dry_feed_t / fed_t) for each in fed)
    head = exact(mill_day.gold_gpt).scaled_by(
        budget.gravity("head_assay").own, effect_keys.head_assay(day.isoformat())
    )
    estimate = gravity_gold_g(
        dry_feed_t=exact(mill_day.feed_t),
        head_gpt=head,
        circuit=Circuit(
            grg_fraction=_parameter(model.grg_fraction, "grg_fraction", budget),
            mill_survival=_parameter(model.survival_b, "mill_survival", budget),
            classifier_return=_parameter(
                model.to_underflow_c, "classifier_return", budget
            ),
        ),
        units=[UnitRun(treated_fraction=exact(1.0), unit_recovery=removed)],
    )
    return EstimatedDay(day, estimate, fed)


def _parameter(value: object, name: str, budget: Budget) -> Measured:
    """Return a model's parameter with the error all its uses share."""
    key = effect_keys.gravity_parameter(name)
    return exact(float(str(value))).scaled_by(budget.gravity(name).shared, key)


def _filled_in(
    waiting: Sequence[tuple[date, tuple[FedFlush, ...]]],
    known: Sequence[EstimatedDay],
) -> list[EstimatedDay]:
    """Return days without a head assay at the mean of the known days; none of none."""
    if not known:
        return []
    mean = total(each.estimate for each in known) / len(known)
    return [
        EstimatedDay(
            day,
            mean.scaled_by(WIDE, effect_keys.gravity_parameter("pending", str(day))),
            fed,
            is_pending=True,
        )
        for day, fed in waiting
    ]


def _within(day: EstimatedDay, flushes: Sequence[Flush], period: Period) -> Measured:
    """Return the part of a day's estimate that belongs to flushes of the period."""
    start = period.clock.start_of(day.day)
    end = period.clock.start_of(day.day + ONE_DAY)
    if period.from_at <= start and end <= period.to_at:
        return day.estimate
    inside = {each.flush for each in flushes if period.includes(each.at)}
    parts = day.by_flush()
    return total(part for flush, part in parts.items() if flush in inside)


def _feed_without_flushes(
    data: LedgerRecords, period: Period, flushes: Mapping[date, object]
) -> list[str]:
    """Return a sentence for each day that the mill was fed and nothing flushed."""
    return [
        f"{day}: {mill_day.feed_t} t fed and no flush counted; not in the estimate."
        for day in period.days()
        if day not in flushes
        and (mill_day := latest_mill_day(data, day)) is not None
        and mill_day.feed_t > 0
    ]
