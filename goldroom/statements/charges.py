"""What every charge shares, whatever it is made up from: sources, fluxes, furnace."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from types import MappingProxyType
from typing import Any

from goldroom.custody import moves
from goldroom.custody.act import Act
from goldroom.custody.figures import WET, latest_mass, mass
from goldroom.custody.lookups import wrong_sort
from goldroom.custody.moves import NewItem
from goldroom.custody.notices import notice
from goldroom.custody.reading import Reading
from goldroom.custody.records import Item, Record
from goldroom.custody.rules import item_at_hand, pass_on, source_of
from goldroom.custody.state import State
from goldroom.custody.weighed import (
    Weighed,
    check_weighed,
    net_g,
    net_terms,
    weighed_notices,
)
from goldroom.errors import NotDried
from goldroom.statements import fields
from goldroom.statements.envelopes import seal_on
from goldroom.statements.fields import BadField
from goldroom.statements.limits import limit_value
from goldroom.statements.openings import OpenedRow, check_reached, check_taken_out
from goldroom.statements.wording import listed

NEVER_CHARGED = (
    "flush", "load", "leach_batch", "solution", "residue", "cell_load", "charge", "bar",
    "melt",
)  # fmt: skip
"""Sorts that are no source of a charge; a bar goes back by a statement of its own."""

GOES_INSTEAD = MappingProxyType(
    {
        "bar": "Say that a numbered bar is melted again (remelt.charged).",
        "residue": "Leach it again, or take it over the table.",
        "solution": "Run it through the cells, and charge their sludge.",
    }
)
"""What to do with what is no source of a charge."""


@dataclass(frozen=True, kw_only=True)
class SourceRow:
    """A source of a charge, weighed dry before it went in where that was done."""

    item: str = fields.code("Source", table="item")
    dry_gross: Reading | None = fields.reading("Dry mass, gross", optional=True)
    dry_tare: Reading | None = fields.reading("Dry mass, tare", optional=True)

    @property
    def weighed(self) -> Weighed | None:
        """Return the dry weighing, if there was one."""
        if self.dry_gross is None:
            return None
        return Weighed(gross=self.dry_gross, tare=self.dry_tare)


@dataclass(frozen=True, kw_only=True)
class FluxRow:
    """A flux added, by mass."""

    flux: str = fields.text("Flux", help="Borax, soda, silica, nitre, fluorspar ...")
    mass_kg: Decimal = fields.number("Mass", "kg", high="10000")


def fluxes_field() -> Any:
    """Describe the fluxes added."""
    return fields.rows(
        "Fluxes", FluxRow, optional=True, most=20,
        help="Dry and preheat flux and returns: water under metal explodes",
    )  # fmt: skip


def check_furnace(state: State, furnace: str, opened: Sequence[OpenedRow]) -> None:
    """Refuse a vessel that is no furnace, or that is sealed."""
    vessel = check_reached(state, furnace, opened, "furnace")
    if vessel.sort != "furnace":
        raise wrong_sort("furnace", furnace, vessel.sort, "a furnace")


def check_sources(
    state: State, sources: Sequence[SourceRow], opened: Sequence[OpenedRow]
) -> None:
    """Refuse sources used, of a sort never charged, listed twice, sealed in, or wet."""
    named: set[str] = set()
    for n, row in enumerate(sources):
        path = f"sources[{n}].item"
        item = item_at_hand(state, row.item, path)
        if item.sort in NEVER_CHARGED:
            raise wrong_sort(
                path,
                row.item,
                item.sort,
                "concentrate or other metal ready for the smelt",
                remedy=GOES_INSTEAD.get(item.sort, ""),
            )
        if row.item in named:
            raise BadField(
                f"{path}: {row.item} is listed twice. Write one row for it.",
                field=path,
            )
        named.add(row.item)
        check_taken_out(state, item, opened, path)
        if seal_on(state, row.item):
            check_reached(state, row.item, opened, path)
        _check_dried(state, row, path)


def _check_dried(state: State, row: SourceRow, path: str) -> None:
    """Refuse what was last weighed wet, unless it was weighed dry for this charge."""
    weighed = latest_mass(state, row.item)
    if weighed is not None and weighed.wanted_for == WET and row.dry_gross is None:
        raise NotDried(
            f"{path}: {row.item} was weighed wet and nobody dried it since. Water under"
            " metal explodes: dry it and say so, or write its dry mass here.",
            field=path,
        )


def check_source_figures(act: Act, state: State, sources: Sequence[SourceRow]) -> None:
    """Refuse dry readings that cannot be."""
    for n, row in enumerate(sources):
        path = f"sources[{n}]"
        if row.weighed is not None:
            check_weighed(
                state, act, row.weighed, f"{path}.dry_gross", f"{path}.dry_tare"
            )
        elif row.dry_tare is not None:
            raise BadField(
                f"{path}.dry_gross: there is a tare for {row.item} but no gross."
                " Write both, or neither.",
                field=f"{path}.dry_gross",
            )


def source_masses(
    act: Act, state: State, sources: Sequence[SourceRow]
) -> Iterator[Record]:
    """Yield the dry masses of the sources that were weighed again."""
    for n, row in enumerate(sources):
        if row.weighed is not None:
            yield from mass(
                state,
                act,
                item=row.item,
                terms=net_terms(state, act, row.weighed, f"sources[{n}].dry"),
                wanted_for="charge",
            )


def source_notices(
    act: Act, state: State, sources: Sequence[SourceRow]
) -> Iterator[Record]:
    """Yield what the dry weighings show: drops or gains since the last ones."""
    for row in sources:
        if row.weighed is not None:
            yield from _dry_mass_notices(act, state, row, row.weighed)


def _dry_mass_notices(
    act: Act, state: State, row: SourceRow, weighed: Weighed
) -> Iterator[Record]:
    yield from weighed_notices(state, act, (row.dry_gross, row.dry_tare), row.item)
    before = latest_mass(state, row.item)
    if before is None or before.wanted_for == WET or before.dry_g == 0:
        return
    change_g = net_g(state, weighed) - before.dry_g
    limit_percent = limit_value(state, "transfer_dry_drop_percent")
    if abs(change_g) * 100 > limit_percent * before.dry_g:
        yield notice(
            state,
            act,
            "item_lost_mass" if change_g < 0 else "item_gained_mass",
            item=row.item,
            found=f"{net_g(state, weighed)} g dry",
            expected=f"{before.dry_g} g dry within {limit_percent} %",
            message=f"the dry mass of {row.item} changed by {change_g} g",
        )


def make_charge(
    act: Act, state: State, *, charge: str, furnace: str, names: Sequence[str]
) -> Iterator[Record]:
    """Yield the sources in the charge, in the furnace, and the charge itself."""
    for item_id in names:
        yield from pass_on(state, act, item_id, "smelt")
        item = state.get(Item, item_id)
        assert item is not None
        yield replace(item, status="in_charge", used_by=act.entry)
    yield from moves.put_into(state, act, names, furnace)
    new = NewItem(
        item=charge,
        sort="charge",
        step="",
        vessel=furnace,
        parents=tuple(names),
        source=source_of(state, names),
    )
    yield from moves.make(state, act, new)


def source_words(sources: Sequence[SourceRow]) -> list[str]:
    """Return the sources in words, with their dry gross where it was read."""
    return [
        row.item if row.dry_gross is None else f"{row.item} ({row.dry_gross} dry gross)"
        for row in sources
    ]


def flux_words(fluxes: Sequence[FluxRow]) -> str:
    """Return " with 4.5 kg of borax and ..." for the middle of a sentence."""
    added = [f"{row.mass_kg} kg of {row.flux}" for row in fluxes]
    return f" with {listed(added)}" if added else ""
