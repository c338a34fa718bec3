"""The solution call: what a cell should hold by flow x assay, against its sludge.

    called  = heel taken up + sum(litres x mg/L put in) - sum(litres x mg/L drawn off)
    found   = sludge, dried and assayed, + heel left on the cathodes
    missing = called - found

positive when metal is missing, with the errors of both sides. While a solution or a
sludge has no result the call is pending: nothing is found yet, and nothing missing.

What the current could have plated is a ceiling (Faraday's law), never an estimate: of
gold's current commonly under 10 % plates metal (common practice, no source).
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal

from goldroom.custody.cells import CellLoad, CellRun
from goldroom.custody.records import Item
from goldroom.metal.leach import current_efficiency_percent
from goldroom.metal.rounding import to_milligram
from goldroom.reconcile.amounts import Amount, decimal_text, sum_of
from goldroom.reconcile.contents import Contents
from goldroom.reconcile.priors import Quantities
from goldroom.reconcile.quantities import METALS


@dataclass(frozen=True, slots=True)
class Side:
    """Gold and silver on one side of a call; None where nothing tells yet."""

    gold: Amount | None
    silver: Amount | None

    def amount(self, metal: str) -> Amount | None:
        """Return the amount of gold or silver."""
        return self.gold if metal == "gold" else self.silver


@dataclass(frozen=True, slots=True)
class SolutionCall:
    """One load of a cell: called and found, what is pending, what its current did.

    `plated` leaves out the heel taken up, which an earlier current had plated.
    `found_in` are sludges and heel; `waiting` names the items that have no result, and
    `is_provisional` says that a figure is expected to change. `charge_ah` is None where
    a run's current is not known.
    """

    load: CellLoad
    source: str
    called: Side
    found: Side
    plated: Side
    found_in: tuple[Contents, ...]
    waiting: tuple[str, ...]
    is_provisional: bool
    charge_ah: Decimal | None

    def missing(self, metal: str) -> Amount | None:
        """Return called less found; None before all of it is known."""
        called, found = self.called.amount(metal), self.found.amount(metal)
        return None if called is None or found is None else called - found

    def percent(self, metal: str) -> float | None:
        """Return what is missing as per cent of the call; None where there is none."""
        called, missing = self.called.amount(metal), self.missing(metal)
        if called is None or missing is None or called.posted_g <= 0:
            return None
        return 100 * float(missing.posted_g / called.posted_g)

    @property
    def efficiency_percent(self) -> float | None:
        """Return the share of the charge that plated gold and silver, by the call."""
        gold, silver = self.plated.gold, self.plated.silver
        if not self.charge_ah or gold is None or silver is None:
            return None
        return current_efficiency_percent(
            gold_g=float(gold.posted_g),
            silver_g=float(silver.posted_g),
            charge_ah=float(self.charge_ah),
        )

    def to_json(self) -> dict[str, object]:
        """Return the call with its figures as decimal text; null where not known."""
        efficiency = self.efficiency_percent
        return {
            "load": self.load.load,
            "cell": self.load.cell,
            "source": self.source,
            "started_at": self.load.started_at,
            "cleaned_at": self.load.cleaned_at or None,
            "runs": len(self.load.runs),
            "cathodes": self.load.cathodes,
            "metals": {metal: self._metal_json(metal) for metal in METALS},
            "found_in": [_found_json(each) for each in self.found_in],
            "waiting": list(self.waiting),
            "provisional": self.is_provisional,
            "charge_ah": None if self.charge_ah is None else str(self.charge_ah),
            "current_efficiency_percent": (
                None if efficiency is None else decimal_text(efficiency)
            ),
        }

    def _metal_json(self, metal: str) -> dict[str, object]:
        missing, percent = self.missing(metal), self.percent(metal)
        z = None if missing is None else missing.z
        return {
            "called": _grams(self.called.amount(metal)),
            "called_u": _u(self.called.amount(metal)),
            "found": _grams(self.found.amount(metal)),
            "found_u": _u(self.found.amount(metal)),
            "missing": _grams(missing),
            "u": _u(missing),
            "z": None if z is None else decimal_text(z),
            "percent": None if percent is None else decimal_text(percent),
        }


def solution_calls(
    quantities: Quantities, loads: Iterable[CellLoad], runs: Iterable[CellRun] = ()
) -> tuple[SolutionCall, ...]:
    """Return the call of each load known, in order of cleanup, open loads last.

    Of several versions of a run the newest counts; without `runs` no current is known.
    """
    newest: dict[str, CellRun] = {}
    for run in sorted(runs, key=lambda each: each.version):
        newest[run.run] = run
    known = [each for each in loads if each.load in quantities.data.items]
    known.sort(key=lambda each: (not each.cleaned_at, each.cleaned_at, each.load))
    return tuple(_call_of(quantities, each, newest) for each in known)


def _call_of(
    quantities: Quantities, load: CellLoad, runs: Mapping[str, CellRun]
) -> SolutionCall:
    items = quantities.data.items
    held = items[load.load]
    put_in = [quantities.of(each) for each in held.parents if each in items]
    drawn = [quantities.whole(each) for each in held.drawn if each in items]
    came_out = [quantities.of(each, drawn=0) for each in _made_at_end(items, held)]
    heels = [each for each in put_in if items[each.item].sort == "heel"]
    parts = [*put_in, *drawn, *came_out]
    waiting = tuple(each.item for each in parts if each.is_pending)
    called = _side([quantities.of(load.load)])
    is_known = bool(load.cleaned_in) and not waiting
    return SolutionCall(
        load=load,
        source=held.source,
        called=called,
        found=_side(came_out) if is_known else Side(None, None),
        plated=_less(called, _side(heels)),
        found_in=tuple(came_out),
        waiting=waiting,
        is_provisional=any(each.is_provisional for each in parts),
        charge_ah=_charge(load, runs),
    )


def _made_at_end(items: Mapping[str, Item], load: Item) -> list[str]:
    """Return what the cleanup made of a load: its children not drawn off it."""
    return [
        each
        for each in load.children
        if each in items and items[each].drawn_from != load.item
    ]


def _charge(load: CellLoad, runs: Mapping[str, CellRun]) -> Decimal | None:
    """Return the ampere-hours of all runs; None if one of them is not known."""
    charges = [runs[each].charge_ah if each in runs else None for each in load.runs]
    known = [each for each in charges if each is not None]
    return sum(known, Decimal(0)) if charges and len(known) == len(charges) else None


def _side(contents: Sequence[Contents]) -> Side:
    """Return the metal of several things together; None if one is not known."""
    gold, silver = (_sum(contents, metal) for metal in METALS)
    return Side(gold, silver)


def _sum(contents: Sequence[Contents], metal: str) -> Amount | None:
    amounts = [each.amount(metal) for each in contents]
    known = [each for each in amounts if each is not None]
    return sum_of(known) if len(known) == len(amounts) else None


def _less(side: Side, other: Side) -> Side:
    gold, silver = (
        None if a is None or b is None else a - b
        for a, b in ((side.gold, other.gold), (side.silver, other.silver))
    )
    return Side(gold, silver)


def _found_json(contents: Contents) -> dict[str, object]:
    return {
        "item": contents.item,
        "how": contents.how,
        "gold": None if contents.is_pending else _grams(contents.gold),
        "silver": None if contents.is_pending else _grams(contents.silver),
        "dry_mass": _grams(contents.dry_mass),
    }


def _grams(amount: Amount | None) -> str | None:
    return None if amount is None else format(to_milligram(amount.posted_g), "f")


def _u(amount: Amount | None) -> str | None:
    return None if amount is None else decimal_text(amount.u_g)
