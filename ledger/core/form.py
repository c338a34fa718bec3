"""The shape of the envelope: which fields, in which spelling.

Every check names the field, what was found and what was expected. The checks
look at one statement alone; who may sign and what came before is for
`keyring` and `verifier`.
"""

from __future__ import annotations

import re
from collections.abc import Collection
from datetime import datetime
from typing import Any, NoReturn

from ledger.core.base64text import from_base64
from ledger.core.canonical import INTEGER_MAX, check_text
from ledger.core.errors import LedgerRefusal, MalformedEntry, MalformedStatement

CLASSES = ("two", "machine", "single", "server", "genesis")
SIGNERS_MAX = 4
GENESIS_SIGNERS_MAX = 64
ATTACHMENTS_MAX = 64
TEXT_LENGTH_MAX = 500

STATEMENT_FIELDS = frozenset(
    {
        "attachments",
        "basis",
        "class",
        "corrects",
        "data",
        "entry_id",
        "format",
        "kind",
        "occurred_at",
        "origin",
        "signers",
        "v",
    }
)
_SIGNERS_ALLOWED = {
    "two": range(2, SIGNERS_MAX + 1),
    "machine": range(1, 2),
    "single": range(1, 2),
    "server": range(0, 1),
    "genesis": range(2, GENESIS_SIGNERS_MAX + 1),
}

_UUID = re.compile(r"[0-9a-f]{8}(-[0-9a-f]{4}){3}-[0-9a-f]{12}")
_KIND = re.compile(r"[a-z][a-z0-9_]{0,31}\.[a-z][a-z0-9_]{0,31}")
_ORIGIN = re.compile(
    r"[a-z0-9][a-z0-9.-]{0,80}(/[a-z0-9][a-z0-9._-]{0,80}){0,4}/[0-9a-f]{32}"
)
_PERSON = re.compile(r"[a-z0-9][a-z0-9._-]{0,63}")
_ROLE = re.compile(r"[a-z][a-z0-9_-]{0,31}")
_KEY_ID = re.compile(r"[A-Za-z0-9_-]{43}")
_SHA256 = re.compile(r"[0-9a-f]{64}")
_MEDIA = re.compile(r"[a-z0-9][a-z0-9.+-]{0,63}/[a-z0-9][a-z0-9.+-]{0,63}")
_OCCURRED_AT = re.compile(
    r"\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d[+-](0\d|1[0-4]):[0-5]\d", re.ASCII
)
_SERVER_AT = re.compile(r"\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d\.\d{6}Z", re.ASCII)

Refusal = type[LedgerRefusal]


def fields(
    value: object,
    wanted: Collection[str],
    where: str,
    refusal: Refusal = MalformedStatement,
) -> dict[str, Any]:
    """Return `value` if it is an object with exactly the wanted fields."""
    if not isinstance(value, dict):
        raise refusal(f"{where}: expected an object.", field=where)
    missing, spare = set(wanted) - set(value), set(value) - set(wanted)
    if missing or spare:
        raise refusal(
            f"{where}: missing fields {_names(missing)}; unknown fields "
            f"{_names(spare)}.",
            field=where,
        )
    return value


def text(
    value: object,
    where: str,
    refusal: Refusal = MalformedStatement,
    *,
    pattern: re.Pattern[str] | None = None,
) -> str:
    """Return `value` if it is one line of text, matching `pattern` if given."""
    if not isinstance(value, str) or not value.strip():
        raise refusal(f"{where}: expected text, found {_shown(value)}.", field=where)
    if "\n" in value or len(value) > TEXT_LENGTH_MAX:
        raise refusal(
            f"{where}: expected one line of at most {TEXT_LENGTH_MAX} characters.",
            field=where,
        )
    if pattern is not None and not pattern.fullmatch(value):
        raise refusal(
            f"{where}: {_shown(value)} is not in the expected form "
            f"({pattern.pattern}).",
            field=where,
        )
    check_text(value, field=where)
    return value


def integer(
    value: object, where: str, *, least: int = 0, refusal: Refusal = MalformedStatement
) -> int:
    """Return `value` if it is an integer of at least `least`."""
    if type(value) is not int or not least <= value <= INTEGER_MAX:
        raise refusal(
            f"{where}: expected an integer of at least {least}, found {_shown(value)}.",
            field=where,
        )
    return value


def person_id(value: object, where: str) -> str:
    """Return a person's id in its one spelling."""
    return text(value, where, pattern=_PERSON)


def entry_id(value: object, where: str = "entry_id") -> str:
    """Return the id of an entry, a UUID in its one spelling."""
    return text(value, where, pattern=_UUID)


def role(value: object, where: str) -> str:
    """Return the name of a role."""
    return text(value, where, pattern=_ROLE)


def key_name(value: object, where: str) -> str:
    """Return a key id in its one spelling."""
    return text(value, where, pattern=_KEY_ID)


def kind(value: object, where: str) -> str:
    """Return the name of a kind of statement."""
    return text(value, where, pattern=_KIND)


def origin(value: object, where: str = "origin") -> str:
    """Return a ledger's name in its one spelling."""
    return text(value, where, pattern=_ORIGIN)


def check_envelope(said: dict[str, Any]) -> None:
    """Check every field of a statement but the inside of `data`."""
    if type(said["format"]) is not int:
        _refuse("format", said["format"], "an integer")
    integer(said["v"], "v", least=1)
    kind(said["kind"], "kind")
    origin(said["origin"])
    entry_id(said["entry_id"])
    check_occurred_at(said["occurred_at"])
    if not isinstance(said["data"], dict):
        _refuse("data", said["data"], "an object")
    _check_basis(said["basis"])
    _check_corrects(said["corrects"])
    _check_attachments(said["attachments"])
    _check_signers(said["class"], said["signers"])


def check_occurred_at(value: object, where: str = "occurred_at") -> None:
    """Check an event's time: RFC 3339, to the second, with a numeric offset."""
    said = text(value, where, pattern=_OCCURRED_AT)
    if said.endswith("-00:00"):
        _refuse(where, said, "an offset that is known (+00:00 for UTC)")
    _check_date(said, where, MalformedStatement)


def server_fields(value: object) -> dict[str, Any]:
    """Return the server's part of an entry, checked."""
    wanted = {"at", "previous", "seq"}
    if isinstance(value, dict) and "clock_held" in value:
        wanted.add("clock_held")
        if value["clock_held"] is not True:
            raise MalformedEntry(
                "server.clock_held: expected true, or no such field.",
                field="server.clock_held",
            )
    server = fields(value, wanted, "server", MalformedEntry)
    integer(server["seq"], "server.seq", refusal=MalformedEntry)
    text(server["at"], "server.at", MalformedEntry, pattern=_SERVER_AT)
    _check_date(server["at"], "server.at", MalformedEntry)
    if not isinstance(server["previous"], str):
        raise MalformedEntry("server.previous: expected text.", field="server.previous")
    return server


def _check_basis(value: object) -> None:
    basis = fields(value, {"root", "size"}, "basis")
    integer(basis["size"], "basis.size")
    from_base64(text(basis["root"], "basis.root"), size=32, field="basis.root")


def _check_corrects(value: object) -> None:
    if value is None:
        return
    cited = fields(value, {"entry", "leaf"}, "corrects")
    entry_id(cited["entry"], "corrects.entry")
    from_base64(text(cited["leaf"], "corrects.leaf"), size=32, field="corrects.leaf")


def _check_attachments(value: object) -> None:
    if not isinstance(value, list) or len(value) > ATTACHMENTS_MAX:
        _refuse("attachments", value, f"a list of at most {ATTACHMENTS_MAX}")
    seen: set[str] = set()
    for index, item in enumerate(value):
        where = f"attachments.{index}"
        said = fields(item, {"media", "name", "sha256", "size"}, where)
        text(said["media"], f"{where}.media", pattern=_MEDIA)
        name = text(said["name"], f"{where}.name")
        if "/" in name or "\\" in name or name.startswith("."):
            _refuse(f"{where}.name", name, "a file name without a path")
        digest = text(said["sha256"], f"{where}.sha256", pattern=_SHA256)
        integer(said["size"], f"{where}.size")
        if digest in seen:
            _refuse(f"{where}.sha256", digest, "each file once")
        seen.add(digest)


def _check_signers(sign_class: object, value: object) -> None:
    if not isinstance(sign_class, str) or sign_class not in CLASSES:
        _refuse("class", sign_class, f"one of {', '.join(CLASSES)}")
    allowed = _SIGNERS_ALLOWED[sign_class]
    if not isinstance(value, list) or len(value) not in allowed:
        found = f"{len(value)}" if isinstance(value, list) else _shown(value)
        raise MalformedStatement(
            f"signers: class {sign_class} has {allowed.start} to {allowed.stop - 1} "
            f"signers, found {found}.",
            field="signers",
            code="number_of_signers",
        )
    persons: list[str] = []
    keys: list[str] = []
    for index, item in enumerate(value):
        where = f"signers.{index}"
        said = fields(item, {"key", "meaning", "person", "role"}, where)
        keys.append(key_name(said["key"], f"{where}.key"))
        text(said["meaning"], f"{where}.meaning")
        persons.append(person_id(said["person"], f"{where}.person"))
        role(said["role"], f"{where}.role")
    for names in (persons, keys):
        for name in names:
            if names.count(name) > 1:
                raise MalformedStatement(
                    f"signers: {name} is named twice; each signature must be another "
                    "person's.",
                    field="signers",
                    code="same_signer",
                )


def _check_date(said: str, where: str, refusal: Refusal) -> None:
    try:
        datetime.fromisoformat(said)
    except ValueError as error:
        raise refusal(
            f"{where}: {said} is no date and time ({error}).", field=where
        ) from error


def _refuse(where: str, value: object, expected: str) -> NoReturn:
    raise MalformedStatement(
        f"{where}: expected {expected}, found {_shown(value)}.", field=where
    )


def _shown(value: object) -> str:
    return repr(value)[:60]


def _names(names: Collection[str]) -> str:
    return ", ".join(sorted(str(name) for name in names)) or "none"
