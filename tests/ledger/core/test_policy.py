import itertools

import pytest

from ledger.core.errors import MalformedPolicy
from ledger.core.policy import Group, Holder, parse_classes, parse_policy
from tests.ledger.core.builder import CLASSES, POLICY

ROOM = Group("room", (("officer",), ("witness", "security")), lines_differ=True)
VAULT = Group(
    "vault", (("officer",), ("security", "officer"), ("manager",)), lines_differ=False
)


@pytest.mark.parametrize(
    ("group", "holders", "open_slots"),
    [
        pytest.param(ROOM, "", 2, id="nobody"),
        pytest.param(ROOM, "a:officer:mill", 1, id="the officer alone"),
        pytest.param(ROOM, "a:officer:mill b:witness:guard", 0, id="both"),
        pytest.param(ROOM, "b:security:guard a:officer:mill", 0, id="in any order"),
        pytest.param(ROOM, "a:officer:mill b:officer:guard", 1, id="two officers"),
        pytest.param(ROOM, "a:officer:mill b:witness:mill", 1, id="one line"),
        pytest.param(ROOM, "a:officer:mill a:witness:guard", 1, id="one person"),
        pytest.param(
            ROOM,
            "a:officer:mill b:witness:mill c:witness:guard",
            0,
            id="a third of another line",
        ),
        pytest.param(
            ROOM, "a:officer:mill b:manager:guard", 1, id="a role that fills nothing"
        ),
        pytest.param(
            VAULT,
            "a:officer:x b:officer:x c:manager:x",
            0,
            id="the second officer takes the slot that both fit",
        ),
        pytest.param(
            VAULT, "a:officer:x b:manager:x", 1, id="one officer fills one slot"
        ),
        pytest.param(
            VAULT, "b:security:x c:manager:x", 1, id="the first slot stays open"
        ),
    ],
)
def test_the_slots_left_open_are_counted(group, holders, open_slots):
    people = [Holder(*text.split(":")) for text in holders.split()]
    assert len(group.unfilled(people)) == open_slots


def test_the_order_of_signers_never_matters():
    people = [
        Holder("a", "officer", "x"),
        Holder("b", "security", "x"),
        Holder("c", "officer", "y"),
        Holder("d", "manager", "y"),
    ]
    for group in (ROOM, VAULT):
        counts = {
            len(group.unfilled(order)) for order in itertools.permutations(people)
        }
        assert counts == {0}


def changed(**changes):
    return {**POLICY, **changes}


GROUP = POLICY["groups"][0]


def regrouped(**changes):
    """Return the policy with its first group changed and nothing else."""
    return changed(groups=[{**GROUP, **changes}, POLICY["groups"][1]])


BAD_POLICIES = {
    "no object": [],
    "spare field": changed(comment="x"),
    "lag of nothing": changed(basis_lag_entries=0),
    "lag is text": changed(basis_lag_entries="8"),
    "groups no list": changed(groups=7),
    "group twice": changed(groups=[GROUP, GROUP, POLICY["groups"][1]]),
    "group of one slot": regrouped(slots=[["officer"]]),
    "group of five slots": regrouped(slots=[["officer"]] * 5),
    "empty slot": regrouped(slots=[["officer"], []]),
    "slot is text": regrouped(slots=["abc", "def"]),
    "role twice in a slot": regrouped(slots=[["a", "a"], ["b"]]),
    "role no name": regrouped(slots=[["A b"], ["b"]]),
    "lines_differ is text": regrouped(lines_differ="yes"),
    "kind in no group": changed(kinds=[{"kind": "a.b", "group": "nowhere"}]),
    "kind twice": changed(kinds=[*POLICY["kinds"], POLICY["kinds"][0]]),
    "kind no name": changed(kinds=[{"kind": "weighed", "group": "room"}]),
    "kind rule without group": changed(kinds=[{"kind": "a.b"}]),
}


@pytest.mark.parametrize("policy", BAD_POLICIES.values(), ids=BAD_POLICIES.keys())
def test_a_broken_policy_is_refused(policy):
    with pytest.raises(MalformedPolicy):
        parse_policy(policy)


BAD_CLASSES = {
    "missing class": {name: CLASSES[name] for name in ("genesis", "machine")},
    "class two listed": {**CLASSES, "two": []},
    "enrolment by one": {**CLASSES, "single": ["person.enrolled"]},
    "policy by the server": {**CLASSES, "server": ["policy.set"]},
    "opening twice over": {**CLASSES, "single": ["ledger.opened"]},
    "genesis of another kind": {**CLASSES, "genesis": ["ledger.opened", "a.b"]},
    "genesis of nothing": {**CLASSES, "genesis": []},
    "kind twice": {**CLASSES, "machine": ["a.b", "a.b"]},
    "kind no name": {**CLASSES, "machine": ["cycles"]},
    "no list": {**CLASSES, "machine": "cycles.recorded"},
}


@pytest.mark.parametrize("classes", BAD_CLASSES.values(), ids=BAD_CLASSES.keys())
def test_a_broken_class_list_is_refused(classes):
    with pytest.raises(MalformedPolicy):
        parse_classes(classes)


def test_a_kind_is_wider_only_where_it_was_not_allowed():
    first = parse_classes(CLASSES)
    narrower = parse_classes({**CLASSES, "single": []})
    moved = parse_classes({**CLASSES, "machine": ["record.emergency"]})
    assert narrower.wider_than(first) == []
    assert first.wider_than(narrower) == ["record.emergency as single"]
    assert moved.wider_than(first) == ["record.emergency as machine"]
    assert first.allow("two", "anything.said")
    assert not first.allow("machine", "hopper.weighed")


def test_the_policy_is_in_order_before_it_is_spoiled():
    assert parse_policy(regrouped()).group_of("hopper.weighed").name == "room"
    assert parse_policy(POLICY).group_of("nobody.said") is None
