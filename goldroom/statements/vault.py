"""The vault: bars placed in a safe, counted by somebody else, taken out.

A count is blind: people write what they found, the book's list is compared only
afterwards, and every difference is a finding. A bar found in another safe than the
book says is recorded where it was found, with a finding.
"""

from collections.abc import Iterator
from dataclasses import dataclass

from goldroom.custody import moves, seals
from goldroom.custody.act import Act
from goldroom.custody.lookups import the, wrong_sort
from goldroom.custody.notices import notice
from goldroom.custody.records import Item, Marker, Place, Record, Vessel
from goldroom.custody.rules import item_at_hand
from goldroom.custody.state import State
from goldroom.statements import fields
from goldroom.statements.bars import stamp_marker
from goldroom.statements.fields import BadField
from goldroom.statements.kind import Statement, kind
from goldroom.statements.openings import (
    ClosedRow,
    OpenedRow,
    check_openings,
    check_reached,
    check_taken_out,
    close_vessels,
    closed_field,
    open_vessels,
    opened_field,
    openings_words,
)
from goldroom.statements.sealing import (
    SealSeenRow,
    check_seen,
    seen_field,
    seen_words,
)
from goldroom.statements.wording import listed

KEPT = ("bar", "sample", "sweepings", "concentrate", "slag", "skull", "sludge", "other")
"""Sorts that are locked in a safe."""

PURPOSES = ("dispatch", "weighing", "sampling", "smelting", "other")


@kind("vault.placed", group="shipping", title="Placed in the vault", can_void=True)
@dataclass(frozen=True, kw_only=True)
class VaultPlaced(Statement):
    """Bars and samples put into a safe."""

    safe: str = fields.code("Safe", table="vessel")
    opened: tuple[OpenedRow, ...] = opened_field()
    items: tuple[str, ...] = fields.codes("Put in", table="item")
    closed: tuple[ClosedRow, ...] = closed_field()

    def check(self, act: Act, state: State) -> None:
        """Refuse a vessel that is no safe, items not at hand, seals that cannot be."""
        check_openings(state, self.opened, self.closed)
        _check_safe(check_reached(state, self.safe, self.opened, "safe"))
        for n, item_id in enumerate(self.items):
            item = item_at_hand(state, item_id, f"items[{n}]", sorts=KEPT)
            check_taken_out(state, item, self.opened, f"items[{n}]")

    def apply(self, act: Act, state: State) -> Iterator[Record]:
        """Yield the items in the safe, under the seals fitted."""
        yield from open_vessels(state, act, self.opened)
        yield from close_vessels(state, act, self.closed)
        yield from moves.put_into(state, act, self.items, self.safe)

    def sentence(self) -> str:
        """Return what the journal reads aloud."""
        return f"Into safe {self.safe} went {listed(self.items)}." + openings_words(
            self.opened, self.closed
        )


@kind("vault.counted", group="shipping", title="Vault counted")
@dataclass(frozen=True, kw_only=True)
class VaultCounted(Statement):
    """What somebody found in a safe, written down without the book's list."""

    safe: str = fields.code("Safe", table="vessel")
    seals_seen: tuple[SealSeenRow, ...] = seen_field(
        optional=True, help="The seals as found, before opening"
    )
    opened: tuple[OpenedRow, ...] = opened_field()
    found: tuple[str, ...] = fields.codes(
        "Found", optional=True,
        help="Stamped numbers or ids, read off the things; leave out if it is empty",
    )  # fmt: skip
    closed: tuple[ClosedRow, ...] = closed_field()

    def check(self, act: Act, state: State) -> None:
        """Refuse a vessel that is no safe, and seals that cannot be."""
        check_openings(state, self.opened, self.closed)
        _check_safe(check_reached(state, self.safe, self.opened, "safe"))
        check_seen(state, self.safe, self.seals_seen)

    def apply(self, act: Act, state: State) -> Iterator[Record]:
        """Yield what was seen, each item seen in its place, and every difference."""
        yield from seals.seen(state, act, self.safe, self.seals_seen)
        yield from open_vessels(state, act, self.opened)
        yield from close_vessels(state, act, self.closed)
        safe = state.get(Vessel, self.safe)
        assert safe is not None
        found = {item_read(state, read): read for read in self.found}
        for item_id in safe.contents:
            if item_id in found:
                yield from moves.stay(state, act, item_id, vessel=self.safe)
            else:
                yield _differs(
                    state, act, item=item_id, found="not found", expected="in the safe"
                )
        for item_id, read in found.items():
            if item_id not in safe.contents:
                yield _differs(
                    state, act, item=item_id, found=f"{read} found", expected="nothing"
                )

    def sentence(self) -> str:
        """Return what the journal reads aloud."""
        seen = seen_words(self.seals_seen)
        under = f", under {seen}" if seen else ""
        found = listed(self.found) if self.found else "nothing"
        return f"Safe {self.safe} was counted{under}: {found} found." + openings_words(
            self.opened, self.closed
        )


@kind("vault.taken", group="shipping", title="Taken from the vault", can_void=True)
@dataclass(frozen=True, kw_only=True)
class VaultTaken(Statement):
    """Bars and samples taken out of a safe, and what for."""

    safe: str = fields.code("Safe", table="vessel")
    opened: tuple[OpenedRow, ...] = opened_field()
    items: tuple[str, ...] = fields.codes("Taken out", table="item")
    purpose: str = fields.choice("Purpose", PURPOSES)
    vessel: str | None = fields.code(
        "Put into", table="vessel", optional=True, help="A box or drum, if any"
    )
    place: str | None = fields.code(
        "Taken to", table="place", optional=True, help="If they are in no vessel"
    )
    closed: tuple[ClosedRow, ...] = closed_field()

    def check(self, act: Act, state: State) -> None:
        """Refuse items not at hand, nowhere to go, and seals that cannot be."""
        check_openings(state, self.opened, self.closed)
        _check_safe(check_reached(state, self.safe, self.opened, "safe"))
        if (self.vessel is None) == (self.place is None):
            raise BadField(
                "vessel: write where they are now: either the vessel they were put"
                " into, or the place they were taken to.",
                field="vessel",
            )
        if self.vessel is not None:
            check_reached(state, self.vessel, self.opened, "vessel")
        if self.place is not None:
            the(state, Place, self.place, "place")
        for n, item_id in enumerate(self.items):
            item_at_hand(state, item_id, f"items[{n}]", sorts=KEPT)

    def apply(self, act: Act, state: State) -> Iterator[Record]:
        """Yield the items where they are now, and those the book had elsewhere."""
        safe = state.get(Vessel, self.safe)
        assert safe is not None
        yield from open_vessels(state, act, self.opened)
        yield from close_vessels(state, act, self.closed)
        for item_id in self.items:
            if item_id not in safe.contents:
                yield _differs(
                    state, act, item=item_id, found=f"taken from {self.safe}",
                    expected=_where(state, item_id),
                )  # fmt: skip
        if self.vessel is not None:
            yield from moves.put_into(state, act, self.items, self.vessel)
        else:
            yield from moves.set_down(state, act, self.items, self.place or "")

    def sentence(self) -> str:
        """Return what the journal reads aloud."""
        where = f"into {self.vessel}" if self.vessel else f"to {self.place}"
        return (
            f"From safe {self.safe} were taken {listed(self.items)}, {where}, for"
            f" {self.purpose}." + openings_words(self.opened, self.closed)
        )


def _check_safe(vessel: Vessel) -> None:
    if vessel.sort != "safe":
        raise wrong_sort("safe", vessel.vessel, vessel.sort, "a safe")


def item_read(state: State, read: str) -> str:
    """Return the item that an id or stamped number names; the text if none."""
    if state.get(Item, read) is not None:
        return read
    stamped = state.get(Marker, stamp_marker(read))
    return read if stamped is None else stamped.value


def _where(state: State, item_id: str) -> str:
    item = state.get(Item, item_id)
    assert item is not None
    return f"in {moves.last_vessel(state, item) or item.place or 'no vessel'}"


def _differs(state: State, act: Act, *, item: str, found: str, expected: str) -> Record:
    return notice(
        state,
        act,
        "count_differs",
        item=item,
        found=found,
        expected=expected,
        message=f"the book and the safe differ on {item}: {found}",
    )
