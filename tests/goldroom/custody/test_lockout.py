"""Who could sign what decides who signs: never nobody."""

import itertools
from typing import Any

from hypothesis import given
from hypothesis import strategies as st

from goldroom.custody.lockout import check_signable, roles_held
from goldroom.custody.records import Person
from goldroom.custody.signing import RoleHolders, SigningRule, Slot
from goldroom.custody.state import State
from goldroom.errors import NobodyCouldSign

ROLES = ("a", "b", "c")
PEOPLE = st.lists(
    st.tuples(
        st.lists(st.sampled_from(ROLES), min_size=1, max_size=3, unique=True),
        st.sampled_from(("x", "y")),
        st.booleans(),
    ),
    max_size=5,
)
SLOTS = st.lists(
    st.lists(st.sampled_from(ROLES), min_size=1, max_size=3, unique=True),
    min_size=2,
    max_size=4,
)


def somebody(n: int, roles: list[str], line: str, has_key: bool) -> Person:
    """Return the n-th person."""
    return Person(
        person=f"p-{n}",
        name=f"Person {n}",
        line=line,
        roles=tuple(roles),
        keys=("key",) if has_key else (),
        sort="person",
    )


def rule(slots: list[list[str]], lines_differ: bool) -> SigningRule:
    """Return the rule for setting the policy."""
    return SigningRule(
        kind="policy.set",
        slots=tuple(Slot(roles=tuple(slot)) for slot in slots),
        lines_differ=lines_differ,
        entry="e-0",
    )


def is_signable(state: State, **more: Any) -> bool:
    """Tell whether nothing is refused."""
    try:
        check_signable(state, "policy", **more)
    except NobodyCouldSign:
        return False
    return True


def by_trying(people: list[Person], wanted: SigningRule) -> bool:
    """Tell by trying every placing whether a rule's slots can be filled."""
    able = [each for each in people if each.keys]
    return any(
        all(
            set(slot.roles) & set(one.roles)
            for slot, one in zip(wanted.slots, placed, strict=True)
        )
        and (
            not wanted.lines_differ or len({one.line for one in placed}) == len(placed)
        )
        for placed in itertools.permutations(able, len(wanted.slots))
    )


@given(PEOPLE, SLOTS, st.booleans())
def test_a_rule_can_be_filled_just_when_some_placing_fills_it(people, slots, differ):
    state = State()
    enrolled = [somebody(n, *each) for n, each in enumerate(people)]
    for each in enrolled:
        for record in (each, *roles_held(state, None, each)):
            state.put(record)
    wanted = rule(slots, differ)
    state.put(wanted)
    assert is_signable(state) == by_trying(enrolled, wanted)


@given(PEOPLE, SLOTS, st.booleans(), st.data())
def test_a_change_of_a_person_is_judged_as_if_it_were_made(people, slots, differ, data):
    state = State()
    enrolled = [somebody(n, *each) for n, each in enumerate(people)]
    for each in enrolled:
        for record in (each, *roles_held(state, None, each)):
            state.put(record)
    wanted = rule(slots, differ)
    state.put(wanted)
    n = data.draw(st.integers(min_value=0, max_value=len(people)))
    changed = somebody(n, *data.draw(PEOPLE.filter(bool))[0])
    after = [each for each in enrolled if each.person != changed.person]
    judged = is_signable(state, instead=changed)
    assert judged == by_trying([*after, changed], wanted)
    before = enrolled[n] if n < len(enrolled) else None
    for record in (changed, *roles_held(state, before, changed)):
        state.put(record)
    assert is_signable(state) == judged


def test_who_loses_the_last_key_or_a_role_is_no_holder_any_more():
    state = State()
    first = somebody(1, ["a", "b"], "x", True)
    for record in roles_held(state, None, first):
        state.put(record)
    assert holders(state) == {"a": ("p-1",), "b": ("p-1",)}
    moved = somebody(1, ["b", "c"], "x", True)
    for record in roles_held(state, first, moved):
        state.put(record)
    assert holders(state) == {"a": (), "b": ("p-1",), "c": ("p-1",)}
    for record in roles_held(state, moved, somebody(1, ["b", "c"], "x", False)):
        state.put(record)
    assert holders(state) == {"a": (), "b": (), "c": ()}


def holders(state: State) -> dict[str, tuple[str, ...]]:
    """Return the holders of every role."""
    return {
        each.role: each.persons
        for each in state.all_held().values()
        if isinstance(each, RoleHolders)
    }


def test_tables_from_before_these_records_are_not_judged_by():
    assert is_signable(State(), instead=somebody(1, ["a"], "x", False))
    assert is_signable(State(), rules=[rule([["a"], ["b"]], False)])
