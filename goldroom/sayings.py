"""A saying: what people say and who will sign it, before anything is signed.

It is what a form, an API call or a line of a file holds. `statement_of` makes the
one statement of it that everybody signs; `line_of` and `read_line` are its form in
a JSON Lines file:

    {"kind": ..., "occurred_at": ..., "data": {...},
     "signers": [{"person": ..., "role": ...}, ...],
     "entry_id": ..., "corrects": {"entry": ...}, "attachments": [...],
     "withdrawn": ..., "received_at": ...}

The last five may be left out. `withdrawn` says why the first signer took the
statement back before the others signed: it then stands in the ledger as lapsed.
`received_at` plays the server's clock and is heard in demo ledgers only.
"""

import json
import uuid
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from goldroom.errors import Refusal
from goldroom.guess import meant

MEANINGS = ("recorded", "witnessed", "joined", "joined")
LINE_FIELDS = (
    "kind",
    "occurred_at",
    "data",
    "signers",
    "entry_id",
    "corrects",
    "attachments",
    "withdrawn",
    "received_at",
)
SHOWN_CHARACTERS = 20
ENTRY_ID_SPACE = uuid.UUID("5b1f7c6e-3d0a-5d0e-9c51-8f6d3a2b7e10")


class BadLine(Refusal):
    """A line of a file is not a statement's values."""

    code = "bad_line"


@dataclass(frozen=True, kw_only=True)
class Signer:
    """Somebody who will sign, in a role."""

    person: str
    role: str


@dataclass(frozen=True, kw_only=True)
class Saying:
    """What is said, when it happened, and by whom it will be signed.

    `entry_id` is made by whoever writes it, before the first request, so that a
    double click is harmless; `corrects` is the entry id of the entry corrected;
    `withdrawn` why it was taken back with only its first signature ("" if it was not);
    `received_at` is heard in demo ledgers only.
    """

    kind: str
    data: Mapping[str, Any]
    occurred_at: str
    signers: tuple[Signer, ...]
    entry_id: str = ""
    corrects: str = ""
    attachments: tuple[Mapping[str, Any], ...] = ()
    withdrawn: str = ""
    received_at: str = ""


def new_entry_id() -> str:
    """Return a fresh entry id."""
    return str(uuid.uuid4())


def line_entry_id(origin: str, line: str) -> str:
    """Return the entry id of a line of a file: the same line, the same id."""
    return str(uuid.uuid5(ENTRY_ID_SPACE, f"{origin}\n{line}"))


def line_of(saying: Saying) -> str:
    """Return the saying as one line of JSON."""
    plain: dict[str, Any] = {
        "kind": saying.kind,
        "occurred_at": saying.occurred_at,
        "data": saying.data,
        "signers": [
            {"person": each.person, "role": each.role} for each in saying.signers
        ],
    }
    if saying.entry_id:
        plain["entry_id"] = saying.entry_id
    if saying.corrects:
        plain["corrects"] = {"entry": saying.corrects}
    if saying.attachments:
        plain["attachments"] = [dict(each) for each in saying.attachments]
    if saying.withdrawn:
        plain["withdrawn"] = saying.withdrawn
    if saying.received_at:
        plain["received_at"] = saying.received_at
    return json.dumps(plain, ensure_ascii=False, separators=(",", ":"))


def read_line(line: str) -> Saying:
    """Return the saying of one line of JSON. Raises BadLine naming the field."""
    return saying_of(plain_of(line))


def plain_of(line: str) -> dict[str, Any]:
    """Return the named values of one JSON object: none twice, no bare decimals.

    Raises BadLine.
    """
    try:
        plain = json.loads(
            line,
            object_pairs_hook=_once,
            parse_float=_Bare,
            parse_constant=_Bare,
        )
    except json.JSONDecodeError as broken:
        raise _not_json(line, broken) from None
    except (RecursionError, ValueError):  # nested, or an integer long, beyond measure
        raise BadLine(
            "the line is nested too deeply or holds a number of thousands of digits."
            " Write one statement as an object of named values."
        ) from None
    if not isinstance(plain, dict):
        raise BadLine("the line is not an object. Write one JSON object a line.")
    for path, bare in _bare_numbers(plain):
        raise BadLine(
            f"{path}: found the bare number {bare.digits}; expected figures as text,"
            f' with every digit that was displayed. Write "{bare.digits}".',
            field=path,
        )
    return plain


def saying_of(plain: dict[str, Any]) -> Saying:
    """Return the saying of a line's values. Raises BadLine naming the field."""
    for name in plain:
        if name not in LINE_FIELDS:
            raise BadLine(
                f"{name}: no such field. {meant(name, LINE_FIELDS)}A line has"
                f" {', '.join(LINE_FIELDS)}.",
                field=name,
            )
    return Saying(
        kind=_text(plain, "kind"),
        data=_object(plain, "data"),
        occurred_at=_text(plain, "occurred_at"),
        signers=_signers(plain),
        entry_id=_text(plain, "entry_id", default=""),
        corrects=_corrected(plain),
        attachments=tuple(_attachments(plain)),
        withdrawn=_text(plain, "withdrawn", default=""),
        received_at=_text(plain, "received_at", default=""),
    )


def _once(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    found = dict(pairs)
    if len(found) != len(pairs):
        names = [name for name, _ in pairs]
        twice = next(name for name in names if names.count(name) > 1)
        raise BadLine(f"{twice}: written twice. Keep the one you mean.", field=twice)
    return found


@dataclass(frozen=True)
class _Bare:
    """A number with a point that stands in the line without quotation marks."""

    digits: str


def _bare_numbers(value: Any, path: str = "") -> Iterator[tuple[str, _Bare]]:
    """Yield every bare number in a line's values with its path, as fields name it."""
    if isinstance(value, _Bare):
        yield path.removeprefix("data."), value
    elif isinstance(value, dict):
        for name, each in value.items():
            yield from _bare_numbers(each, f"{path}.{name}" if path else name)
    elif isinstance(value, list):
        for n, each in enumerate(value):
            yield from _bare_numbers(each, f"{path}[{n}]")


def _not_json(line: str, broken: json.JSONDecodeError) -> BadLine:
    """Return why a line is not JSON, with what stands at the place that is wrong."""
    if not line.startswith("{"):
        return BadLine(
            f"the line is not JSON: it begins with {line[:SHOWN_CHARACTERS]!r},"
            " expected {. Write one JSON object a line."
        )
    before = line[max(0, broken.pos - SHOWN_CHARACTERS) : broken.pos]
    after = line[broken.pos : broken.pos + SHOWN_CHARACTERS]
    if not line.endswith("}"):
        return BadLine(
            f"the line is not JSON: it ends with {line[-SHOWN_CHARACTERS:]!r}, expected"
            " }. The file may have been cut short; write the whole statement on one"
            " line."
        )
    return BadLine(
        f"the line is not JSON: {broken.msg.lower()} at character {broken.pos + 1},"
        f" between {before!r} and {after!r}. Look for a comma, a colon, a bracket or a"
        " quotation mark that is missing or stands there too much."
    )


def _text(plain: dict[str, Any], name: str, default: str | None = None) -> str:
    value = plain.get(name, default)
    if not isinstance(value, str):
        raise BadLine(f"{name}: found {value!r}, expected text. Write it.", field=name)
    return value


def _object(plain: dict[str, Any], name: str) -> dict[str, Any]:
    value = plain.get(name)
    if not isinstance(value, dict):
        raise BadLine(
            f"{name}: found {value!r}, expected an object of named values. Write each"
            " value with its name.",
            field=name,
        )
    return value


def _signers(plain: dict[str, Any]) -> tuple[Signer, ...]:
    value = plain.get("signers")
    expected = 'expected a list such as [{"person": "p-one", "role": "officer"}, ...]'
    if not isinstance(value, list):
        raise BadLine(
            f"signers: found {value!r}, {expected}. Write it so.", field="signers"
        )
    found = []
    for n, each in enumerate(value):
        is_signer = isinstance(each, dict) and set(each) == {"person", "role"}
        if not is_signer or not all(isinstance(part, str) for part in each.values()):
            raise BadLine(
                f"signers[{n}]: found {each!r}, {expected}. Write it so.",
                field=f"signers[{n}]",
            )
        found.append(Signer(person=each["person"], role=each["role"]))
    return tuple(found)


def _corrected(plain: dict[str, Any]) -> str:
    value = plain.get("corrects")
    if value is None:
        return ""
    if not isinstance(value, dict) or not isinstance(value.get("entry"), str):
        raise BadLine(
            f'corrects: found {value!r}, expected {{"entry": "entry id"}}. Write it'
            " so.",
            field="corrects",
        )
    return str(value["entry"])


def _attachments(plain: dict[str, Any]) -> list[dict[str, Any]]:
    value = plain.get("attachments", [])
    if not isinstance(value, list) or not all(isinstance(each, dict) for each in value):
        raise BadLine(
            f"attachments: found {value!r}, expected a list of objects with name,"
            " media, sha256 and size. Write it so.",
            field="attachments",
        )
    return value
