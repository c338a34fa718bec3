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
    Before,
    Estimate,
    Item,
    Mass,
    Record,
    Said,
    Seal,
    Stay,
)
from goldroom.custody.state import State
from goldroom.errors import CannotVoid


def check_undo(state: State, said: Said) -> None:
    """Refuse to take back an entry that something has built on."""
    changed = [
        (image, now)
        for image in said.before
        if not _is_as_left(now := state.get_by_name(image.table, image.key), image)
    ]
    if not changed:
        return
    first, _ = changed[0]
    builders = [_by_whom(state, now, said) for _, now in changed]
    named = next((f", by entry {each}" for each in builders if each), "")
    raise CannotVoid(
        f"entry: {said.entry} cannot be taken back: the {first.table} {first.key} has"
        f" changed since{named}. Take back what was built on it first, or correct its"
        " figures.",
        field="entry",
    )


def _is_as_left(now: Record | None, image: Before) -> bool:
    """Return whether a record is still just as the entry left it."""
    return now is not None and digest_of(text_of(now)) == image.digest_after


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
        volumes=0,
        drawn=(),
    )


def _by_whom(state: State, now: Record | None, said: Said) -> str:
    """Return the entry that changed a record since; "" where the record tells not."""
    if isinstance(now, Seal):
        later = now.removed_entry or now.fitted_entry
        return "" if later == said.entry else later
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
    return next((each for each in entries if each not in ("", said.entry)), "")


def _as_it_was(now: Item, said: Said) -> Item:
    """Return the item before the entry; a bare one if the entry made it."""
    for image in said.before:
        if (image.table, image.key) == (Item.table, now.item) and image.text:
            return from_plain(Item, json.loads(image.text))
    return replace(now, stays=0, masses=0, assays=0, estimates=0)
