"""From a body's named values to a saying, and to what opens the signers' keys."""

import uuid
from collections.abc import Mapping
from typing import Any

from goldroom.errors import Refusal
from goldroom.faces.acts import NotYourPlace, Opening
from goldroom.faces.backend import read_key_file
from goldroom.faces.own_key import bytes_of
from goldroom.faces.reader import Reader
from goldroom.sayings import Saying, saying_of
from goldroom.statements.fields import BadField, refusals
from goldroom.statements.registry import kind_named, kinds

SAID_ELSEWHERE = ("genesis", "server")
SHORTER = ("withdrawn", "received_at")


def saying_in(reader: Reader, body: Mapping[str, Any]) -> Saying:
    """Return the saying of a body. Raises BadLine, BadField and NotYourPlace."""
    for name in SHORTER:
        if name in body:
            raise BadField(
                f"{name}: no such field here. Leave it out.",
                field=name,
            )
    entry_id_in(body)
    saying = saying_of(dict(body))
    if kind_named(saying.kind).klass in SAID_ELSEWHERE:
        raise NotYourPlace(
            f"kind: {saying.kind} is not said by a program. Use the commands of the"
            " server.",
            field="kind",
        )
    if reader.person not in [each.person for each in saying.signers]:
        raise NotYourPlace(
            f"signers: {reader.person} asks and is not among them. Send only what you"
            " sign yourself.",
            field="signers",
        )
    return saying


def entry_id_in(body: Mapping[str, Any]) -> str:
    """Return the entry id that the client made. Raises BadField."""
    found = body.get("entry_id")
    try:
        is_id = isinstance(found, str) and str(uuid.UUID(found)) == found
    except ValueError:
        is_id = False
    if not is_id:
        raise BadField(
            "entry_id: expected a UUID in small letters, made by you before the first"
            " try, so that the same statement is never taken twice. Make one.",
            field="entry_id",
        )
    return str(found)


def opening_in(value: Any, field: str = "") -> Opening:
    """Return what opens a signer's key. Raises BadField and refusals of the file."""
    at = f"{field}." if field else ""
    if not isinstance(value, dict):
        raise BadField(
            f"{field}: expected person and passphrase. Write an object.", field=field
        )
    for name in value:
        if name not in ("person", "passphrase", "key_file"):
            raise BadField(
                f"{at}{name}: no such field. Write person, passphrase and, where the"
                " key is not kept on the server, key_file.",
                field=f"{at}{name}",
            )
    content = b""
    if "key_file" in value:
        content = bytes_of(text_in(value, "key_file", at), f"{at}key_file")
        content = read_key_file(len(content), content)
    return Opening(
        person=text_in(value, "person", at),
        passphrase=text_in(value, "passphrase", at),
        key_file=content,
    )


def openings_in(body: Mapping[str, Any]) -> list[Opening]:
    """Return what opens the keys of those who sign now. Raises BadField."""
    given = body.get("signatures")
    if not isinstance(given, list) or not given:
        raise BadField(
            'signatures: expected a list such as [{"person": ..., "passphrase": ...}],'
            " at least the first signer's. Write it.",
            field="signatures",
        )
    return [opening_in(each, f"signatures[{n}]") for n, each in enumerate(given)]


def text_in(value: Mapping[str, Any], name: str, at: str = "") -> str:
    """Return a text out of a body. Raises BadField."""
    found = value.get(name)
    if not isinstance(found, str) or not found.strip():
        raise BadField(f"{at}{name}: expected text. Write it.", field=f"{at}{name}")
    return found


def only(body: Mapping[str, Any], *names: str) -> None:
    """Refuse a field that is none of these. Raises BadField."""
    for name in body:
        if name not in names:
            raise BadField(
                f"{name}: no such field. Write {', '.join(names)}.", field=name
            )


def all_refusals(saying: Saying, first: Refusal) -> tuple[Refusal, ...]:
    """Return everything that the fields refuse, where the first refusal is of them."""
    cls = kinds().get(saying.kind)
    if cls is None:
        return (first,)
    found = tuple(refusals(cls, saying.data))
    return found if first.field in [each.field for each in found] else (first,)
