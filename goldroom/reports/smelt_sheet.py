"""A charge from its making up to the last bar numbered and its slag weighed.

Fluxes, sources and readings are as signed; masses are as now known. Mass is not
compared across a furnace.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from goldroom.custody.records import Estimate, Item, Mass
from goldroom.errors import UnknownItem, WrongSort
from goldroom.reconcile.amounts import Amount, sum_of
from goldroom.reconcile.contents import Contents
from goldroom.reports import rows
from goldroom.reports.entry import EntryTold
from goldroom.reports.fineness import bar_fineness
from goldroom.reports.kept import worked_out
from goldroom.reports.metal import Figure, figure_of
from goldroom.reports.people import names
from goldroom.reports.plain import as_plain
from goldroom.reports.sheet_acts import (
    Permille,
    SheetAct,
    act_of,
    acts_of,
    cited_seqs,
    masses_of,
    of_kind,
    permille,
    said_in,
)
from goldroom.statements.remelt import RemeltCharged
from goldroom.statements.slag import SlagWeighed
from goldroom.statements.smelt import ChargeMadeUp, ChargePoured

MADE_UP, REMELT = "charge.made_up", "remelt.charged"
POURED, NUMBERED, SLAG = "charge.poured", "bar.numbered", "slag.weighed"


@dataclass(frozen=True, kw_only=True)
class ChargedSource:
    """What went into the charge. `dry_g` is its dry mass in grams, None if unknown.

    `gold` is what it held, as now known.
    """

    item: str
    sort: str
    label: str
    dry_g: Decimal | None
    gold: Figure


@dataclass(frozen=True, kw_only=True)
class Flux:
    """A flux added, in kilograms."""

    flux: str
    mass_kg: Decimal


@dataclass(frozen=True, kw_only=True)
class PouredBar:
    """A casting in the order poured. `stamped` and `mass_g` once it is numbered.

    `estimated_gold` is its fineness by its charge, as now known, if anything tells.
    """

    item: str
    mould: str
    stamped: str
    mass_g: Decimal | None
    estimated_gold: Permille | None


@dataclass(frozen=True, kw_only=True)
class SlagOut:
    """Slag or a skull: its mass and the gold thought to be in it, once it is told."""

    item: str
    sort: str
    mass_g: Decimal | None
    gold_g: Decimal | None
    gold_u_g: Decimal | None
    method: str


@dataclass(frozen=True, kw_only=True)
class PourSample:
    """A sample of the melt, and its mass as displayed."""

    item: str
    taken_by: str
    mass: str


@dataclass(frozen=True, kw_only=True)
class SmeltSheet:
    """One charge. `tapped_at` is as signed; "" before the pour.

    `gold_in` and `gold_out` are sums of what is now known of the sources, and of bars,
    slag, skull and samples; not known while one of them is not. `no_gold_known` names
    those, `provisional` what rests on a figure still to come.
    """

    charge: str
    furnace: str
    furnace_name: str
    crucible: str
    crucible_uses: int
    made_up_at: str
    reason: str
    sources: tuple[ChargedSource, ...]
    fluxes: tuple[Flux, ...]
    poured_at: str
    tapped_at: str
    temperature_c: Decimal | None
    bars: tuple[PouredBar, ...]
    slags: tuple[SlagOut, ...]
    samples: tuple[PourSample, ...]
    dry_charged_g: Decimal | None
    bars_g: Decimal | None
    gold_in: Figure
    gold_out: Figure
    no_gold_known: tuple[str, ...]
    provisional: tuple[str, ...]
    acts: tuple[SheetAct, ...]
    seqs: tuple[int, ...]

    def to_json(self) -> Any:
        """Return the report as plain values."""
        return as_plain(self)


def smelt_sheet(ledger_id: int, charge_id: str) -> SmeltSheet:
    """Return a charge's sheet. Raises UnknownItem and WrongSort."""
    item = rows.one(ledger_id, Item, charge_id)
    if item is None:
        raise UnknownItem(
            f"charge: no item {charge_id!r} was ever recorded. Check the charge's id."
        )
    if item.sort != "charge":
        raise WrongSort(
            f"charge: {charge_id} is a {item.sort}; expected a charge. For what became"
            " of it, ask for its trail."
        )
    made = [*item.children]
    entries = acts_of(
        ledger_id, (MADE_UP, REMELT, POURED, NUMBERED, SLAG), (charge_id, *made)
    )
    # a bar may be charged again later: only this charge's own entries belong here
    entries = tuple(
        each
        for each in entries
        if each.kind not in (MADE_UP, REMELT, POURED)
        or each.data["charge"] == charge_id
    )
    return _sheet(ledger_id, item, entries)


def _sheet(ledger_id: int, item: Item, entries: tuple[EntryTold, ...]) -> SmeltSheet:
    opening = of_kind(entries, MADE_UP, REMELT)
    if not opening:
        raise UnknownItem(
            f"charge: {item.item} was taken back; it never was made up. Look at its"
            " entry in the journal."
        )
    first = opening[0]
    said: ChargeMadeUp | RemeltCharged = (
        said_in(first, ChargeMadeUp)
        if first.kind == MADE_UP
        else said_in(first, RemeltCharged)
    )
    pour = next(iter(of_kind(entries, POURED)), None)
    poured = None if pour is None else said_in(pour, ChargePoured)
    masses = masses_of(ledger_id, (*item.parents, *item.children))
    of = worked_out(ledger_id).quantities.of
    contents = {each: of(each) for each in (*item.parents, *item.children)}
    sources = _sources(ledger_id, item.parents, masses, contents)
    out = () if poured is None else item.children
    both = (*item.parents, *out)
    bars = () if poured is None else _bars(ledger_id, poured, entries, masses)
    return SmeltSheet(
        charge=item.item,
        furnace=said.furnace,
        furnace_name=names(ledger_id).vessel(said.furnace),
        crucible=said.crucible,
        crucible_uses=said.crucible_uses,
        made_up_at=first.occurred_wall,
        reason=said.reason if isinstance(said, RemeltCharged) else "",
        sources=sources,
        fluxes=tuple(Flux(flux=e.flux, mass_kg=e.mass_kg) for e in said.fluxes),
        poured_at="" if pour is None else pour.occurred_wall,
        tapped_at=_tapped(poured),
        temperature_c=None if poured is None else poured.temperature_c,
        bars=bars,
        slags=() if poured is None else _slags(ledger_id, poured, entries, masses),
        samples=() if poured is None else _samples(poured),
        dry_charged_g=_sum_g([each.dry_g for each in sources]),
        bars_g=_sum_g([each.mass_g for each in bars]),
        gold_in=_together([contents[each].gold for each in item.parents]),
        gold_out=_together([contents[each].gold for each in out]),
        no_gold_known=tuple(e for e in both if contents[e].gold is None),
        provisional=tuple(e for e in both if contents[e].is_provisional),
        acts=tuple(act_of(each) for each in entries),
        seqs=cited_seqs(entries),
    )


def _tapped(poured: ChargePoured | None) -> str:
    if poured is None or poured.tapped_at is None:
        return ""
    return f"{poured.tapped_at:%Y-%m-%d %H:%M}"


def _sum_g(grams: Sequence[Decimal | None]) -> Decimal | None:
    """Return the sum, or None if one of them is not known or there is none."""
    known = [each for each in grams if each is not None]
    return sum(known, Decimal(0)) if known and len(known) == len(grams) else None


def _together(golds: Sequence[Amount | None]) -> Figure:
    """Return the sum; not known if one of them is not known or there is none."""
    known = [each for each in golds if each is not None]
    return figure_of(sum_of(known) if known and len(known) == len(golds) else None)


def _sources(
    ledger_id: int,
    item_ids: Sequence[str],
    masses: dict[str, Mass],
    contents: dict[str, Contents],
) -> tuple[ChargedSource, ...]:
    items = rows.by_keys(ledger_id, Item, item_ids)
    return tuple(
        ChargedSource(
            item=each,
            sort=items[each].sort,
            label=items[each].label,
            dry_g=masses[each].dry_g if each in masses else None,
            gold=figure_of(contents[each].gold),
        )
        for each in item_ids
    )


def _bars(
    ledger_id: int,
    poured: ChargePoured,
    entries: Sequence[EntryTold],
    masses: dict[str, Mass],
) -> tuple[PouredBar, ...]:
    stamped = {
        each.data["item"]: each.data["stamped"] for each in of_kind(entries, NUMBERED)
    }
    found = []
    for row in poured.castings:
        by_charge = bar_fineness(ledger_id, row.item).by_charge
        gold = None if by_charge is None else by_charge.gold_permille
        found.append(
            PouredBar(
                item=row.item,
                mould=row.mould,
                stamped=stamped.get(row.item, ""),
                mass_g=masses[row.item].net_g if row.item in masses else None,
                estimated_gold=None if gold is None else permille(gold.value, gold.u),
            )
        )
    return tuple(found)


def _slags(
    ledger_id: int,
    poured: ChargePoured,
    entries: Sequence[EntryTold],
    masses: dict[str, Mass],
) -> tuple[SlagOut, ...]:
    methods = {
        said.item: said.method
        for said in (said_in(each, SlagWeighed) for each in of_kind(entries, SLAG))
    }
    told: dict[str, Estimate] = {}
    for each in rows.every(ledger_id, Estimate):
        told[each.item] = each
    return tuple(
        SlagOut(
            item=name,
            sort=sort,
            mass_g=masses[name].net_g if name in masses else None,
            gold_g=told[name].gold_g if name in told else None,
            gold_u_g=told[name].gold_u_g if name in told else None,
            method=methods.get(name, ""),
        )
        for name, sort in ((poured.slag, "slag"), (poured.skull, "skull"))
        if name is not None
    )


def _samples(poured: ChargePoured) -> tuple[PourSample, ...]:
    return tuple(
        PourSample(item=each.item, taken_by=each.taken_by, mass=str(each.mass))
        for each in poured.samples
    )
