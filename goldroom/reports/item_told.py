"""An item as a page shows it: where it is, its figures side by side, its way in words.

Nothing is overwritten: every mass and every assay ever said of it is there, the
newest of each marked as the one that counts now.
"""

from collections.abc import Iterable
from dataclasses import dataclass

from goldroom.custody.figures import in_order
from goldroom.custody.names import sort_words
from goldroom.custody.records import Assay, Item, Mass
from goldroom.findings.runs import counted, in_words
from goldroom.reconcile.production_days import SiteClock
from goldroom.reports import rows
from goldroom.reports.figures import versions
from goldroom.reports.journal import lines_of
from goldroom.reports.metal import grams_text, mass_text, standing_text
from goldroom.reports.origins import SourceShare
from goldroom.reports.people import Names
from goldroom.reports.trail import StayLine, Trail, TrailItem
from goldroom.reports.trail_words import (
    alike,
    content_told,
    figures_told,
    metals_told,
    not_further,
    other_source,
    sources_told,
    status_told,
)

HERE = ("held", "in_charge")
"""Statuses of what lies where its last stay says; what is on its way does not."""


@dataclass(frozen=True, kw_only=True)
class StayTold:
    """A stretch of custody in words; `wall` is the site's clock, `where` both ids."""

    wall: str
    act: str
    where: str
    seals: tuple[str, ...]
    people: str
    seq: int | None


@dataclass(frozen=True, kw_only=True)
class MassTold:
    """A version of a mass, in words; `is_now` marks the one that counts."""

    net: str
    moisture: str
    dry: str
    instruments: str
    wall: str
    seq: int | None
    is_now: bool


@dataclass(frozen=True, kw_only=True)
class AssayTold:
    """A version of an assay, in words; `is_now` marks the newest."""

    gold: str
    silver: str
    standing: str
    laboratory: str
    method: str
    sample: str
    wall: str
    seq: int | None
    is_now: bool


@dataclass(frozen=True, kw_only=True)
class GroupTold:
    """Items that differ in their ids alone, told as one."""

    name: str
    items: tuple[str, ...]
    status: str
    parents: str
    figures: tuple[str, ...]
    stays: tuple[StayTold, ...]


@dataclass(frozen=True, kw_only=True)
class ShareTold:
    """An origin's share of the metal, in words."""

    group: str
    item: str
    what: str
    metals: str
    why: str


@dataclass(frozen=True, kw_only=True)
class ItemTold:
    """An item's page. `now` is its last stay; while `is_here`, it is there."""

    item: str
    label: str
    sort: str
    status: str
    is_here: bool
    now: StayTold | None
    identity: str
    estimate: tuple[str, ...]
    masses: tuple[MassTold, ...]
    assays: tuple[AssayTold, ...]
    stays: tuple[StayTold, ...]
    origin: tuple[str, ...]
    groups: tuple[ShareTold, ...]
    shares: tuple[ShareTold, ...]
    provisional: str
    back: tuple[GroupTold, ...]
    forward: tuple[GroupTold, ...]
    further: str
    behind: tuple[str, ...]
    shipments: tuple[str, ...]
    hands: str


def item_told(ledger_id: int, trail: Trail, clock: SiteClock) -> ItemTold:
    """Return what a page shows of a trail's item."""
    item = trail.item
    telling = _Telling(trail.people, clock)
    stays = telling.stays(item.stays)
    masses, assays = telling.figures(ledger_id, item)
    ahead = [each for each in trail.forward if each.is_direct]
    return ItemTold(
        item=item.item,
        label=item.label,
        sort=sort_words(item.sort),
        status=status_told(item, 1) + other_source(item),
        is_here=item.status in HERE,
        now=stays[-1] if stays else None,
        identity=trail.identity,
        estimate=tuple(_estimates(item)),
        masses=masses,
        assays=assays,
        stays=stays,
        origin=tuple(sources_told(trail)),
        groups=tuple(
            ShareTold(
                group=each.group, item="", what="", metals=metals_told(each), why=""
            )
            for each in trail.sources.groups
        ),
        shares=tuple(_share(each) for each in trail.sources.each),
        provisional=in_words(trail.sources.provisional),
        back=telling.groups(each for each in trail.back if each.is_direct),
        forward=telling.groups(ahead),
        further="" if ahead else not_further(item),
        behind=tuple(each.item for each in trail.forward if not each.is_direct),
        shipments=tuple(
            f"Shipment {each.shipment}: {each.carrier}, by {each.carrier_person}, to"
            f" {trail.people.place(each.refinery)}; {each.status.replace('_', ' ')}."
            for each in trail.shipments
        ),
        hands=trail.people.people(trail.hands),
    )


def _share(share: SourceShare) -> ShareTold:
    return ShareTold(
        group=share.group,
        item=share.item,
        what=share.what,
        metals=metals_told(share),
        why=share.why,
    )


def _estimates(item: TrailItem) -> Iterable[str]:
    """Return the newest estimate in words, if there is one."""
    found = item.estimate
    if found is None:
        return ()
    return (
        f"gold {grams_text(found.gold_g)} ± {grams_text(found.gold_u_g)} g, silver"
        f" {grams_text(found.silver_g)} ± {grams_text(found.silver_u_g)} g"
        f" ({found.method})",
    )


class _Telling:
    """Stays, figures and groups in words, for one reader's clock and names."""

    def __init__(self, people: Names, clock: SiteClock) -> None:
        self._people = people
        self._clock = clock

    def stays(self, stays: Iterable[StayLine]) -> tuple[StayTold, ...]:
        """Return stays in words; one act that says the same twice is told once."""
        return tuple(dict.fromkeys(self._stay(each) for each in stays))

    def groups(self, items: Iterable[TrailItem]) -> tuple[GroupTold, ...]:
        """Return items by likeness, in the order of the first of each."""
        return tuple(self._group(group) for group in alike(items))

    def figures(
        self, ledger_id: int, item: TrailItem
    ) -> tuple[tuple[MassTold, ...], tuple[AssayTold, ...]]:
        """Return every version of the item's mass, and of its assays."""
        record = rows.by_keys(ledger_id, Item, [item.item]).values()
        masses = in_order(versions(ledger_id, Mass, record, "masses"))
        entries = {each.entry for each in masses} | {e.entry for e in item.assays}
        seqs = {key: line.seq for key, line in lines_of(ledger_id, entries).items()}
        return (
            tuple(
                self._mass(each, seqs.get(each.entry), is_now=each is masses[-1])
                for each in masses
            ),
            tuple(
                self._assay(each, seqs.get(each.entry), is_now=each is item.assays[-1])
                for each in item.assays
            ),
        )

    def _stay(self, stay: StayLine) -> StayTold:
        place = self._people.place(stay.place) if stay.place else ""
        vessel = self._people.vessel(stay.vessel) if stay.vessel else ""
        return StayTold(
            wall=self._clock.wall_text(stay.at),
            act=stay.act,
            where=", ".join(part for part in (vessel, place) if part),
            seals=stay.seals,
            people=self._people.people(stay.hands),
            seq=stay.seq,
        )

    def _group(self, group: list[TrailItem]) -> GroupTold:
        first = group[0]
        sort = sort_words(first.sort)
        names = tuple(each.item for each in group)
        label = f" ({first.label})" if first.label else ""
        name = f"{sort} {first.item}{label}" if len(group) == 1 else ""
        return GroupTold(
            name=name or counted(names, sort),
            items=names,
            status=status_told(first, len(group)) + other_source(first),
            parents=in_words(first.parents),
            figures=tuple(figures_told(first, self._people)),
            stays=self.stays(first.stays),
        )

    def _mass(self, mass: Mass, seq: int | None, *, is_now: bool) -> MassTold:
        moist = mass.moisture_percent
        instruments = dict.fromkeys(each.instrument for each in mass.terms)
        return MassTold(
            net=mass_text(mass.net_g),
            moisture="" if moist is None else f"{moist} %",
            dry="" if moist is None else mass_text(mass.dry_g),
            instruments=", ".join(instruments),
            wall=self._clock.wall_text(mass.at),
            seq=seq,
            is_now=is_now,
        )

    def _assay(self, assay: Assay, seq: int | None, *, is_now: bool) -> AssayTold:
        return AssayTold(
            gold=content_told("", assay.gold, assay.gold_limit, assay.unit).strip(),
            silver=content_told(
                "", assay.silver, assay.silver_limit, assay.unit
            ).strip(),
            standing=standing_text(assay.standing),
            laboratory=self._people.place(assay.laboratory) if assay.laboratory else "",
            method=assay.method.replace("_", " "),
            sample=assay.sample,
            wall=self._clock.wall_text(assay.at),
            seq=seq,
            is_now=is_now,
        )
