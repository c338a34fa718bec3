"""Taking an entry back: putting every record as it was before the entry.

Possible only while nothing has built on the entry: every record that it changed
must still be just as the entry left it. Records come back from their images; those
that the entry made are dropped, except items and findings. An item's id is unique
forever, so an item that the entry made stays behind as `void`, held by nobody; what
was noticed stays noticed, or a void could wipe out a finding.
"""

import json
from collections.abc import Iterator
from dataclasses import replace

from goldroom.custody.act import Act
from goldroom.custody.codec import digest_of, from_plain, text_of
from goldroom.custody.records import (
    RECORDS,
    Assay,
    Estimate,
    Item,
    Mass,
    Record,
    Said,
    Stay,
)
from goldroom.custody.state import State
from goldroom.errors import CannotVoid


def check_undo(state: State, said: Said) -> None:
    """Refuse to take back an entry that something has built on."""
    for image in said.before:
        now = state.get_by_name(image.table, image.key)
        if now is None or digest_of(text_of(now)) != image.digest_after:
            raise CannotVoid(
                f"entry: {said.entry} cannot be taken back: the {image.table}"
                f" {image.key} has changed since{_by_whom(state, now, said)}. Take"
                " back what was built on it first, or correct its figures.",
                field="entry",
            )


def undo(state: State, act: Act, said: Said) -> Iterator[Record]:
    """Yield the records as they were before the entry, and drop those it made."""
    for image in said.before:
        if image.text:
            yield from_plain(RECORDS[image.table], json.loads(image.text))
            continue
        made = state.get_by_name(image.table, image.key)
        if isinstance(made, Item):
            yield _void(made, act)
        else:
            state.drop(image.table, image.key)


def _void(made: Item, act: Act) -> Item:
    """Return an item that its maker took back: its id stays used, nothing else."""
    return replace(
        made,
        status="void",
        place="",
        step="",
        children=(),
        used_by=act.entry,
        held_until=act.at,
        stays=0,
        crossings=0,
        masses=0,
        assays=0,
        estimates=0,
    )


def _by_whom(state: State, now: Record | None, said: Said) -> str:
    """Return ", by entry ..." where the changed record tells who changed it."""
    if not isinstance(now, Item):
        return ""
    before = _as_it_was(now, said)
    latest: tuple[tuple[bool, Record | None], ...] = (
        (now.stays > before.stays, state.get(Stay, f"{now.item}/{now.stays:04d}")),
        (now.masses > before.masses, state.get(Mass, f"{now.item}/{now.masses:03d}")),
        (now.assays > before.assays, state.get(Assay, f"{now.item}/{now.assays:03d}")),
        (
            now.estimates > before.estimates,
            state.get(Estimate, f"{now.item}/{now.estimates:03d}"),
        ),
    )
    entries = [getattr(each, "entry", "") for is_newer, each in latest if is_newer]
    later = [entry for entry in entries if entry not in ("", said.entry)]
    return f", by entry {later[0]}" if later else ""


def _as_it_was(now: Item, said: Said) -> Item:
    """Return the item before the entry; a bare one if the entry made it."""
    for image in said.before:
        if (image.table, image.key) == (Item.table, now.item) and image.text:
            return from_plain(Item, json.loads(image.text))
    return replace(now, stays=0, masses=0, assays=0, estimates=0)
