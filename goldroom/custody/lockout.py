"""Refusing what would leave nobody to sign for persons, keys and policy.

A rule's slots must be filled by different persons and, where the rule says so, of
different reporting lines. A rule has at most four slots, so four candidates for
each are enough to tell whether it can be filled (Hall's marriage theorem).
"""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace

from goldroom.custody.record import Record
from goldroom.custody.records import Person
from goldroom.custody.signing import STANDING_KINDS, RoleHolders, SigningRule
from goldroom.custody.state import State
from goldroom.errors import NobodyCouldSign


def check_signable(
    state: State,
    field: str,
    *,
    rules: Iterable[SigningRule] = (),
    instead: Person | None = None,
) -> None:
    """Refuse what would leave a standing kind without signers.

    `rules` would be in force instead of those that are; `instead` would be the person
    instead of who is enrolled under that id. Read tables from before these records
    were kept cannot be judged by until they are folded anew. Raises NobodyCouldSign.
    """
    if state.get(SigningRule, "policy.set") is None:
        return
    new_rules = {rule.kind: rule for rule in rules}
    for kind in STANDING_KINDS:
        rule = new_rules.get(kind) or state.get(SigningRule, kind)
        if rule is None or _can_be_filled(_candidates(state, rule, instead)):
            continue
        slots = "; ".join(" or ".join(slot.roles) for slot in rule.slots)
        apart = ", of different reporting lines" if rule.lines_differ else ""
        raise NobodyCouldSign(
            f"{field}: after this nobody could sign {kind} any more, which"
            f" {len(rule.slots)} persons sign{apart}: {slots}. Enrol others in these"
            " roles first.",
            field=field,
        )


def roles_held(state: State, before: Person | None, after: Person) -> Iterator[Record]:
    """Yield the holders of every role that a change of a person touches."""
    had = before.roles if before is not None else ()
    for role in sorted({*had, *after.roles}):
        held = state.get(RoleHolders, role) or RoleHolders(role=role, persons=())
        others = [each for each in held.persons if each != after.person]
        signs_in_it = bool(after.keys) and role in after.roles
        persons = sorted([*others, after.person] if signs_in_it else others)
        yield replace(held, persons=tuple(persons))


def _candidates(
    state: State, rule: SigningRule, instead: Person | None
) -> list[list[str]]:
    """Return who could fill each slot: persons, or lines where they must differ."""
    found: list[list[str]] = []
    for slot in rule.slots:
        there = dict.fromkeys(
            person.line if rule.lines_differ else person.person
            for role in slot.roles
            for person in _holders(state, role, instead)
        )
        found.append(list(there)[: len(rule.slots)])
    return found


def _holders(state: State, role: str, instead: Person | None) -> Iterator[Person]:
    held = state.get(RoleHolders, role)
    changed = "" if instead is None else instead.person
    for each in () if held is None else held.persons:
        person = state.get(Person, each)
        if person is not None and each != changed:
            yield person
    if instead is not None and instead.keys and role in instead.roles:
        yield instead


def _can_be_filled(candidates: Sequence[Sequence[str]]) -> bool:
    """Tell whether every slot can have a candidate of its own."""
    if not candidates:
        return True
    first, *others = candidates
    return any(
        _can_be_filled([[each for each in slot if each != chosen] for slot in others])
        for chosen in first
    )
