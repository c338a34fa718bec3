"""One leach batch: what went in, what came out, and what that says of the leach.

    head, assayed      solids charged, by their own weighings and assays
    dissolved          solutions drained and samples of them, less solution used again
    head, calculated   dissolved, and what the residue held
    recovery           dissolved as a share of the calculated head
    accountability     calculated head as a share of the assayed one

While the batch runs, what is left in its vessel is known by difference; when its
residue is out, the same difference is unaccounted metal. Recovery and accountability
wait for the residue.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from goldroom.custody.leach import LeachBatch, LeachReading, LeachReagent
from goldroom.custody.records import Item
from goldroom.errors import ItemNotHeld, UnknownItem, WrongSort
from goldroom.metal.leach import least_cyanide_g
from goldroom.metal.leach_balance import (
    accountability_percent,
    calculated_head,
    recovery_percent,
)
from goldroom.metal.uncertainty import Measured
from goldroom.reconcile.amounts import (
    Amount,
    decimal_text,
    shown_u,
    shown_value,
)
from goldroom.reconcile.contents import Contents
from goldroom.reconcile.leach_account import Account
from goldroom.reconcile.quantities import METALS
from goldroom.reports import rows
from goldroom.reports.kept import worked_out
from goldroom.reports.metal import Figure, figure_of
from goldroom.reports.plain import as_plain

CYANIDE = "cyanide"
"""What a reagent's name says when it is one."""


@dataclass(frozen=True, kw_only=True)
class LeachPart:
    """Something that went into a batch or came out of it, whole, with its metal.

    `litres` is the volume of a solution, None of solids; `said` explains a figure that
    stands in for one to come.
    """

    item: str
    sort: str
    label: str
    status: str
    at: str
    gold: Figure
    silver: Figure
    dry_mass: Figure
    litres: str | None
    how: str
    is_provisional: bool
    said: str


@dataclass(frozen=True, kw_only=True)
class Percent:
    """A share with its standard uncertainty, per cent; texts."""

    percent: str
    u: str
    shown: str

    def __str__(self) -> str:
        """Return the share as shown: "97.49 ± 0.21 %"."""
        return self.shown


@dataclass(frozen=True, kw_only=True)
class LeachMetal:
    """One metal's account; percentages are None until the residue is out.

    `left` is in the vessel by difference while the batch runs, and unaccounted
    (expected minus counted) when it ended.
    """

    metal: str
    charged: Figure
    assayed_head: Figure
    dissolved: Figure
    residue: Figure
    left: Figure
    calculated_head: Figure
    recovery: Percent | None
    accountability: Percent | None


@dataclass(frozen=True, kw_only=True)
class ReadingLine:
    """Alkalinity, oxygen and free cyanide (as NaCN) at a time."""

    at: str
    ph: Decimal
    oxygen_mg_l: Decimal | None
    cyanide_mg_l: Decimal | None
    cyanide_by: str


@dataclass(frozen=True, kw_only=True)
class ReagentLine:
    """All of one reagent that was issued."""

    reagent: str
    mass_kg: Decimal


@dataclass(frozen=True, kw_only=True)
class LeachReport:
    """A batch's account.

    `least_cyanide_kg` is what the metal dissolved takes by Elsner's equation;
    `waiting` names what has no result yet.
    """

    batch: str
    vessel: str
    status: str
    source: str
    charged_at: str
    ended_at: str
    target_ph: Decimal
    charged: tuple[LeachPart, ...]
    solutions: tuple[LeachPart, ...]
    samples: tuple[LeachPart, ...]
    residues: tuple[LeachPart, ...]
    dry_charged: Figure
    dry_residue: Figure
    metals: tuple[LeachMetal, ...]
    readings: tuple[ReadingLine, ...]
    reagents: tuple[ReagentLine, ...]
    cyanide_issued_kg: Decimal
    least_cyanide_kg: str | None
    is_provisional: bool
    waiting: tuple[str, ...]

    @property
    def has_ended(self) -> bool:
        """Return whether the batch's residue is out."""
        return bool(self.ended_at)

    def to_json(self) -> Any:
        """Return the report as plain values."""
        return as_plain(self)


def leach_report(ledger_id: int, batch_id: str) -> LeachReport:
    """Return a batch's account. Raises UnknownItem, WrongSort and ItemNotHeld."""
    item = rows.one(ledger_id, Item, batch_id)
    batch = rows.one(ledger_id, LeachBatch, batch_id)
    if item is None:
        raise UnknownItem(
            f"batch: no item {batch_id!r} was ever recorded. Check the batch's id."
        )
    if item.sort != "leach_batch":
        raise WrongSort(
            f"batch: {batch_id} is a {item.sort}; expected a leach batch. For what"
            " became of it, ask for its trail."
        )
    if batch is None:
        raise ItemNotHeld(f"batch: {batch_id} was taken back; it never was charged.")
    readings = _latest(
        (
            each
            for each in rows.every(ledger_id, LeachReading)
            if each.batch == batch_id
        ),
        lambda each: each.measured_in,
    )
    reagents = _latest(
        (
            each
            for each in rows.every(ledger_id, LeachReagent)
            if each.batch == batch_id
        ),
        lambda each: (each.measured_in, each.row),
    )
    account = Account.of(worked_out(ledger_id).quantities, item)
    return _report(account, batch, readings, reagents)


def _latest(records: Iterable[Any], what: Any) -> list[Any]:
    """Return the last version of each figure, in order of time."""
    found: dict[Any, Any] = {}
    for each in sorted(records, key=lambda each: each.version):
        found[what(each)] = each
    return sorted(found.values(), key=lambda each: (each.at, each.key))


def _report(
    account: Account,
    batch: LeachBatch,
    readings: Sequence[LeachReading],
    reagents: Sequence[LeachReagent],
) -> LeachReport:
    dissolved = {metal: account.dissolved(metal) for metal in METALS}
    unsure = {k: each for k, each in account.parts.items() if each.is_provisional}
    return LeachReport(
        batch=batch.batch,
        vessel=batch.vessel,
        status=batch.status,
        source=account.batch.source,
        charged_at=account.batch.held_from,
        ended_at=account.batch.held_until,
        target_ph=batch.target_ph,
        charged=_parts(account, {**account.solids, **account.used_again}),
        solutions=_parts(account, account.solutions),
        samples=_parts(account, account.samples),
        residues=_parts(account, account.residues),
        dry_charged=figure_of(account.sum(account.solids, "dry_mass")),
        dry_residue=figure_of(account.sum(account.residues, "dry_mass")),
        metals=tuple(_metal(account, metal) for metal in METALS),
        readings=tuple(
            ReadingLine(
                at=each.at,
                ph=each.ph,
                oxygen_mg_l=each.oxygen_mg_l,
                cyanide_mg_l=each.cyanide_mg_l,
                cyanide_by=each.cyanide_by,
            )
            for each in readings
        ),
        reagents=_totals(reagents),
        cyanide_issued_kg=sum(
            (each.mass_kg for each in reagents if CYANIDE in each.reagent.casefold()),
            Decimal(0),
        ),
        least_cyanide_kg=_least_cyanide_kg(dissolved),
        is_provisional=bool(unsure),
        waiting=tuple(sorted(k for k, each in unsure.items() if each.is_pending)),
    )


def _parts(account: Account, parts: Mapping[str, Contents]) -> tuple[LeachPart, ...]:
    items = account.quantities.data.items
    return tuple(
        LeachPart(
            item=name,
            sort=items[name].sort,
            label=items[name].label,
            status=items[name].status,
            at=items[name].held_from,
            gold=figure_of(each.gold),
            silver=figure_of(each.silver),
            dry_mass=figure_of(each.dry_mass),
            litres=None if each.litres is None else format(each.litres.posted_g, "f"),
            how=each.how,
            is_provisional=each.is_provisional,
            said=each.said,
        )
        for name, each in parts.items()
    )


def _metal(account: Account, metal: str) -> LeachMetal:
    solids = account.sum(account.solids, metal)
    charged = account.sum({**account.solids, **account.used_again}, metal)
    dissolved, residue = account.dissolved(metal), account.sum(account.residues, metal)
    head = recovery = accounted = None
    if account.residues and dissolved is not None and residue is not None:
        head = dissolved + residue
        recovery, accounted = _percents(dissolved, residue, solids)
    return LeachMetal(
        metal=metal,
        charged=figure_of(charged),
        assayed_head=figure_of(solids),
        dissolved=figure_of(dissolved),
        residue=figure_of(residue if account.residues else None),
        left=figure_of(account.missing(metal)),
        calculated_head=figure_of(head),
        recovery=recovery,
        accountability=accounted,
    )


def _percents(
    dissolved: Amount, residue: Amount, solids: Amount | None
) -> tuple[Percent | None, Percent | None]:
    """Return recovery and accountability; None where there is nothing to share."""
    solution, rest = dissolved.measured, residue.measured
    head = calculated_head(solution=solution, residue=rest)
    if head.value <= 0:
        return None, None
    recovery = _percent(recovery_percent(solution=solution, residue=rest))
    if solids is None or solids.posted_g <= 0:
        return recovery, None
    share = accountability_percent(calculated=head, assayed=solids.measured)
    return recovery, _percent(share)


def _percent(share: Measured) -> Percent:
    value = Decimal(decimal_text(share.value))
    return Percent(
        percent=format(value, "f"),
        u=decimal_text(share.u),
        shown=f"{shown_value(value, share.u)} ± {shown_u(share.u)} %",
    )


def _totals(reagents: Iterable[LeachReagent]) -> tuple[ReagentLine, ...]:
    """Return how much of each reagent was issued, in the order of first issue."""
    totals: dict[str, Decimal] = {}
    names: dict[str, str] = {}
    for each in reagents:
        name = " ".join(each.reagent.split()).casefold()
        names.setdefault(name, each.reagent)
        totals[name] = totals.get(name, Decimal(0)) + each.mass_kg
    return tuple(
        ReagentLine(reagent=names[name], mass_kg=mass_kg)
        for name, mass_kg in totals.items()
    )


def _least_cyanide_kg(dissolved: Mapping[str, Amount | None]) -> str | None:
    """Return what the metal dissolved takes at least, as sodium cyanide."""
    gold, silver = dissolved["gold"], dissolved["silver"]
    if gold is None or silver is None:
        return None
    grams = least_cyanide_g(
        gold_g=float(gold.posted_g), silver_g=float(silver.posted_g)
    )
    return decimal_text(grams / 1000)
