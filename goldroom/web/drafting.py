"""From a form's boxes to a saying, and from a link or the last act to a new form."""

import json
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from typing import Any

from goldroom.errors import Refusal
from goldroom.faces import drafts
from goldroom.faces.acts import check
from goldroom.faces.clock import now_text
from goldroom.faces.drafts import Kept
from goldroom.faces.offered import Hands, hands_for
from goldroom.faces.reader import Reader
from goldroom.reports.carried import carried
from goldroom.reports.known import known
from goldroom.reports.metal import site_clock
from goldroom.sayings import Saying, Signer
from goldroom.statements.fields import refusals
from goldroom.statements.registry import kind_named
from goldroom.web import correcting, prefilled
from goldroom.web.problems import Problem, problem_of
from goldroom.web.values import Turned, Typed, boxes_of, moment_text, turned
from ledger.core.errors import LedgerRefusal

AT, SIGNER = "@occurred_at", "@signer_"
"""Boxes beside those of the statement's own fields."""


@dataclass(frozen=True, kw_only=True)
class Checked:
    """What a form comes to: the saying, and what is wrong with it (nothing, if good).

    `statement` is what would be signed, None where something is wrong.
    """

    saying: Saying
    problems: tuple[Problem, ...]
    statement: Mapping[str, Any] | None = None


def fresh(reader: Reader, kind: str, asked: Mapping[str, str]) -> Kept:
    """Return a new form: what is carried over, what the link gave, and now."""
    before = carried(reader.ledger_id, kind, reader.person)
    hands = hands_for(reader, kind)
    values = {**before.values, **prefilled.values(reader.ledger_id, kind)}
    given = {name: text for name, text in asked.items() if not name.startswith("@")}
    corrects = given.pop("corrects", "") if kind == correcting.KIND else ""
    if corrects:
        values |= correcting.boxes(reader, corrects)
    values |= given | _hands_before(reader, hands, before.signers)
    clock = site_clock(reader.ledger_id)
    at = now_text(reader.ledger_id)
    values[AT] = clock.wall_text(at).replace(" ", "T")
    return Kept(entry_id=drafts.new_id(), kind=kind, corrects=corrects, boxes=values)


def draft_of(
    reader: Reader, kind: str, data: Mapping[str, Any], *, at: str = ""
) -> str:
    """Keep a draft with values that a report has drawn up; return its entry id.

    `at` is a wall-clock text of the site; now, if left out.
    """
    new = fresh(reader, kind, boxes_of(data))
    if kind in prefilled.WHOLE:
        new = replace(new, boxes={**new.boxes, prefilled.WHOLE_BOX: json.dumps(data)})
    if at:
        new = replace(new, boxes={**new.boxes, AT: at})
    drafts.keep(reader, new)
    return new.entry_id


def _hands_before(
    reader: Reader, hands: Hands, before: tuple[tuple[str, str], ...]
) -> dict[str, str]:
    """Return the signers' boxes: the reader, and who signed beside them last time."""
    values = {f"{SIGNER}0": hands.own[0].value} if hands.own else {}
    others = [f"{p}:{role}" for p, role in before if p != reader.person]
    for n, place in enumerate(hands.places):
        possible = {each.value for each in place}
        if n < len(others) and others[n] in possible:
            values[f"{SIGNER}{n + 1}"] = others[n]
    return values


def checked(reader: Reader, kept: Kept) -> Checked:
    """Return what a form comes to, with every problem found in one go."""
    turned_values = values_of(reader, kept)
    saying = _saying(reader, kept, turned_values.data)
    found = [_placed(kept, problem_of(each)) for each in turned_values.refusals]
    if kept.kind != correcting.KIND:
        cls = kind_named(kept.kind)
        found += _others(refusals(cls, turned_values.data), found)
    found += _missing_hands(reader, kept)
    if found:
        return Checked(saying=saying, problems=tuple(found))
    try:
        statement = check(reader, saying)
    except (Refusal, LedgerRefusal) as refusal:
        return Checked(saying=saying, problems=(_placed(kept, problem_of(refusal)),))
    return Checked(saying=saying, problems=(), statement=statement)


def values_of(reader: Reader, kept: Kept) -> Turned:
    """Return a form's values as a statement's data, with what cannot be turned."""
    if prefilled.WHOLE_BOX in kept.boxes:
        return Turned(data=json.loads(kept.boxes[prefilled.WHOLE_BOX]), refusals=())
    instruments = known(reader.ledger_id, {"instrument"})["instrument"]
    typed = Typed(
        boxes=kept.boxes,
        zone=site_clock(reader.ledger_id).zone,
        units={each.value: each.unit for each in instruments},
    )
    if kept.kind == correcting.KIND:
        return correcting.values(reader, kept.corrects, typed)
    return turned(kind_named(kept.kind), typed)


def _saying(reader: Reader, kept: Kept, data: Mapping[str, Any]) -> Saying:
    zone = site_clock(reader.ledger_id).zone
    try:
        occurred_at = moment_text(kept.boxes.get(AT, "").strip(), zone, "occurred_at")
    except Refusal:
        occurred_at = kept.boxes.get(AT, "")  # refused once more, at its box
    return Saying(
        kind=kept.kind,
        data=data,
        occurred_at=occurred_at,
        signers=tuple(
            Signer(person=person, role=role)
            for name, text in sorted(kept.boxes.items())
            if name.startswith(SIGNER) and text
            for person, _, role in [text.partition(":")]
        ),
        entry_id=kept.entry_id,
        corrects=kept.corrects,
        attachments=kept.attachments,
    )


def _missing_hands(reader: Reader, kept: Kept) -> list[Problem]:
    """Return a problem for each signature's place that names nobody."""
    places = hands_for(reader, kept.kind).places
    return [
        Problem(
            code="signer_missing",
            field=f"{SIGNER}{n + 1}",
            message="Choose who signs with you.",
        )
        for n in range(len(places))
        if not kept.boxes.get(f"{SIGNER}{n + 1}")
    ]


def _others(more: Iterable[Refusal], found: list[Problem]) -> list[Problem]:
    """Return problems of fields that have none yet."""
    taken = {each.field for each in found}
    problems = [problem_of(refusal) for refusal in more]
    return [
        problem
        for problem in problems
        if not any(_is_same_box(problem.field, each) for each in taken)
    ]


def _is_same_box(one: str, other: str) -> bool:
    return one == other or f"{other}.".startswith(f"{one}.")


def _placed(kept: Kept, problem: Problem) -> Problem:
    """Return a problem at the box that the form has for it."""
    field = problem.field
    if field == "occurred_at":
        return replace(problem, field=AT)
    if field.startswith("signers"):
        number = "".join(sign for sign in field if sign.isdigit()) or "1"
        return replace(problem, field=f"{SIGNER}{number}")
    if kept.kind == correcting.KIND and f"values.{field}" in kept.boxes:
        return replace(problem, field=f"values.{field}")
    return problem
