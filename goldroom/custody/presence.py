"""Who is in a room after an act, what stands there, and what should be noticed."""

from collections.abc import Iterator

from goldroom.custody.act import Act
from goldroom.custody.names import plain_name
from goldroom.custody.notices import notice
from goldroom.custody.record import Record
from goldroom.custody.room import Inside, Occupancy, PlaceVessels
from goldroom.custody.state import State


def occupancy_of(state: State, place: str) -> Occupancy:
    """Return who is in a place; nobody, if nobody was ever signed in there."""
    empty = Occupancy(place=place, inside=(), at="", known_at="")
    return state.get(Occupancy, place) or empty


def is_same(one: Inside, other: Inside) -> bool:
    """Tell whether two lines at the door speak of the same person or visitor."""
    return one.is_visitor == other.is_visitor and (
        plain_name(one.who) == plain_name(other.who)
        if one.is_visitor
        else one.who == other.who
    )


def now_inside(
    state: State, act: Act, place: str, inside: tuple[Inside, ...]
) -> Iterator[Record]:
    """Yield who is in the place from now on, and what should be noticed about it."""
    there = Occupancy(place=place, inside=inside, at=act.at, known_at=act.known_at)
    yield there
    if len(there.persons) == 1:
        yield notice(
            state,
            act,
            "alone_in_room",
            item=place,
            found=f"{there.persons[0]} alone",
            expected="two persons enrolled here, or nobody",
            message=f"one person was left alone in {place}",
        )
    for visitor in there.visitors:
        if visitor.escort not in there.persons:
            yield notice(
                state,
                act,
                "visitor_without_escort",
                item=place,
                found=f"{visitor.who} ({visitor.organisation}) without"
                f" {visitor.escort}",
                expected="the escort stays until the visitor has left",
                message=f"a visitor was left without the escort in {place}",
            )


def vessels_at(state: State, place: str) -> tuple[str, ...]:
    """Return the ids of the vessels registered at a place."""
    found = state.get(PlaceVessels, place)
    return () if found is None else found.vessels


def with_vessel(state: State, place: str, vessel: str) -> PlaceVessels:
    """Return the vessels of a place with one more."""
    return PlaceVessels(place=place, vessels=(*vessels_at(state, place), vessel))
