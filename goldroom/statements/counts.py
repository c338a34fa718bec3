"""Stock counted: what people found in a place or a vessel, not knowing the book.

A count is blind. Those who do not operate the room write what they saw, weigh again
what can be weighed, and name what they looked for in vain; the book's list is no part
of it and is compared only afterwards. Every difference is a finding. What was weighed
again stays a check figure beside the book: a bar keeps the mass that it was numbered
with. (Common practice, no source.)

What has moved between the count and its writing-up is not judged: the later
statement knows better where it is.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from decimal import Decimal

from goldroom.custody import moves, seals
from goldroom.custody.act import Act
from goldroom.custody.figures import latest_mass
from goldroom.custody.lookups import the
from goldroom.custody.notices import notice
from goldroom.custody.reading import Reading
from goldroom.custody.records import Item, Place, Record, Stay, Vessel
from goldroom.custody.state import State
from goldroom.custody.stock import NEVER_COUNTED, StockCheck, StockCount
from goldroom.custody.weighed import (
    Weighed,
    check_taken,
    check_weighed,
    net_g,
    weighed_notices,
)
from goldroom.statements import fields
from goldroom.statements.fields import BadField
from goldroom.statements.kind import Statement, kind
from goldroom.statements.limits import limit_value
from goldroom.statements.openings import (
    ClosedRow,
    OpenedRow,
    check_openings,
    check_reached,
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
from goldroom.statements.vault import item_read
from goldroom.statements.wording import listed

HUNDRED = Decimal(100)


@dataclass(frozen=True, kw_only=True)
class FoundRow:
    """One thing seen, and what it weighs now if it was weighed again."""

    thing: str = fields.text(
        "Thing", help="The number stamped on it or the id on its label, as read"
    )
    gross: Reading | None = fields.reading(
        "Weighed again", optional=True, help="If it can be weighed; of a bar, always"
    )
    tare: Reading | None = fields.reading("Tare", optional=True)
    weighed_in: str | None = fields.code(
        "Weighed in", table="vessel", optional=True, help="If it was not weighed alone"
    )

    @property
    def weighed(self) -> Weighed | None:
        """Return the weighing; None if it was only seen."""
        if self.gross is None:
            return None
        return Weighed(gross=self.gross, tare=self.tare, vessel=self.weighed_in or "")


@dataclass(frozen=True, kw_only=True)
class UnknownRow:
    """Something found that bears no number or label that anybody knows."""

    what: str = fields.text("What it is", help="As it looks, and where it lay")
    gross: Reading | None = fields.reading("Weighed", optional=True)


@kind("stock.counted", group="count", title="Stock counted")
@dataclass(frozen=True, kw_only=True)
class StockCounted(Statement):
    """What people who do not operate found in a place or vessel, weighed again."""

    place: str | None = fields.code(
        "Place", table="place", optional=True, help="If a whole room was counted"
    )
    vessel: str | None = fields.code(
        "Vessel", table="vessel", optional=True, help="If one vessel was counted"
    )
    seals_seen: tuple[SealSeenRow, ...] = seen_field(
        optional=True, help="The vessel's seals as found, before opening"
    )
    opened: tuple[OpenedRow, ...] = opened_field()
    found: tuple[FoundRow, ...] = fields.rows(
        "Found", FoundRow, optional=True, help="Leave out if nothing was there"
    )
    not_found: tuple[str, ...] = fields.codes(
        "Looked for and not found", table="item", optional=True
    )
    unknown: tuple[UnknownRow, ...] = fields.rows(
        "Found without a number", UnknownRow, optional=True
    )
    closed: tuple[ClosedRow, ...] = closed_field()

    def check(self, act: Act, state: State) -> None:
        """Refuse no place or two, seals that cannot be, and a thing written twice."""
        check_openings(state, self.opened, self.closed)
        if (self.place is None) == (self.vessel is None):
            raise BadField(
                "place: write where it was counted: either the place or the vessel,"
                " one of them.",
                field="place",
            )
        if self.place is not None:
            the(state, Place, self.place, "place")
        if self.vessel is not None:
            check_reached(state, self.vessel, self.opened, "vessel")
            check_seen(state, self.vessel, self.seals_seen)
        elif self.seals_seen:
            raise BadField(
                "seals_seen: seals are on vessels; found them with a place. Count the"
                " vessel by itself, or leave its seals out.",
                field="seals_seen",
            )
        self._check_each_once(state)
        self.check_figures(act, state)

    def _check_each_once(self, state: State) -> None:
        seen: set[str] = set()
        for n, row in enumerate(self.found):
            item_id = item_read(state, row.thing)
            if item_id in seen:
                raise BadField(
                    f"found[{n}].thing: {row.thing} is written twice. Write each thing"
                    " once.",
                    field=f"found[{n}].thing",
                )
            seen.add(item_id)
        for n, each in enumerate(self.not_found):
            the(state, Item, each, f"not_found[{n}]")
            if each in seen:
                raise BadField(
                    f"not_found[{n}]: {each} is written as found too. Look again, and"
                    " write it in one list.",
                    field=f"not_found[{n}]",
                )

    def check_figures(self, act: Act, state: State) -> None:
        """Refuse readings that cannot be, and a tare without a gross."""
        for n, row in enumerate(self.found):
            field = f"found[{n}]"
            if row.weighed is not None:
                check_weighed(
                    state, act, row.weighed, f"{field}.gross", f"{field}.tare"
                )
            elif row.tare is not None or row.weighed_in is not None:
                raise BadField(
                    f"{field}.gross: {row.thing} has a tare and no gross mass. Write"
                    " what it weighed, or leave both out.",
                    field=f"{field}.gross",
                )
        for n, other in enumerate(self.unknown):
            if other.gross is not None:
                check_taken(state, act, other.gross, f"unknown[{n}].gross")

    def apply(self, act: Act, state: State) -> Iterator[Record]:
        """Yield the count, each thing seen where it is, and every difference."""
        expected = self._expected(state, act)
        if self.vessel is not None:
            yield from seals.seen(state, act, self.vessel, self.seals_seen)
        yield from open_vessels(state, act, self.opened)
        yield from close_vessels(state, act, self.closed)
        known = self._known(state)
        looked_for = [each for each in self.not_found if each not in expected]
        missing = [each for each in expected if each not in known] + looked_for
        yield StockCount(
            count=act.entry,
            place=self.place or "",
            vessel=self.vessel or "",
            found=tuple(known),
            missing=tuple(missing),
            unknown=self._unknown(state),
            at=act.at,
            entry=act.entry,
            known_at=act.known_at,
        )
        for item_id, row in known.items():
            yield from self._seen(state, act, item_id, row)
        for item_id in missing:
            yield self._missing(state, act, item_id)
        for what in self._unknown(state):
            yield notice(
                state, act, "unknown_thing_found", item="", found=what,
                expected="a thing that the book knows",
                message=f"{what} was found in {self._where}; the book knows no such"
                " thing",
            )  # fmt: skip
        yield from self.measures(act, state)
        yield from self._weighing_notices(state, act, known)

    def measures(self, act: Act, state: State) -> Iterator[Record]:
        """Yield what each thing weighed, as a check beside the book's mass."""
        for item_id, row in self._known(state).items():
            if row.weighed is None:
                continue
            key, version = f"{act.measured_in}/{item_id}", 1
            while state.get(StockCheck, f"{key}/{version:02d}") is not None:
                version += 1
            booked = latest_mass(state, item_id)
            yield StockCheck(
                count=act.measured_in,
                item=item_id,
                version=version,
                net_g=net_g(state, row.weighed),
                book_g=None if booked is None else booked.net_g,
                instrument=row.weighed.gross.instrument,
                at=act.at,
                entry=act.entry,
                known_at=act.known_at,
            )

    def sentence(self) -> str:
        """Return what the journal reads aloud."""
        seen = seen_words(self.seals_seen)
        things = [_words(row) for row in self.found]
        said = [
            f"{self._where} was counted{', under ' if seen else ''}{seen}:"
            f" {listed(things) or 'nothing'} found."
        ]
        if self.not_found:
            said.append(f"Looked for and not found: {listed(self.not_found)}.")
        if self.unknown:
            strange = "; ".join(
                row.what + (f" ({row.gross})" if row.gross else "")
                for row in self.unknown
            )
            said.append(f"Found without a number: {strange}.")
        return " ".join(said) + openings_words(self.opened, self.closed)

    @property
    def _where(self) -> str:
        return self.vessel or self.place or ""

    def _known(self, state: State) -> dict[str, FoundRow]:
        """Return the rows of things that the book knows, by item."""
        read = {item_read(state, row.thing): row for row in self.found}
        return {each: row for each, row in read.items() if state.get(Item, each)}

    def _unknown(self, state: State) -> tuple[str, ...]:
        """Return the things that the book does not know, in their finders' words."""
        strange = [
            row.thing
            for row in self.found
            if state.get(Item, item_read(state, row.thing)) is None
        ]
        return (*strange, *(row.what for row in self.unknown))

    def _expected(self, state: State, act: Act) -> tuple[str, ...]:
        """Return what the book had in the vessel when it was counted.

        Of a place the book is asked afterwards, by a rule that may look at all items.
        """
        vessel = state.get(Vessel, self.vessel) if self.vessel else None
        if vessel is None:
            return ()
        return tuple(
            each
            for each in vessel.contents
            if (item := state.get(Item, each)) is not None
            and item.sort not in NEVER_COUNTED
            and not _moved_since(state, each, act.at)
        )

    def _seen(
        self, state: State, act: Act, item_id: str, row: FoundRow
    ) -> Iterator[Record]:
        """Yield the thing's being here, and a finding if the book had it elsewhere."""
        if _moved_since(state, item_id, act.at):
            return
        item = state.get(Item, item_id)
        assert item is not None
        inside = moves.last_vessel(state, item)
        is_here = inside == self.vessel if self.vessel else item.place == self.place
        if item.status in moves.HELD and is_here:
            yield from moves.stay(state, act, item_id, vessel=inside, place=item.place)
            return
        yield notice(
            state, act, "count_differs", item=item_id,
            found=f"{row.thing} found in {self._where}", expected=_booked(state, item),
            message=f"the book and the count of {self._where} differ on {item_id}",
        )  # fmt: skip
        if item.status == "held" and self.vessel is not None:
            yield from moves.put_into(state, act, (item_id,), self.vessel)
        elif item.status == "held" and self.place is not None:
            yield from moves.set_down(state, act, (item_id,), self.place)

    def _missing(self, state: State, act: Act, item_id: str) -> Record:
        item = state.get(Item, item_id)
        assert item is not None
        return notice(
            state, act, "item_missing", item=item_id,
            found=f"not found in {self._where}", expected=_booked(state, item),
            message=f"{item_id} was not found when {self._where} was counted",
        )  # fmt: skip

    def _weighing_notices(
        self, state: State, act: Act, known: dict[str, FoundRow]
    ) -> Iterator[Record]:
        """Yield what is odd about the scales, and masses that are not the book's."""
        for item_id, row in known.items():
            yield from weighed_notices(state, act, (row.gross, row.tare), item_id)
            booked = latest_mass(state, item_id)
            if row.weighed is None or booked is None:
                continue
            found_g, limit_g = net_g(state, row.weighed), _limit_g(state, item_id)
            if abs(found_g - booked.net_g) > limit_g:
                yield notice(
                    state, act, "count_mass_differs", item=item_id,
                    found=f"{found_g} g", expected=f"{booked.net_g} g ± {limit_g} g",
                    message=f"{item_id} weighs {found_g - booked.net_g:+f} g against"
                    " the book",
                )  # fmt: skip


def _limit_g(state: State, item_id: str) -> Decimal:
    """Return by how much a thing may differ from its mass in the book."""
    item, booked = state.get(Item, item_id), latest_mass(state, item_id)
    assert item is not None
    assert booked is not None
    if item.sort == "bar":
        return limit_value(state, "bar_mass_change_g")
    return booked.net_g * limit_value(state, "count_mass_percent") / HUNDRED


def _moved_since(state: State, item_id: str, at: str) -> bool:
    """Return whether a statement about a later time says where the thing is."""
    item = state.get(Item, item_id)
    last = None if item is None else state.get(Stay, f"{item_id}/{item.stays:04d}")
    return last is not None and last.at > at


def _booked(state: State, item: Item) -> str:
    """Return where the book has a thing, or what became of it."""
    if item.status != "held":
        by = f" by entry {item.used_by}" if item.used_by else ""
        return item.status.replace("_", " ") + by
    return f"in {moves.last_vessel(state, item) or item.place or 'no vessel'}"


def _words(row: FoundRow) -> str:
    if row.gross is None:
        return row.thing
    tare = f", tare {row.tare}" if row.tare else ""
    return f"{row.thing} ({row.gross}{tare})"
