"""What a reconciliation reads: records of the fold by type and item, as known then.

`LedgerRecords` is a frozen view made from any records (a fold held in memory or rows
of the read tables). `as_known` returns the same view as somebody saw it at an
earlier time: versions of figures, crossings, items and uses learned of later are
left out, so that a closed period can be shown again as it was reported.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any, TypeVar

from goldroom.custody.error_budget import ErrorBudget
from goldroom.custody.figures import F, in_order
from goldroom.custody.other_metal import OtherMetal
from goldroom.custody.records import (
    Assay,
    Crossing,
    Estimate,
    Flush,
    GravityModel,
    Instrument,
    Item,
    Limit,
    Mass,
    MillDay,
    Record,
    StreamMeter,
    Volume,
)

R = TypeVar("R", bound=Record)

READ = (
    Item,
    Mass,
    Assay,
    Volume,
    Estimate,
    Crossing,
    Flush,
    MillDay,
    GravityModel,
    Limit,
    Instrument,
    StreamMeter,
    ErrorBudget,
    OtherMetal,
)
"""Record types that a reconciliation reads; all others may be left out."""

TOLD_OF = (Mass, Assay, Volume, Estimate, Crossing, MillDay)
"""Record types that tell when the ledger learned of their entry."""


@dataclass(frozen=True, kw_only=True)
class LedgerRecords:
    """Records by type; figures by item, the newest last, and its crossings as said.

    Each crossing leads from where the one before led, whatever time was said of it.

    `learned_at` says by entry when the ledger learned of it, where a record tells.
    """

    items: Mapping[str, Item]
    masses: Mapping[str, tuple[Mass, ...]]
    assays: Mapping[str, tuple[Assay, ...]]
    volumes: Mapping[str, tuple[Volume, ...]]
    estimates: Mapping[str, tuple[Estimate, ...]]
    crossings: Mapping[str, tuple[Crossing, ...]]
    flushes: tuple[Flush, ...]
    mill_days: Mapping[str, tuple[MillDay, ...]]
    gravity_models: tuple[GravityModel, ...]
    stream_meters: tuple[StreamMeter, ...]
    limits: Mapping[str, Limit]
    instruments: Mapping[str, Instrument]
    error_budgets: tuple[ErrorBudget, ...]
    other_metal: Mapping[str, OtherMetal]
    learned_at: Mapping[str, str]

    @classmethod
    def from_records(cls, records: Iterable[Record]) -> LedgerRecords:
        """Return the view of these records; types not read here are passed over."""
        held = [record for record in records if isinstance(record, READ)]
        return cls(
            items={item.item: item for item in sorted(_of(held, Item), key=_age)},
            masses=_newest_last(_of(held, Mass)),
            assays=_newest_last(_of(held, Assay)),
            volumes=_newest_last(_of(held, Volume)),
            estimates=_newest_last(_of(held, Estimate)),
            crossings=_grouped(_of(held, Crossing), lambda c: c.item, lambda c: c.n),
            flushes=tuple(
                sorted(_of(held, Flush), key=lambda each: (each.at, each.flush))
            ),
            mill_days=_grouped(
                _of(held, MillDay), lambda d: d.day, lambda d: d.version
            ),
            gravity_models=tuple(
                sorted(_of(held, GravityModel), key=lambda each: (each.at, each.model))
            ),
            stream_meters=tuple(
                sorted(_of(held, StreamMeter), key=lambda each: (each.at, each.unit))
            ),
            limits={limit.name: limit for limit in _of(held, Limit)},
            instruments={each.instrument: each for each in _of(held, Instrument)},
            error_budgets=tuple(
                sorted(
                    _of(held, ErrorBudget),
                    key=lambda each: (each.in_force_from, each.version, each.quantity),
                )
            ),
            other_metal={each.item: each for each in _of(held, OtherMetal)},
            learned_at=_learned_at(held),
        )

    @classmethod
    def from_held(cls, held: Mapping[tuple[str, str], Record]) -> LedgerRecords:
        """Return the view of a whole fold: what `State.all_held` gives."""
        return cls.from_records(held.values())

    def as_known(self, at: str) -> LedgerRecords:
        """Return the view without what the ledger learned of after this time."""

        def is_known(entry: str) -> bool:
            return self.learned_at.get(entry, "") <= at

        return replace(
            self,
            items={
                name: self._as_known(item, is_known)
                for name, item in self.items.items()
                if item.status != "void" and is_known(item.made_by)
            },
            masses=_known(self.masses, lambda each: each.known_at <= at),
            assays=_known(self.assays, lambda each: each.known_at <= at),
            volumes=_known(self.volumes, lambda each: each.known_at <= at),
            estimates=_known(self.estimates, lambda each: each.known_at <= at),
            crossings=_known(self.crossings, lambda each: each.known_at <= at),
            flushes=_known_flushes(self.flushes, at),
            mill_days=_known(self.mill_days, lambda each: each.known_at <= at),
            gravity_models=tuple(
                each for each in self.gravity_models if each.known_at <= at
            ),
            stream_meters=tuple(
                each for each in self.stream_meters if each.known_at <= at
            ),
            error_budgets=tuple(
                each for each in self.error_budgets if each.known_at <= at
            ),
            limits=_known_limits(self.limits, at),
            instruments={
                name: replace(
                    each,
                    calibrations=tuple(
                        made for made in each.calibrations if made.known_at <= at
                    ),
                )
                for name, each in self.instruments.items()
            },
        )

    def _as_known(self, item: Item, is_known: Callable[[str], bool]) -> Item:
        """Return the item without a use, and at its first step, if not known yet."""
        if not is_known(item.used_by):
            item = replace(item, held_until="")
        crossings = self.crossings.get(item.item, ())
        if crossings and not is_known(crossings[-1].entry):
            item = replace(item, step=step_at_making(item, crossings))
        return item


def step_at_making(item: Item, crossings: Sequence[Crossing]) -> str:
    """Return the step that held an item when it was made, by its crossings in order.

    An item of opening stock was made with no crossing: its first leads away from
    where it was.
    """
    if not crossings:
        return item.step
    first = crossings[0]
    return first.to_step if first.entry == item.made_by else first.from_step


def _of(records: Iterable[Record], record_type: type[R]) -> list[R]:
    """Return the records of one type."""
    return [record for record in records if isinstance(record, record_type)]


def _age(item: Item) -> tuple[str, str]:
    """Return what items are ordered by, so that no report depends on who looked."""
    return item.held_from, item.item


def _newest_last(figures: Iterable[F]) -> dict[str, tuple[F, ...]]:
    """Return figures by item, the newest of each item last."""
    groups: dict[str, list[F]] = {}
    for figure in figures:
        groups.setdefault(figure.item, []).append(figure)
    return {name: tuple(in_order(group)) for name, group in groups.items()}


def _grouped(
    records: Iterable[R], key: Callable[[R], str], order: Callable[[R], Any]
) -> dict[str, tuple[R, ...]]:
    """Return records by key, each group in its order."""
    groups: dict[str, list[R]] = {}
    for record in records:
        groups.setdefault(key(record), []).append(record)
    return {name: tuple(sorted(group, key=order)) for name, group in groups.items()}


def _known(
    groups: Mapping[str, tuple[R, ...]], is_known: Callable[[R], bool]
) -> dict[str, tuple[R, ...]]:
    """Return the groups without the records not yet known, nor empty groups."""
    kept = {
        name: tuple(record for record in group if is_known(record))
        for name, group in groups.items()
    }
    return {name: group for name, group in kept.items() if group}


def _known_flushes(flushes: Iterable[Flush], at: str) -> tuple[Flush, ...]:
    """Return the flushes as counted and listed by then; those of neither are out."""
    found = []
    for each in flushes:
        if each.listed_known_at > at:
            each = replace(each, sheet="", answer="", load="")
        if each.counted_known_at > at:
            each = replace(each, started_at="", at="", feed_t=None, cycle_status="")
        if each.sheet or each.answer or each.cycle_status:
            found.append(each)
    return tuple(sorted(found, key=lambda each: (each.at, each.flush)))


def _known_limits(limits: Mapping[str, Limit], at: str) -> dict[str, Limit]:
    """Return the limits at the values known by then; those not yet set are out."""
    found = {}
    for name, limit in limits.items():
        earlier = list(limit.earlier)
        while limit.known_at > at and earlier:
            last = earlier.pop()
            limit = replace(
                limit,
                value=last.value,
                reason=last.reason,
                set_by=last.set_by,
                known_at=last.known_at,
                earlier=tuple(earlier),
            )
        if limit.known_at <= at:
            found[name] = limit
    return found


def _learned_at(records: Iterable[Record]) -> dict[str, str]:
    """Return when the ledger learned of each entry that a record tells it of."""
    learned: dict[str, str] = {}
    for record in records:
        if isinstance(record, TOLD_OF):
            learned[record.entry] = record.known_at
        elif isinstance(record, Flush) and record.sheet:
            learned[record.sheet] = record.listed_known_at
    return learned
