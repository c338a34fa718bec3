"""Values out of an address: numbers, days, times. Each refusal names its parameter."""

from collections.abc import Mapping
from datetime import UTC, date, datetime

from goldroom.api.problems import NoSuchAddress
from goldroom.errors import OutOfRange

DIGITS_MOST = 15
YEARS = range(1900, 3000)


def seq_of(path: Mapping[str, str]) -> int:
    """Return an entry's number out of the path. Raises NoSuchAddress."""
    text = path["seq"]
    if not _is_number(text):
        raise NoSuchAddress(
            f"{text[:40]!r} is no number of an entry. Take one from the journal.",
            field="seq",
        )
    return int(text)


def whole(query: Mapping[str, str], name: str) -> int | None:
    """Return a whole number, None if it was not given. Raises OutOfRange."""
    if name not in query:
        return None
    if not _is_number(query[name]):
        raise OutOfRange(
            f"{name}: found {query[name][:40]!r}, expected a whole number. Write it"
            " in digits.",
            field=name,
        )
    return int(query[name])


def day(query: Mapping[str, str], name: str) -> date:
    """Return a calendar day. Raises OutOfRange."""
    text = query[name]
    try:
        found = date.fromisoformat(text)
    except ValueError:
        found = None
    if found is None or found.isoformat() != text or found.year not in YEARS:
        raise OutOfRange(
            f"{name}: found {text[:40]!r}, expected a day such as 2026-01-31. Write it"
            " so.",
            field=name,
        )
    return found


def moment(query: Mapping[str, str], name: str) -> datetime | None:
    """Return a time with its offset, None if it was not given. Raises OutOfRange."""
    if name not in query:
        return None
    text = query[name]
    try:
        found = datetime.fromisoformat(text)
    except ValueError:
        found = None
    if found is None or found.utcoffset() is None or found.year not in YEARS:
        raise OutOfRange(
            f"{name}: found {text[:40]!r}, expected a time with its offset, such as"
            " 2026-01-31T06:00:00+02:00 (a plus sign is %2B in an address). Write it"
            " so.",
            field=name,
        )
    return found


def utc(query: Mapping[str, str], name: str) -> str:
    """Return a time as UTC text, "" if it was not given. Raises OutOfRange."""
    found = moment(query, name)
    return "" if found is None else f"{found.astimezone(UTC):%Y-%m-%dT%H:%M:%SZ}"


def one_of(
    query: Mapping[str, str], name: str, choices: tuple[str, ...], otherwise: str
) -> str:
    """Return one word of a list. Raises OutOfRange."""
    found = query.get(name, otherwise)
    if found not in choices:
        raise OutOfRange(
            f"{name}: found {found[:40]!r}. Write one of {', '.join(choices)}.",
            field=name,
        )
    return found


def _is_number(text: str) -> bool:
    return text.isascii() and text.isdecimal() and len(text) <= DIGITS_MOST
