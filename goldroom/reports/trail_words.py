"""A trail in plain words: many like items said as one, every stay on its own line."""

from collections.abc import Iterable, Iterator
from decimal import Decimal

from goldroom.custody.figures import WET
from goldroom.custody.records import Assay, Shipment
from goldroom.findings.runs import counted, in_words, plural
from goldroom.reconcile.production_days import SiteClock
from goldroom.reports.metal import grams_text, mass_text, standing_text
from goldroom.reports.origins import GroupShare, Sources, SourceShare
from goldroom.reports.people import Names
from goldroom.reports.trail import StayLine, Trail, TrailItem

UNITS = {"permille": "‰", "gpt": "g/t", "percent": "%", "mg_l": "mg/L"}
STATUS_WORDS = {
    "held": "in the room's care",
    "in_charge": "in a charge",
    "in_transit": "on its way to the refinery",
    "consumed": "used up",
    "left": "gone from the site's care",
    "void": "taken back",
    "expected": "counted by the plant, not yet signed for",
}


def text_of(trail: Trail, clock: SiteClock) -> str:
    """Return the trail for reading; times are the site's."""
    told = _Telling(trail, clock)
    return "\n".join(told.lines())


class _Telling:
    """One telling of one trail."""

    def __init__(self, trail: Trail, clock: SiteClock) -> None:
        self._trail = trail
        self._clock = clock

    def lines(self) -> Iterator[str]:
        """Yield the lines: the item, where from, what became of it, who and where."""
        trail = self._trail
        yield from self._group([trail.item])
        yield ""
        yield from sources_told(trail)
        yield from _shares(trail.sources)
        yield trail.identity
        direct = [each for each in trail.back if each.is_direct]
        if direct:
            yield from ("", "Where it comes from, the first source first:")
            yield from self._groups(direct)
        ahead = [each for each in trail.forward if each.is_direct]
        yield from ("", "What became of it:" if ahead else not_further(trail.item))
        yield from self._groups(ahead)
        behind = [each for each in trail.forward if not each.is_direct]
        if behind:
            yield f"  and through these, further: {_by_sort(behind)}"
        for shipment in trail.shipments:
            yield self._shipment(shipment)
        yield ""
        yield f"Hands: {trail.people.people(trail.hands) or 'none'}."
        yield f"Times are the site's ({self._clock.zone})."

    def _groups(self, items: Iterable[TrailItem]) -> Iterator[str]:
        for group in alike(items):
            yield ""
            yield from self._group(group)

    def _group(self, group: list[TrailItem]) -> Iterator[str]:
        first = group[0]
        if len(group) == 1:
            label = f" ({first.label})" if first.label else ""
            name = f"{_words(first.sort).capitalize()} {first.item}{label}"
        else:
            name = counted((each.item for each in group), _words(first.sort))
        yield f"{name}: {status_told(first, len(group))}{other_source(first)}"
        if first.parents:
            yield f"    from {in_words(first.parents)}"
        people = self._trail.people
        yield from (f"    {figure}" for figure in figures_told(first, people))
        # One act may move an item twice and leave it where it says the same.
        stays = dict.fromkeys(self._stay(stay) for stay in first.stays)
        yield from (f"    {stay}" for stay in stays)

    def _stay(self, stay: StayLine) -> str:
        people = self._trail.people
        where = people.place(stay.place) if stay.place else ""
        if stay.vessel:
            where = ", ".join(
                part for part in (people.vessel(stay.vessel), where) if part
            )
            where += (
                f", sealed {', '.join(stay.seals)}" if stay.seals else ", not sealed"
            )
        entry = "?" if stay.seq is None else str(stay.seq)
        return (
            f"{self._clock.wall_text(stay.at)}  {stay.act}: {where or 'no place said'};"
            f" {people.people(stay.hands)} (entry {entry})"
        )

    def _shipment(self, shipment: Shipment) -> str:
        refinery = self._trail.people.place(shipment.refinery)
        return (
            f"  Shipment {shipment.shipment}: {shipment.carrier}, by"
            f" {shipment.carrier_person}, to {refinery};"
            f" {shipment.status.replace('_', ' ')}."
        )


def alike(items: Iterable[TrailItem]) -> list[list[TrailItem]]:
    """Return items in groups that differ in their ids alone, in order of the first."""
    groups: dict[tuple[object, ...], list[TrailItem]] = {}
    for each in items:
        has_figures = each.mass or each.assays or each.estimate or each.label
        own = each.item if has_figures else ""
        same = (each.sort, each.status, each.source, each.parents, each.stays, own)
        groups.setdefault(same, []).append(each)
    return list(groups.values())


def sources_told(trail: Trail) -> Iterator[str]:
    """Yield what the item comes from in short: flushes, opening stock, other metal."""
    if trail.item.sort == "flush":
        return
    if trail.flushes:
        yield f"It comes from {counted(trail.flushes, 'flush')}."
    else:
        yield "It comes from no flush that is on record."
    direct = [each for each in trail.back if each.is_direct]
    roots = [each for each in direct if not each.parents and each.sort != "flush"]
    if roots:
        yield f"Also from metal that came onto the record as it was: {_by_sort(roots)}."
    returns = [
        each for each in direct if each.parents and _has_more_behind(each, trail)
    ]
    if returns:
        behind = trail.flushes_behind_returns
        more = f" Behind them: {counted(behind, 'flush')}." if behind else ""
        yield f"Also from what went round again: {_by_sort(returns)}.{more}"


def _shares(sources: Sources) -> Iterator[str]:
    """Yield each group's share of the item's metal, and its members."""
    if not sources.each:
        return
    yield "Its metal by measured inputs, ± one standard uncertainty:"
    for group in sources.groups:
        members = [each for each in sources.each if each.group == group.group]
        if len(members) == 1:
            yield f"  {group.group}: {_member(members[0])}: {metals_told(group)}"
        else:
            yield f"  {group.group}: {metals_told(group)}: {_by_what(members)}"
            if group.group != "gravity":
                yield from (
                    f"    {_member(each)}: {metals_told(each)}" for each in members
                )
        yield from (f"    ({each.why})" for each in members if each.why)
    if sources.provisional:
        yield f"  (resting on figures still to come: {in_words(sources.provisional)})"


def _member(share: SourceShare) -> str:
    """Return an origin in words, and what it stands for if it is none itself."""
    if not share.origins:
        return share.what
    behind = [each for each in share.origins if each != share.item]
    made_of = f" made of {in_words(behind)}" if behind else ""
    return f"{share.item}, {share.what}{made_of}"


def _by_what(members: Iterable[SourceShare]) -> str:
    """Return origins in words, those of one sort together."""
    groups: dict[str, list[str]] = {}
    for each in members:
        groups.setdefault(each.what, []).append(each.item)
    return "; ".join(
        f"{len(names)} {plural(what, len(names))} {in_words(names)}"
        for what, names in groups.items()
    )


def metals_told(share: SourceShare | GroupShare) -> str:
    """Return a share of the gold, and of the silver where that is known."""
    told = {"gold": share.gold, "silver": share.silver}
    return ", ".join(f"{name} {part}" for name, part in told.items() if part) or "?"


def _has_more_behind(item: TrailItem, trail: Trail) -> bool:
    direct = {each.item for each in trail.back if each.is_direct}
    return not set(item.parents) <= direct


def _by_sort(items: Iterable[TrailItem]) -> str:
    groups: dict[str, list[str]] = {}
    for each in items:
        groups.setdefault(_words(each.sort), []).append(each.item)
    return "; ".join(
        f"{len(names)} {plural(sort, len(names))} {in_words(names)}"
        for sort, names in groups.items()
    )


def status_told(item: TrailItem, count: int) -> str:
    """Return an item's state as people say it; `count` like items are told as one."""
    words = STATUS_WORDS.get(item.status, item.status)
    return words.replace("its", "their") if count > 1 else words


def other_source(item: TrailItem) -> str:
    """Return whose metal it is, unless it is gravity's alone."""
    return "" if item.source == "gravity" else f"; {item.source} metal"


def not_further(item: TrailItem) -> str:
    """Return why a trail goes no further."""
    if item.status in ("held", "in_charge", "in_transit"):
        return "Nothing was made of it yet."
    return "Nothing on record was made of it."


def figures_told(item: TrailItem, names: Names) -> Iterator[str]:
    """Yield the newest mass, every assay and the newest estimate, in words."""
    mass = item.mass
    if mass is not None and mass.moisture_percent is not None:
        yield (
            f"wet {mass_text(mass.net_g)}, moisture {mass.moisture_percent} %,"
            f" dry {mass_text(mass.dry_g)}"
        )
    elif mass is not None and mass.wanted_for == WET:
        yield f"wet {mass_text(mass.net_g)}, its moisture not known"
    elif mass is not None:
        yield f"mass {mass_text(mass.net_g)}"
    # A refiner's assay is said at the melt and again when assays are exchanged.
    yield from dict.fromkeys(_assay_words(each, names) for each in item.assays)
    estimate = item.estimate
    if estimate is not None:
        yield (
            f"estimated gold {grams_text(estimate.gold_g)} g ±"
            f" {grams_text(estimate.gold_u_g)} g, silver"
            f" {grams_text(estimate.silver_g)} g ± {grams_text(estimate.silver_u_g)} g"
            f" ({estimate.method})"
        )


def _assay_words(assay: Assay, names: Names) -> str:
    gold = content_told("gold", assay.gold, assay.gold_limit, assay.unit)
    silver = content_told("silver", assay.silver, assay.silver_limit, assay.unit)
    many = assay.gold_determinations
    mean_of = f", mean of {many}" if many > 1 else ""
    whose = f" {names.place(assay.laboratory)}," if assay.laboratory else ""
    standing = standing_text(assay.standing)
    return f"{gold}, {silver} ({standing},{whose} {_words(assay.method)}{mean_of})"


def _words(name: str) -> str:
    """Return a name of ours as words: cell_load, cell load."""
    return name.replace("_", " ")


def content_told(metal: str, content: Decimal, limit: Decimal | None, unit: str) -> str:
    """Return a metal's content, or what it was found to be less than."""
    words = UNITS.get(unit, unit)
    if limit is not None:
        return f"{metal} less than {limit} {words}"
    return f"{metal} {content} {words}"
