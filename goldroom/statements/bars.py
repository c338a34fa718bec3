"""Bars: numbered and weighed when cool and clean, drilled and weighed again.

The stamped number is what people read off the bar; a number seen twice is recorded
and noticed. A bar's newest mass is the one that ships: what a drill took is held by
the smelt beside the dip samples, with a mass of its own, so the metal of the bar as
poured is the bar and its samples together.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal

from goldroom.custody import moves
from goldroom.custody.act import Act
from goldroom.custody.figures import latest_mass, mass
from goldroom.custody.moves import NewItem
from goldroom.custody.notices import notice
from goldroom.custody.numbers import check_numbers, number_notices
from goldroom.custody.reading import Reading
from goldroom.custody.records import Item, Marker, Record
from goldroom.custody.rules import check_new_items, item_at_hand, pass_on
from goldroom.custody.state import State
from goldroom.custody.weighed import (
    Weighed,
    check_taken,
    mean_g,
    mean_terms,
    net_terms,
    repeat_notices,
    weighed_notices,
)
from goldroom.errors import BarHeavierThanCharge, NotInThisState
from goldroom.statements import fields
from goldroom.statements.fields import BadField
from goldroom.statements.kind import Statement, kind
from goldroom.statements.limits import limit_value
from goldroom.statements.openings import (
    OpenedRow,
    check_openings,
    check_taken_out,
    open_vessels,
    opened_field,
    openings_words,
)
from goldroom.statements.wording import listed


@kind("bar.numbered", group="room", title="Bar numbered", can_void=True)
@dataclass(frozen=True, kw_only=True)
class BarNumbered(Statement):
    """A casting cooled, cleaned, stamped with its number and weighed."""

    item: str = fields.code("Casting", table="item")
    opened: tuple[OpenedRow, ...] = opened_field()
    stamped: str = fields.code("Stamped number", help="Read it off the bar")
    first: Reading = fields.reading("First reading")
    second: Reading | None = fields.reading("Second reading", optional=True)
    photo: str | None = fields.text(
        "Photograph", optional=True, help="Name of the attached picture of the stamp"
    )

    def check(self, act: Act, state: State) -> None:
        """Refuse a bar numbered before, and a bar heavier than its charge."""
        item = item_at_hand(state, self.item, "item", sorts=("bar",))
        if item.step != "smelt":
            raise NotInThisState(
                f"item: {self.item} was numbered already ({item.label}). To weigh it"
                " again, say that it was re-weighed.",
                field="item",
            )
        check_openings(state, self.opened, ())
        check_taken_out(state, item, self.opened, "item")
        self.check_figures(act, state)

    def check_figures(self, act: Act, state: State) -> None:
        """Refuse readings that cannot be, and bars heavier than what was charged."""
        _check_readings(state, act, self.first, self.second)
        charged_g = _charged_g(state, self.item)
        others_g = _other_bars_g(state, self.item)
        bar_g = mean_g(_readings(self.first, self.second))
        if charged_g is not None and bar_g + others_g > charged_g:
            raise BarHeavierThanCharge(
                f"first: {self.item} weighs {bar_g} g and the other bars of its pour"
                f" {others_g} g, but only {charged_g} g was charged, dry. Weigh it"
                " again; if it stands, look for a source that was not listed.",
                field="first.reading",
            )

    def apply(self, act: Act, state: State) -> Iterator[Record]:
        """Yield the numbered bar, in the vault's balance, with its mass."""
        item = state.get(Item, self.item)
        assert item is not None
        yield replace(item, label=self.stamped)
        yield from open_vessels(state, act, self.opened)
        yield from pass_on(state, act, self.item, "vault")
        yield from moves.set_down(state, act, (self.item,), item.place)
        yield from self._stamp(act, state)
        yield from number_notices(
            state, act, "bar", number=self.stamped, item=self.item
        )
        yield from self.measures(act, state)
        yield from _reading_findings(state, act, self.item, self.first, self.second)

    def _stamp(self, act: Act, state: State) -> Iterator[Record]:
        """Yield the number taken, or the finding that another bar bears it."""
        name = stamp_marker(self.stamped)
        taken = state.get(Marker, name)
        if taken is None:
            yield Marker(name=name, value=self.item, entry=act.entry)
            return
        closed = state.get(Marker, closed_marker(self.stamped))
        yield notice(
            state,
            act,
            "stamped_number_twice",
            item=self.item,
            found=self.stamped,
            expected="a number stamped once",
            message=f"{taken.value} bears the number {self.stamped} already"
            if closed is None
            else f"the number {self.stamped} was closed when {taken.value} was melted"
            f" again in {closed.value}",
        )

    def measures(self, act: Act, state: State) -> Iterator[Record]:
        """Yield the bar's mass."""
        yield from _bar_mass(state, act, self.item, self.first, self.second)

    def sentence(self) -> str:
        """Return what the journal reads aloud."""
        return (
            f"Bar {self.item} was stamped {self.stamped} and weighed"
            f" {_reading_words(self.first, self.second)}."
            + openings_words(self.opened, ())
        )


def stamp_marker(number: str) -> str:
    """Return the marker's name under which a stamped number finds its bar."""
    return f"stamp:{number}"


def closed_marker(number: str) -> str:
    """Return the marker's name that closes the number of a bar melted again."""
    return f"stamp_closed:{number}"


@dataclass(frozen=True, kw_only=True)
class TakenRow:
    """What was taken off a bar between two weighings."""

    item: str = fields.code("Sample id", help="A new id, never used before")
    taken_by: str = fields.choice(
        "Way", ("drill", "cleaning"), help="Drillings, or scale and flux cleaned off"
    )
    mass: Reading = fields.reading("Mass")


@kind("bar.reweighed", group="room", title="Bar re-weighed", can_void=True)
@dataclass(frozen=True, kw_only=True)
class BarReweighed(Statement):
    """A bar weighed again after drilling: the mass that ships."""

    item: str = fields.code("Bar", table="item")
    opened: tuple[OpenedRow, ...] = opened_field()
    taken: tuple[TakenRow, ...] = fields.rows(
        "Taken off", TakenRow, optional=True, most=20
    )
    first: Reading = fields.reading("First reading")
    second: Reading | None = fields.reading("Second reading", optional=True)

    def check(self, act: Act, state: State) -> None:
        """Refuse a bar not numbered or not at hand, and ids used before."""
        item = item_at_hand(state, self.item, "item", sorts=("bar",))
        if item.step != "vault":
            raise NotInThisState(
                f"item: {self.item} was not numbered yet. Stamp and weigh it first.",
                field="item",
            )
        check_openings(state, self.opened, ())
        check_taken_out(state, item, self.opened, "item")
        taken = [(row.item, f"taken[{n}].item") for n, row in enumerate(self.taken)]
        check_new_items(state, taken)
        check_numbers(state, act, "sample", taken)
        self.check_figures(act, state)

    def check_figures(self, act: Act, state: State) -> None:
        """Refuse readings that cannot be."""
        _check_readings(state, act, self.first, self.second)
        for n, row in enumerate(self.taken):
            check_taken(state, act, row.mass, f"taken[{n}].mass")

    def apply(self, act: Act, state: State) -> Iterator[Record]:
        """Yield the samples, the new mass, and a change that they do not explain."""
        item = state.get(Item, self.item)
        assert item is not None
        yield from open_vessels(state, act, self.opened)
        for row in self.taken:
            new = NewItem(
                item=row.item,
                sort="sample" if row.taken_by == "drill" else "sweepings",
                step="smelt",
                from_step="smelt",
                place=item.place,
                parents=(self.item,),
                source=item.source,
                label=f"{row.taken_by} of {self.item}",
            )
            yield from moves.make(state, act, new)
        yield from moves.set_down(state, act, (self.item,), item.place)
        yield from self._mass_change(act, state)
        yield from self.measures(act, state)
        yield from _reading_findings(state, act, self.item, self.first, self.second)
        for row in self.taken:
            yield from weighed_notices(state, act, (row.mass,), row.item)

    def _mass_change(self, act: Act, state: State) -> Iterator[Record]:
        """Yield a finding if the bar changed by more than what was taken off it."""
        before = latest_mass(state, self.item)
        if before is None:
            return
        taken_g = sum((row.mass.grams for row in self.taken), Decimal(0))
        expected_g = before.net_g - taken_g
        change_g = mean_g(_readings(self.first, self.second)) - expected_g
        limit_g = limit_value(state, "bar_mass_change_g")
        if abs(change_g) > limit_g:
            yield notice(
                state,
                act,
                "item_lost_mass" if change_g < 0 else "item_gained_mass",
                item=self.item,
                found=_reading_words(self.first, self.second),
                expected=f"{expected_g} g within {limit_g} g",
                message=(
                    f"{self.item} changed by {change_g} g beyond the {taken_g} g"
                    " taken off it"
                ),
            )

    def measures(self, act: Act, state: State) -> Iterator[Record]:
        """Yield the bar's new mass and the samples' masses."""
        yield from _bar_mass(state, act, self.item, self.first, self.second)
        for n, row in enumerate(self.taken):
            weighed = Weighed(gross=row.mass)
            yield from mass(
                state,
                act,
                item=row.item,
                terms=net_terms(state, act, weighed, f"taken[{n}]"),
                wanted_for="sample",
            )

    def sentence(self) -> str:
        """Return what the journal reads aloud."""
        taken = [f"{row.item} ({row.mass}, by {row.taken_by})" for row in self.taken]
        were = "were" if len(taken) > 1 else "was"
        after = f" after {listed(taken)} {were} taken off" if taken else ""
        return (
            f"Bar {self.item} was weighed again{after}:"
            f" {_reading_words(self.first, self.second)}."
            + openings_words(self.opened, ())
        )


def _readings(first: Reading, second: Reading | None) -> tuple[Reading, ...]:
    return (first,) if second is None else (first, second)


def _reading_words(first: Reading, second: Reading | None) -> str:
    return str(first) if second is None else f"{first} and {second}"


def _check_readings(
    state: State, act: Act, first: Reading, second: Reading | None
) -> None:
    check_taken(state, act, first, "first")
    if second is None:
        return
    check_taken(state, act, second, "second")
    if second.instrument != first.instrument:
        raise BadField(
            f"second.instrument: the first reading is from {first.instrument}, the"
            f" second from {second.instrument}. Read both on one balance.",
            field="second.instrument",
        )


def _bar_mass(
    state: State, act: Act, item: str, first: Reading, second: Reading | None
) -> Iterator[Record]:
    terms = mean_terms(state, act, _readings(first, second), "bar")
    yield from mass(state, act, item=item, terms=terms, wanted_for="bar")


def _reading_findings(
    state: State, act: Act, item: str, first: Reading, second: Reading | None
) -> Iterator[Record]:
    readings = _readings(first, second)
    yield from weighed_notices(state, act, readings, item)
    yield from repeat_notices(state, act, readings, item)


def _charge_of(state: State, bar: str) -> Item | None:
    item = state.get(Item, bar)
    assert item is not None
    return state.get(Item, item.parents[0]) if item.parents else None


def _charged_g(state: State, bar: str) -> Decimal | None:
    """Return the dry mass charged; None where a source was never weighed."""
    charge = _charge_of(state, bar)
    if charge is None:
        return None
    masses = [latest_mass(state, each) for each in charge.parents]
    known = [each.dry_g for each in masses if each is not None]
    return sum(known, Decimal(0)) if len(known) == len(masses) else None


def _other_bars_g(state: State, bar: str) -> Decimal:
    """Return the mass of the pour's other bars, as far as they were weighed."""
    charge = _charge_of(state, bar)
    siblings: Sequence[str] = () if charge is None else charge.children
    bars = [
        latest_mass(state, each)
        for each in siblings
        if each != bar and (item := state.get(Item, each)) and item.sort == "bar"
    ]
    return sum((each.net_g for each in bars if each is not None), Decimal(0))
