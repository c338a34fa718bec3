"""What laboratories' results have in common: for whom they speak, of which sample.

A result speaks for items of the sorts in `WANTED_FOR`, by a laboratory or refinery
that is registered. A sample that was replaced by another (a marker `replaced:<sample>`
names the new one) yields no results any more.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from decimal import Decimal
from types import MappingProxyType
from typing import Protocol

from goldroom.custody.act import Act
from goldroom.custody.figures import Content, Origin, assay
from goldroom.custody.lookups import the, wrong_sort
from goldroom.custody.names import a_sort, any_of
from goldroom.custody.notices import notice
from goldroom.custody.records import Item, Marker, Place, Record
from goldroom.custody.state import State
from goldroom.errors import (
    FinenessOver1000,
    ItemNotHeld,
    SampleReplaced,
    UnknownSample,
    WrongSort,
)
from goldroom.metal.assay import THOUSAND
from goldroom.statements.fields import BadField

PERMILLE_PER_UNIT = MappingProxyType(
    {
        "permille": Decimal(1),
        "percent": Decimal(10),
        "gpt": Decimal("0.001"),
        "mg_l": Decimal("0.001"),
    }
)
"""Parts per thousand in one of each unit that assays are reported in.

A milligram per litre is taken as one in a kilogram: to judge what cannot be, enough.
"""

UNIT_WORDS = MappingProxyType(
    {"permille": "‰", "percent": "%", "gpt": "g/t", "mg_l": "mg/L"}
)
STANDINGS = ("estimated", "provisional", "party", "umpire", "refiner", "final")
WANTED_FOR = MappingProxyType(
    {
        "load": "load",
        "lot": "lot",
        "heel": "lot",
        "concentrate": "table_concentrate",
        "middlings": "table_tails",
        "tails": "table_tails",
        "magnetics": "table_tails",
        "sludge": "sludge",
        "calcine": "sludge",
        "residue": "residue",
        "solution": "solution",
        "other": "lot",
        "slag": "slag",
        "skull": "slag",
        "sweepings": "slag",
        "bar": "bar",
        "sample": "bar",
        "melt": "melt",
    }
)
"""What an assay of each sort of item is wanted for; other sorts are not assayed."""

DRAWN_OFF_AS = MappingProxyType({"leach_batch": "solution", "cell_load": "solution"})
"""What a sample is of that was drawn off something which itself is not assayed."""


@dataclass(frozen=True, kw_only=True)
class Work:
    """What a whole report shares: whose figures they are, how made and sampled."""

    laboratory: str
    method: str
    standing: str
    sampler: str


def replaced_marker(sample: str) -> str:
    """Return the name of the marker that tells what a sample was replaced by."""
    return f"replaced:{sample}"


def check_laboratory(state: State, place_id: str) -> None:
    """Refuse a place where nothing is assayed."""
    place = the(state, Place, place_id, "laboratory")
    if place.sort not in ("laboratory", "refinery"):
        raise wrong_sort(
            "laboratory",
            place_id,
            place.sort,
            "a laboratory or a refinery",
            remedy="Name the laboratory that made the assays.",
        )


def check_speaks_for(
    state: State, item_ids: Sequence[str], field: str, *, sorts: Sequence[str]
) -> None:
    """Refuse items that never were, and sorts that such a result cannot speak for."""
    for m, item_id in enumerate(item_ids):
        path = f"{field}[{m}]"
        item = the(state, Item, item_id, path)
        if item.status in ("void", "expected"):
            raise ItemNotHeld(
                f"{path}: {item_id} was never in the room's care ({item.status})."
                " Check the label.",
                field=path,
            )
        if wanted_sort(state, item) not in sorts:
            raise wrong_sort(
                path,
                item_id,
                item.sort,
                any_of(sorts),
                remedy="Name the sample itself, or what it stands for.",
            )


def wanted_sort(state: State, item: Item) -> str:
    """Return the sort of what an item's result tells of.

    That of the item; for a sample, that of what it, or the sample that it was split
    off, was taken from.
    """
    if item.sort != "sample":
        return item.sort
    while item.sort == "sample":
        names = (item.drawn_from, *item.parents)
        parents = [state.get(Item, name) for name in names if name]
        known = [
            parent
            for parent in parents
            if parent is not None and _assayed_as(parent) in WANTED_FOR
        ]
        if not known:
            break
        item = known[0]
    return _assayed_as(item)


def _assayed_as(item: Item) -> str:
    return DRAWN_OFF_AS.get(item.sort, item.sort)


def check_not_replaced(state: State, sample: str, field: str) -> None:
    """Refuse a sample that another has replaced."""
    marker = state.get(Marker, replaced_marker(sample))
    if marker is not None:
        raise SampleReplaced(
            f"{field}: {sample} was replaced by {marker.value}, in entry"
            f" {marker.entry}. Report the result of {marker.value}; if the envelopes"
            " were mixed up, say so in a correction first.",
            field=field,
        )


def check_sample(
    state: State,
    sample: str,
    field: str,
    *,
    of: Sequence[str],
    sorts: Sequence[str] = ("sample",),
) -> None:
    """Refuse a sample that was never taken, is no sample, or was replaced.

    `of` are the sorts of what it may have been taken from.
    """
    item = state.get(Item, sample)
    if item is None or item.status == "expected":
        raise UnknownSample(
            f"{field}: no sample {sample!r} was ever taken here. Check the number on"
            " the envelope; a sample is said to be taken before it is assayed.",
            field=field,
        )
    check_not_replaced(state, sample, field)
    if item.status == "void":
        raise ItemNotHeld(
            f"{field}: {sample} was taken back; it never was in the room's care."
            " Check the number on the envelope.",
            field=field,
        )
    if item.sort not in sorts:
        raise wrong_sort(field, sample, item.sort, any_of(sorts))
    if wanted_sort(state, item) not in of:
        raise WrongSort(
            f"{field}: {sample} is a sample of {a_sort(wanted_sort(state, item))};"
            f" expected one of {any_of(of)}. Check the number on the envelope, or"
            " report it on the worksheet made for it.",
            field=field,
        )


def check_within_whole(found: Decimal, unit: str, field: str) -> None:
    """Refuse a content above the whole: more than 1000 parts per thousand."""
    permille = found * PERMILLE_PER_UNIT[unit]
    if permille > THOUSAND:
        raise FinenessOver1000(
            f"{field}: found {found} {UNIT_WORDS[unit]}, which is"
            f" {permille.normalize():f} parts per thousand; the whole is 1000. Check"
            " the figure and its unit.",
            field=field,
        )


class SampleWork(Protocol):
    """A worksheet's row: a sample, and the items that it speaks for."""

    @property
    def sample(self) -> str:
        """Return the sample's id."""

    @property
    def items(self) -> tuple[str, ...]:
        """Return the items' ids."""


def check_samples(
    state: State, rows: Sequence[SampleWork], *, sorts: Sequence[str]
) -> None:
    """Refuse samples never taken, replaced or named twice, and other sorts of item."""
    seen: set[str] = set()
    for n, row in enumerate(rows):
        field = f"samples[{n}].sample"
        check_sample(state, row.sample, field, of=sorts)
        check_speaks_for(state, row.items, f"samples[{n}].items", sorts=sorts)
        if row.sample in seen:
            raise BadField(
                f"{field}: {row.sample} is listed twice. Write one row with all that"
                " was done with it.",
                field=field,
            )
        seen.add(row.sample)


def reported(
    state: State,
    act: Act,
    *,
    items: Sequence[str],
    content: Content,
    work: Work,
    path: str,
    sample: str,
) -> Iterator[Record]:
    """Yield a new version of the content of every item that a result speaks for.

    `path` tells the determination from the act's others.
    """
    for item_id in items:
        item = state.get(Item, item_id)
        assert item is not None
        origin = Origin(
            assay_id=f"{act.measured_in}.{path}",
            sample=sample,
            standing=work.standing,
            laboratory=work.laboratory,
            method=work.method,
            sampler=work.sampler,
            wanted_for=WANTED_FOR[wanted_sort(state, item)],
        )
        yield from assay(state, act, item=item_id, content=content, origin=origin)


def over_the_whole(
    state: State, act: Act, *, item: str, permille: Decimal, sample: str
) -> Record:
    """Return the finding that a sample's metals add up to more than the whole."""
    return notice(
        state,
        act,
        "fineness_sum_over_1000",
        item=item,
        found=f"{permille} parts per thousand",
        expected="at most 1000 together",
        message=f"the metals of sample {sample} add up to more than the whole",
    )
