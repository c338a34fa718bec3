"""Gold on its way through the gold room in a period, step by step, summed."""

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal

from goldroom.reconcile.amounts import Amount, sum_of
from goldroom.reconcile.network import Parcel
from goldroom.reconcile.period import PeriodReport


@dataclass(frozen=True, kw_only=True)
class Edge:
    """Gold of one role (opening, passed, closing) and sort between two steps.

    A step is "" for outside the balances. `u_g` is the standard uncertainty.
    """

    role: str
    sort: str
    from_step: str
    to_step: str
    grams: Decimal
    u_g: float


@dataclass(frozen=True, kw_only=True)
class Unaccounted:
    """A balance's unaccounted gold; None where the balance is not drawn."""

    step: str
    grams: Decimal | None
    u_g: float | None


@dataclass(frozen=True, kw_only=True)
class Flow:
    """A period's gold by edges, each balance's remainder, and what has no figure."""

    edges: tuple[Edge, ...]
    unaccounted: tuple[Unaccounted, ...]
    unmeasured: tuple[str, ...]


def flow(report: PeriodReport) -> Flow:
    """Return the period's gold, parcels of one way and sort summed."""
    ways: dict[tuple[str, str, str, str], list[Parcel]] = {}
    for each in report.parcels:
        way = (each.way.role, each.way.from_step, each.way.to_step, each.sort)
        ways.setdefault(way, []).append(each)
    edges = []
    for (role, from_step, to_step, sort), parcels in ways.items():
        gold = sum_of(_golds(parcels))
        edges.append(
            Edge(
                role=role,
                sort=sort,
                from_step=from_step,
                to_step=to_step,
                grams=gold.posted_g,
                u_g=gold.u_g,
            )
        )
    return Flow(
        edges=tuple(edges),
        unaccounted=tuple(
            Unaccounted(
                step=step,
                grams=None if left is None else left.posted_g,
                u_g=None if left is None else left.u_g,
            )
            for step, balances in report.steps.items()
            for left in [balances["gold"].unaccounted]
        ),
        unmeasured=tuple(
            dict.fromkeys(
                each.item for each in report.parcels if each.contents.gold is None
            )
        ),
    )


def _golds(parcels: Sequence[Parcel]) -> list[Amount]:
    return [each.contents.gold for each in parcels if each.contents.gold is not None]
