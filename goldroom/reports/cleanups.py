"""What each load of flushes weighed, dry and per flush, against the site's own history.

A hopper is read for several flushes at once, so a single flush's mass is not known:
what can be told is the load's dry mass divided by its flushes. Where a load mixes
flushes of several concentrators it belongs to them together.

    centre = mean of the points        limits = centre -+ 2.66 x mean moving range

the limits of an individuals chart (NIST/SEMATECH e-Handbook of Statistical Methods,
6.3.2.2: 3 / d2 with d2 = 1.128 for two neighbours). Below eight points there are none.
"""

from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from decimal import Decimal
from itertools import pairwise

from goldroom.custody.records import Flush, Item, Mass
from goldroom.reports import rows
from goldroom.reports.figures import newest, versions

D2 = Decimal("1.128")
"""Mean range of two draws, in standard deviations (e-Handbook, 6.3.2.1)."""
THREE_SIGMA = 3 / D2
POINTS_LEAST = 8
G_PER_KG = Decimal(1000)


@dataclass(frozen=True, kw_only=True)
class Cleanup:
    """A load: its dry mass in kg, its flushes, and what one of them brought."""

    load: str
    at: str
    flushes: int
    dry_kg: Decimal
    kg_per_flush: Decimal
    is_outside: bool


@dataclass(frozen=True, kw_only=True)
class UnitCleanups:
    """The loads of one concentrator, or of several whose flushes were mixed.

    `centre_kg`, `low_kg` and `high_kg` are per flush; None below eight points.
    """

    units: tuple[str, ...]
    cleanups: tuple[Cleanup, ...]
    centre_kg: Decimal | None
    low_kg: Decimal | None
    high_kg: Decimal | None


def cleanups(
    ledger_id: int, *, from_at: str = "", to_at: str = ""
) -> tuple[UnitCleanups, ...]:
    """Return the loads weighed in [from_at, to_at), by concentrators.

    Limits are drawn from all loads before `to_at`, not from those shown alone.
    """
    with rows.read_together(ledger_id, Item, Flush, Mass):
        loads = [each for each in rows.every(ledger_id, Item) if each.sort == "load"]
        units = _units(rows.every(ledger_id, Flush))
        masses = newest(versions(ledger_id, Mass, loads, "masses"))
    found: dict[tuple[str, ...], list[tuple[Mass, int]]] = {}
    for load in loads:
        mass, counted = masses.get(load.item), units.get(load.item)
        if mass is None or counted is None or load.status == "void":
            continue
        if to_at and mass.at >= to_at:
            continue
        found.setdefault(tuple(sorted(counted)), []).append((mass, counted.total()))
    return tuple(
        _family(names, sorted(each, key=lambda one: one[0].at), from_at)
        for names, each in sorted(found.items())
    )


def _units(flushes: Iterable[Flush]) -> dict[str, Counter[str]]:
    """Return how many flushes of each concentrator each load is made of."""
    counted: dict[str, Counter[str]] = {}
    for flush in flushes:
        if flush.load:
            counted.setdefault(flush.load, Counter())[flush.unit] += 1
    return counted


def _family(
    units: tuple[str, ...], weighed: Sequence[tuple[Mass, int]], from_at: str
) -> UnitCleanups:
    each = [mass.dry_g / G_PER_KG / flushes for mass, flushes in weighed]
    centre, spread = centre_and_spread(each)
    low = high = None
    if centre is not None and spread is not None:
        low, high = max(Decimal(0), centre - spread), centre + spread
    return UnitCleanups(
        units=units,
        cleanups=tuple(
            Cleanup(
                load=mass.item,
                at=mass.at,
                flushes=flushes,
                dry_kg=mass.dry_g / G_PER_KG,
                kg_per_flush=value,
                is_outside=low is not None
                and high is not None
                and not low <= value <= high,
            )
            for (mass, flushes), value in zip(weighed, each, strict=True)
            if mass.at >= from_at
        ),
        centre_kg=centre,
        low_kg=low,
        high_kg=high,
    )


def centre_and_spread(
    values: Sequence[Decimal],
) -> tuple[Decimal | None, Decimal | None]:
    """Return the mean, and three sigma by the mean moving range; None below eight."""
    if len(values) < POINTS_LEAST:
        return None, None
    ranges = [abs(after - before) for before, after in pairwise(values)]
    mean_range = sum(ranges, Decimal(0)) / len(ranges)
    return sum(values, Decimal(0)) / len(values), THREE_SIGMA * mean_range
