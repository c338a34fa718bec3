"""A bar whole: number, masses, every assay side by side, fine metal, where from.

Figures are as now known. Fine gold is the shipping mass times the fineness that the
balances use, over 1000, exactly; a bar without an assay has no fine gold, only what
its charge makes likely. Whose figure an assay is stands beside it.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from goldroom.custody.moves import HELD
from goldroom.custody.number_series import NumberSeries
from goldroom.custody.numbers import is_whole, series_of
from goldroom.custody.records import Assay, Item, Mass
from goldroom.errors import WrongSort
from goldroom.metal.uncertainty import exact
from goldroom.reconcile.amounts import Amount, shown_u
from goldroom.reconcile.priors import Quantities
from goldroom.reconcile.quantities import dry_amount, metal_amount, used_assay
from goldroom.reports import rows
from goldroom.reports.entry import EntryTold, entries_told
from goldroom.reports.fineness import KILOGRAM, bar_fineness
from goldroom.reports.journal import Line, lines_of
from goldroom.reports.kept import worked_out
from goldroom.reports.metal import site_clock, standing_text
from goldroom.reports.origins import Sources
from goldroom.reports.people import Names
from goldroom.reports.plain import as_plain
from goldroom.reports.sheet_acts import (
    Permille,
    SheetAct,
    act_of,
    acts_of,
    cited_seqs,
    permille,
)
from goldroom.reports.trail import Trail, trail
from goldroom.reports.trail_words import status_told

POURED, NUMBERED, REWEIGHED = "charge.poured", "bar.numbered", "bar.reweighed"
KINDS = (POURED, NUMBERED, REWEIGHED, "bar.density_measured", "remelt.charged")
THOUSAND = Decimal(1000)
NO_SERIES = "No series of bar numbers was in force: the number proves nothing itself."
NO_CHECK = "Its series has no check character: read the number off the bar twice."
HOLDS = (
    "Its last character is its check character (ISO/IEC 7064, MOD 37,36), and holds."
)
BROKEN = "Its check character does not hold: read the number off the bar again."


@dataclass(frozen=True, kw_only=True)
class BarMass:
    """A weighing, grams net; `u_g` is the standard uncertainty as shown.

    `said` is what the act is called; `at` the site's wall clock; `seq` its entry.
    """

    mass_g: Decimal
    u_g: str
    said: str
    at: str
    seq: int | None


@dataclass(frozen=True, kw_only=True)
class BarAssay:
    """A result in parts per thousand, as reported; uncertainties as shown.

    A limit stands where the content lies below it (None if it does not). `is_used`
    says that the balances go by this one.
    """

    sample: str
    standing: str
    laboratory: str
    method: str
    gold_permille: Decimal
    gold_u_permille: str
    gold_limit: Decimal | None
    silver_permille: Decimal
    silver_u_permille: str
    silver_limit: Decimal | None
    determinations: int
    is_used: bool
    at: str
    seq: int | None


@dataclass(frozen=True, kw_only=True)
class BarWhere:
    """Where the bar is, or was last: since when, under which seals, by which act."""

    place: str
    vessel: str
    seals: tuple[str, ...]
    since: str
    said: str
    hands: tuple[str, ...]
    seq: int | None


@dataclass(frozen=True, kw_only=True)
class BarReport:
    """One bar. `shipping_mass_g` is the newest of `masses`, None before any.

    `fine_gold_g` and `fine_silver_g` are exact products, None without a usable assay;
    `by_charge_gold` and `by_charge_silver` are what its charge makes likely.
    """

    item: str
    stamped: str
    number_check: str
    status: str
    masses: tuple[BarMass, ...]
    shipping_mass_g: Decimal | None
    assays: tuple[BarAssay, ...]
    by_charge_gold: Permille | None
    by_charge_silver: Permille | None
    fine_gold_g: Decimal | None
    fine_silver_g: Decimal | None
    questions: tuple[str, ...]
    charge: tuple[str, ...]
    flushes: tuple[str, ...]
    sources: Sources
    identity: str
    where: BarWhere | None
    acts: tuple[SheetAct, ...]
    seqs: tuple[int, ...]

    @property
    def used(self) -> BarAssay | None:
        """Return the assay that the balances go by, or None."""
        return next((each for each in self.assays if each.is_used), None)

    def to_json(self) -> Any:
        """Return the report as plain values."""
        return as_plain(self)


def bar_report(ledger_id: int, bar_or_number: str) -> BarReport:
    """Return a bar by its id or its stamped number.

    Raises UnknownItem, SeveralBars and WrongSort.
    """
    way = trail(ledger_id, bar_or_number)
    if way.item.sort != "bar":
        raise WrongSort(
            f"item: {way.item.item} is a {way.item.sort.replace('_', ' ')}, not a bar."
            " Name a bar, or ask for the trail of this.",
            field="item",
        )
    return _report(ledger_id, way)


def bars_on_hand(ledger_id: int) -> tuple[BarReport, ...]:
    """Return the bars that the vault's balance holds, in the order of their ids."""
    held = rows.every(ledger_id, Item, *HELD)
    return tuple(
        bar_report(ledger_id, each.item)
        for each in held
        if each.sort == "bar" and each.step == "vault"
    )


def _report(ledger_id: int, way: Trail) -> BarReport:
    bar, quantities = way.item.item, worked_out(ledger_id).quantities
    of_bar = quantities.data.masses.get(bar, ())
    results = [each for each in way.item.assays if each.unit == "permille"]
    cited = {each.entry for each in of_bar} | {each.entry for each in results}
    lines = lines_of(ledger_id, cited)
    masses = tuple(
        _mass(each, quantities, lines.get(each.entry), ledger_id) for each in of_bar
    )
    shipping_g = masses[-1].mass_g if masses else None
    used = used_assay(results, is_melt=False)
    assays = _assays(ledger_id, results, used, way.people, lines)
    told = bar_fineness(ledger_id, bar)
    charge = told.by_charge
    entries = _entries(ledger_id, bar, lines.values())
    return BarReport(
        item=bar,
        stamped=way.item.label if masses else "",
        number_check=_number_check(ledger_id, way, of_bar),
        status=status_told(way.item, 1),
        masses=masses,
        shipping_mass_g=shipping_g,
        assays=assays,
        by_charge_gold=None
        if charge is None
        else permille(charge.gold_permille.value, charge.gold_permille.u),
        by_charge_silver=None
        if charge is None
        else permille(charge.silver_permille.value, charge.silver_permille.u),
        fine_gold_g=_fine_g(shipping_g, used, "gold"),
        fine_silver_g=_fine_g(shipping_g, used, "silver"),
        questions=told.questions,
        charge=way.item.parents,
        flushes=way.flushes,
        sources=way.sources,
        identity=way.identity,
        where=_where(ledger_id, way),
        acts=tuple(act_of(each) for each in entries),
        seqs=cited_seqs(entries),
    )


def _mass(
    mass: Mass, quantities: Quantities, line: Line | None, ledger_id: int
) -> BarMass:
    weighed = dry_amount(mass, quantities.data, quantities.dated_budget)
    return BarMass(
        mass_g=mass.net_g,
        u_g=shown_u(weighed.u_g),
        said="" if line is None else line.title,
        at=site_clock(ledger_id).wall_text(mass.at),
        seq=None if line is None else line.seq,
    )


def _assays(
    ledger_id: int,
    results: Iterable[Assay],
    used: Assay | None,
    people: Names,
    lines: dict[str, Line],
) -> tuple[BarAssay, ...]:
    quantities, clock = worked_out(ledger_id).quantities, site_clock(ledger_id)
    return tuple(
        BarAssay(
            sample=each.sample,
            standing=standing_text(each.standing),
            laboratory=people.place(each.laboratory),
            method=each.method.replace("_", " "),
            gold_permille=each.gold,
            gold_u_permille=_u(quantities, each, "gold"),
            gold_limit=each.gold_limit,
            silver_permille=each.silver,
            silver_u_permille=_u(quantities, each, "silver"),
            silver_limit=each.silver_limit,
            determinations=each.gold_determinations,
            is_used=used is not None and each.version == used.version,
            at=clock.wall_text(each.at),
            seq=lines[each.entry].seq if each.entry in lines else None,
        )
        for each in results
    )


def _u(quantities: Quantities, assay: Assay, metal: str) -> str:
    """Return a result's standard uncertainty in parts per thousand, as shown."""
    kilogram = Amount(KILOGRAM, exact(KILOGRAM))
    budget = quantities.dated_budget
    return shown_u(metal_amount(kilogram, assay, metal, budget=budget).u_g)


def _fine_g(mass_g: Decimal | None, used: Assay | None, metal: str) -> Decimal | None:
    """Return mass times fineness over 1000; None where the result is only a limit."""
    if mass_g is None or used is None:
        return None
    content: Decimal = getattr(used, metal)
    is_limit = getattr(used, f"{metal}_limit") is not None
    return None if is_limit else mass_g * content / THOUSAND


def _number_check(ledger_id: int, way: Trail, masses: Iterable[Mass]) -> str:
    """Return what the stamped number says of itself, in a sentence."""
    at = next((each.at for each in masses), "")
    if not at:
        return "It was not numbered yet."
    known = rows.one(ledger_id, NumberSeries, "bar")
    series = series_of(known, way.item.label, at)
    if series is None:
        return NO_SERIES
    if not series.with_check:
        return NO_CHECK
    return HOLDS if is_whole(series, way.item.label) else BROKEN


def _where(ledger_id: int, way: Trail) -> BarWhere | None:
    if not way.item.stays:
        return None
    last, people = way.item.stays[-1], way.people
    return BarWhere(
        place=people.place(last.place) if last.place else "",
        vessel=people.vessel(last.vessel) if last.vessel else "",
        seals=last.seals,
        since=site_clock(ledger_id).wall_text(last.at),
        said=last.act,
        hands=tuple(people.person(each) for each in last.hands),
        seq=last.seq,
    )


def _entries(ledger_id: int, bar: str, lines: Iterable[Line]) -> tuple[EntryTold, ...]:
    """Return the entries that the bar's figures rest on, in their order."""
    found = {each.seq: each for each in acts_of(ledger_id, KINDS, (bar,))}
    missing = {line.seq for line in lines} - found.keys()
    found |= entries_told(ledger_id, missing)
    return tuple(found[seq] for seq in sorted(found))
