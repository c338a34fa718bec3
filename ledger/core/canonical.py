"""One value, one text: the canonical JSON of the record.

The output form is that of RFC 8785 (JSON Canonicalization Scheme) over a
profile so narrow that a plain sorted `json.dumps` already produces it:

- values are objects, arrays, strings, `true`, `false`, `null` and integers
  with |n| <= 2^53 - 1. There are no fractions and no exponents: masses, grades
  and prices are decimal *strings*, so that `12.340` stays `12.340`;
- keys match `[a-z][a-z0-9_]{0,63}`, so byte order, code point order and the
  UTF-16 order that RFC 8785 asks for are the same;
- text is in Unicode normal form C and holds no control character but the line
  feed, no invisible or direction-changing format character, no surrogate, no
  private-use, unassigned or non-character, no U+2028 and no U+2029. What
  people sign must look the same to everybody;
- at most 16 levels deep and 65,535 bytes long.

`encode` writes it. `decode` reads it and refuses everything that `encode` would
not have written: duplicate keys, white space, `-0`, other escapes, wrong order.
A decoder that only looks for the known traps would be a list of traps; ours
re-encodes what it read and compares all bytes.
"""

from __future__ import annotations

import json
import re
import unicodedata
from typing import Any, NoReturn

from ledger.core.errors import NotCanonical, UnassignedCharacter

SIZE_BYTES_MAX = 65_535
DEPTH_MAX = 16
INTEGER_MAX = 2**53 - 1

_KEY = re.compile(r"[a-z][a-z0-9_]{0,63}")
_ASCII_FORBIDDEN = re.compile(r"[\x00-\x09\x0b-\x1f\x7f]")
_INTEGER_TEXT_LENGTH_MAX = 17
# A string (also an unfinished one, up to the end) or one bracket. The possessive
# quantifier keeps hostile input from making the scan quadratic.
_STRING_OR_BRACKET = re.compile(rb'"(?:[^"\\]|\\.)*+(?:"|\\?\Z)|[\[\]{}]', re.DOTALL)
_FORBIDDEN_CATEGORIES = {
    "Cc": "a control character",
    "Cf": "an invisible format character",
    "Cs": "half of a surrogate pair",
    "Co": "a private-use character",
    "Zl": "a line separator",
    "Zp": "a paragraph separator",
}


def encode(value: Any) -> bytes:
    """Return the canonical bytes of `value`; refuse what the profile excludes."""
    trail: list[str | int] = []
    _check_value(value, 1, trail)
    octets = render(value)
    if len(octets) > SIZE_BYTES_MAX:
        raise NotCanonical(
            f"The record would be {len(octets)} bytes; at most {SIZE_BYTES_MAX} fit. "
            "Split it, or attach the bulk as a file."
        )
    return octets


def decode(octets: bytes) -> Any:
    """Return the value of canonical bytes; raise NotCanonical for any others."""
    if len(octets) > SIZE_BYTES_MAX:
        raise NotCanonical(
            f"Found more than {SIZE_BYTES_MAX} bytes; a record is never that long."
        )
    _check_depth(octets)
    try:
        text = octets.decode("utf-8")
        value = json.loads(
            text,
            object_pairs_hook=_object,
            parse_int=_integer,
            parse_float=_refuse_fraction,
            parse_constant=_refuse_fraction,
        )
    except UnicodeDecodeError as error:
        raise NotCanonical(
            f"Byte {error.start} is not UTF-8; the record is UTF-8 text."
        ) from error
    except json.JSONDecodeError as error:
        raise NotCanonical(
            f"Not JSON at character {error.pos}: {error.msg}."
        ) from error
    _check_value(value, 1, [])
    again = render(value)
    if again != octets:
        place = _first_difference(again, octets)
        raise NotCanonical(
            f"Byte {place} differs from the canonical form: expected "
            f"{again[place : place + 12]!r}, found {octets[place : place + 12]!r}. "
            "Keys must be sorted, without white space and without spare escapes."
        )
    return value


def render(value: Any) -> bytes:
    """Return the canonical bytes of a value that is known to fit the profile."""
    return json.dumps(
        value,
        sort_keys=True,
        separators=(",", ":"),
        ensure_ascii=False,
        allow_nan=False,
    ).encode("utf-8")


def check_text(text: str, *, field: str = "text") -> None:
    """Raise NotCanonical unless people everywhere see and read the same text."""
    if text.isascii():
        found = _ASCII_FORBIDDEN.search(text)
        if found:
            _refuse_character(found.group(), field, "a control character")
        return
    for character in text:
        _check_character(character, field)
    if not unicodedata.is_normalized("NFC", text):
        raise NotCanonical(
            f"{field}: {text[:40]!r} is not in Unicode normal form C. Enter the text "
            "again, with composed accents.",
            field=field,
        )


def _check_character(character: str, field: str) -> None:
    category = unicodedata.category(character)
    if category == "Cn":
        if _is_noncharacter(ord(character)):
            _refuse_character(character, field, "a non-character")
        raise UnassignedCharacter(
            f"{field}: U+{ord(character):04X} is not assigned in Unicode "
            f"{unicodedata.unidata_version}, the newest this program knows.",
            field=field,
        )
    if category in _FORBIDDEN_CATEGORIES and character != "\n":
        _refuse_character(character, field, _FORBIDDEN_CATEGORIES[category])


def _is_noncharacter(code_point: int) -> bool:
    return 0xFDD0 <= code_point <= 0xFDEF or code_point & 0xFFFE == 0xFFFE


def _refuse_character(character: str, field: str, what: str) -> NoReturn:
    raise NotCanonical(
        f"{field}: U+{ord(character):04X} is {what}. Remove it; only visible text "
        "and the line feed may be recorded.",
        field=field,
    )


def _check_value(value: Any, depth: int, trail: list[str | int]) -> None:
    """Walk `value`; `trail` is the path to where the walk stands."""
    kind = type(value)
    if kind is str:
        if not value.isascii() or _ASCII_FORBIDDEN.search(value):
            check_text(value, field=_path(trail))
    elif kind is dict or kind is list:
        if depth > DEPTH_MAX:
            raise NotCanonical(
                f"{_path(trail)}: more than {DEPTH_MAX} levels deep.",
                field=_path(trail),
            )
        if kind is dict:
            _check_keys(value, trail)
        for name, item in value.items() if kind is dict else enumerate(value):
            trail.append(name)
            _check_value(item, depth + 1, trail)
            trail.pop()
    elif kind is int:
        if not -INTEGER_MAX <= value <= INTEGER_MAX:
            raise NotCanonical(
                f"{_path(trail)}: the integer is beyond 2^53 - 1. Record it as text.",
                field=_path(trail),
            )
    elif value is not None and kind is not bool:
        raise NotCanonical(
            f"{_path(trail)}: a {kind.__name__} cannot be recorded. Use text for "
            "decimal numbers, dates and times; lists, objects and integers as such.",
            field=_path(trail),
        )


def _check_keys(value: dict[Any, Any], trail: list[str | int]) -> None:
    for key in value:
        if not isinstance(key, str) or not _KEY.fullmatch(key):
            raise NotCanonical(
                f"{_path(trail)}: the key {str(key)[:70]!r} is not made of a-z, "
                "0-9 and _ (a letter first, at most 64).",
                field=_path(trail),
            )


def _path(trail: list[str | int]) -> str:
    return ".".join(map(str, trail)) or "record"


def _object(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    result = dict(pairs)
    if len(result) != len(pairs):
        names = [name for name, _ in pairs]
        twice = next(name for name in names if names.count(name) > 1)
        raise NotCanonical(f"The key {twice[:70]!r} occurs twice in one object.")
    return result


def _integer(digits: str) -> int:
    if len(digits) > _INTEGER_TEXT_LENGTH_MAX:
        raise NotCanonical("An integer is beyond 2^53 - 1; it must be text.")
    return int(digits)


def _refuse_fraction(text: str) -> NoReturn:
    raise NotCanonical(
        f"The number {text[:40]} has a fraction or exponent; only integers may be "
        "numbers, everything else is text."
    )


def _check_depth(octets: bytes) -> None:
    """Refuse deep nesting before the parser recurses into it."""
    if octets.count(b"[") + octets.count(b"{") <= DEPTH_MAX:
        return
    depth = 0
    for token in _STRING_OR_BRACKET.finditer(octets):
        character = token.group()
        if character in (b"[", b"{"):
            depth += 1
            if depth > DEPTH_MAX:
                raise NotCanonical(f"More than {DEPTH_MAX} levels deep.")
        elif character in (b"]", b"}"):
            depth -= 1


def _first_difference(one: bytes, other: bytes) -> int:
    for place, (left, right) in enumerate(zip(one, other, strict=False)):
        if left != right:
            return place
    return min(len(one), len(other))
