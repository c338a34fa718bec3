"""The fold: state and entry to new state, the same for live use and for a rebuild.

`check` asks a statement's own rules and those every statement shares; `fold`
applies an accepted one. Between them stands only the ledger's append.
"""

from collections.abc import Iterator, Mapping, Sequence
from datetime import timedelta
from typing import Any

from goldroom.custody.act import Act
from goldroom.custody.codec import digest_of
from goldroom.custody.codec import text_of as text_of
from goldroom.custody.notices import notice
from goldroom.custody.period import LAST_CLOSED, ClosedPeriod
from goldroom.custody.records import (
    Assay,
    Before,
    Crossing,
    Emergency,
    Estimate,
    Item,
    Limit,
    Marker,
    Mass,
    MillDay,
    Noticed,
    Record,
    Said,
    Volume,
)
from goldroom.custody.state import State
from goldroom.errors import OccurredInFuture
from goldroom.statements.fields import BadField, dump, frame_digest, parse
from goldroom.statements.kind import Statement
from goldroom.statements.registry import kind_named

CLOCK_TOLERANCE = timedelta(minutes=5)
ENTERED_LATE_H = 4
CORRECTION = "record.corrected"
OF_METAL = (Item, Mass, Assay, Volume, Estimate, Crossing, MillDay)
"""Records that only a statement about metal changes."""


def read_values(name: str, values: Any, *, v: int = 1) -> Statement:
    """Return the statement of this kind; refuse unknown kinds and bad fields."""
    return parse(kind_named(name, v), values)


def canonical_values(said: Statement) -> dict[str, Any]:
    """Return the one form in which these values are signed."""
    return dump(said)


def check(said: Statement, act: Act, state: State) -> None:
    """Raise a refusal if the statement cannot be accepted in this state."""
    if act.occurred_at > act.received_at + CLOCK_TOLERANCE:
        raise OccurredInFuture(
            f"occurred_at: {act.at} has not come yet (it is {act.known_at})."
            " Write when it happened.",
            field="occurred_at",
        )
    if act.corrects_entry and said.kind_name != CORRECTION:
        raise BadField(
            f"corrects: a {said.kind_name} corrects nothing. Say {CORRECTION} with"
            " the whole corrected values.",
            field="corrects",
        )
    said.check(act, state)


def fold(said: Statement, act: Act, state: State) -> None:
    """Put what the accepted statement changes into the state."""
    before: dict[tuple[str, str], str] = {}
    of_metal: list[Record] = []
    for record in said.apply(act, state):
        _hold(state, record, before if said.can_void else None)
        if isinstance(record, OF_METAL):
            of_metal.append(record)
    for record in (*_shared(said, act, state), *_after_close(act, state, of_metal)):
        _hold(state, record, None)
    for record in _before_made(act, state, of_metal):
        _hold(state, record, None)
    if said.klass == "two":
        state.put(_remembered(said, act, state, before))


def _hold(
    state: State, record: Record, before: dict[tuple[str, str], str] | None
) -> None:
    at = (record.table, record.key)
    is_kept_by_a_void = isinstance(record, Noticed)
    if before is not None and at not in before and not is_kept_by_a_void:
        held = state.get(type(record), record.key)
        before[at] = "" if held is None else text_of(held)
    state.put(record)


def _remembered(
    said: Statement, act: Act, state: State, before: dict[tuple[str, str], str]
) -> Said:
    images = tuple(
        Before(
            table=table,
            key=key,
            text=text,
            digest_after=digest_of(text_of(state.get_by_name(table, key))),
        )
        for (table, key), text in before.items()
    )
    return Said(
        entry=act.entry,
        kind=act.kind,
        v=said.v,
        people=act.people,
        frame=frame_digest(said) if said.has_figures() else "",
        at=act.at,
        corrected_by=(),
        voided_by="",
        before=images,
    )


def _shared(said: Statement, act: Act, state: State) -> list[Record]:
    found: list[Record] = []
    limit = state.get(Limit, "entered_late_h")
    late_h = ENTERED_LATE_H if limit is None else int(limit.value)
    if said.klass == "two" and act.received_at - act.occurred_at > timedelta(
        hours=late_h
    ):
        found.append(
            notice(
                state,
                act,
                "entered_late",
                item="",
                found=f"entered {act.known_at}",
                expected=f"within {late_h} h of {act.at}",
                message="the statement was entered long after the event",
            )
        )
    if said.klass == "single":
        found.append(
            Emergency(
                entry=act.entry,
                status="open",
                person=act.people[0],
                at=act.at,
                ratified_by="",
            )
        )
    return found


def _before_made(
    act: Act, state: State, of_metal: Sequence[Record]
) -> Iterator[Record]:
    """Yield a finding for each thing that was used before it was there.

    One of the two times is wrong; a balance whose period ends between them shows it.
    """
    named: dict[str, None] = {}
    for record in of_metal:
        if isinstance(record, Crossing):
            named[record.item if record.entry == act.entry else ""] = None
        elif isinstance(record, Item) and record.used_by == act.entry:
            named[record.item] = None
        elif isinstance(record, Item) and record.made_by == act.entry:
            named[record.drawn_from] = None
    for item_id in named:
        item = state.get(Item, item_id)
        if item is None or item.status == "void" or item.sort == "flush":
            continue
        if act.at < item.held_from:
            yield notice(
                state,
                act,
                "used_before_made",
                item=item_id,
                found=f"used {act.at}",
                expected=f"at or after {item.held_from}, since when it is here",
                message=f"{item_id} was used before it was there: one of the two times"
                " is wrong",
            )


def _after_close(act: Act, state: State, of_metal: Sequence[Record]) -> list[Record]:
    """Return a finding if metal is spoken of in a period whose books are closed."""
    last = state.get(Marker, LAST_CLOSED) if of_metal else None
    closed = None if last is None else state.get(ClosedPeriod, last.value)
    if closed is None:
        return []
    original = state.get(Said, act.corrects_entry) if act.corrects_entry else None
    happened = act.at if original is None else original.at
    days = [each.day for each in of_metal if isinstance(each, MillDay)]
    if happened >= closed.to_at and not any(day <= closed.last_day for day in days):
        return []
    return [
        notice(
            state,
            act,
            "entered_after_close",
            item="",
            found=f"about {min(days, default=happened)}, entered {act.known_at}",
            expected=f"before {closed.period} was closed, {closed.at}",
            message="a closed period's figures may change; true them up or restate it",
        )
    ]


def fold_entry(
    name: str, v: int, values: Mapping[str, Any], act: Act, state: State
) -> Statement:
    """Fold an entry's values, as they stand in the record; return the statement."""
    said = read_values(name, values, v=v)
    fold(said, act, state)
    return said
