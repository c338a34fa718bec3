import json
import random
import unicodedata

import pytest
import rfc8785

from ledger.core.canonical import DEPTH_MAX, INTEGER_MAX, check_text, decode, encode
from ledger.core.errors import NotCanonical, UnassignedCharacter

RFC_8785 = pytest.mark.source("RFC 8785, the author's test data (testdata/)")


@pytest.mark.parametrize(
    ("value", "octets"),
    [
        pytest.param(
            {
                "string": '\u20ac$\nA\'B"\\\\"/',
                "literals": [None, True, False],
            },
            b'{"literals":[null,true,false],"string":"'
            b'\xe2\x82\xac$\\nA\'B\\"\\\\\\\\\\"/"}',
            id="the specification's sample without what the profile excludes",
            marks=RFC_8785,
        ),
        pytest.param(
            [56, {"d": True, "b": None, "a": []}],
            b'[56,{"a":[],"b":null,"d":true}]',
            id="arrays sample, keys within the profile",
            marks=RFC_8785,
        ),
        pytest.param(
            {"a1": 1, "a": 2, "a_": 3, "aa": 4, "a10": 5},
            b'{"a":2,"a1":1,"a10":5,"a_":3,"aa":4}',
            id="keys sort by code unit",
        ),
        pytest.param(INTEGER_MAX, b"9007199254740991", id="largest integer"),
        pytest.param(-INTEGER_MAX, b"-9007199254740991", id="smallest integer"),
        pytest.param("12.340", b'"12.340"', id="a decimal keeps its zeros as text"),
        pytest.param("😀ö", '"😀ö"'.encode(), id="text is not escaped"),
    ],
)
def test_known_values_have_their_known_bytes(value, octets):
    assert encode(value) == octets
    assert decode(octets) == value


def random_text(chance: random.Random) -> str:
    alphabet = "abz019 _-./:\"\\\n'<>&éßñ€Ωж中文😀ﬁ"
    text = "".join(chance.choice(alphabet) for _ in range(chance.randrange(12)))
    return unicodedata.normalize("NFC", text)


def random_key(chance: random.Random) -> str:
    first = chance.choice("abcxyz")
    return first + "".join(chance.choice("abz019_") for _ in range(chance.randrange(8)))


def random_value(chance: random.Random, depth: int = 1):
    sort = chance.randrange(8 if depth < 6 else 5)
    if sort == 0:
        return chance.choice([None, True, False])
    if sort == 1:
        return chance.randint(-INTEGER_MAX, INTEGER_MAX)
    if sort == 2:
        return chance.randint(-20, 20)
    if sort in (3, 4):
        return random_text(chance)
    if sort == 5:
        return [random_value(chance, depth + 1) for _ in range(chance.randrange(5))]
    return {
        random_key(chance): random_value(chance, depth + 1)
        for _ in range(chance.randrange(6))
    }


@pytest.mark.source("package rfc8785 0.1.4 as an independent encoder")
def test_three_thousand_random_values_encode_as_the_reference_library_does():
    seed = 8785
    chance = random.Random(seed)
    for number in range(3_000):
        value = random_value(chance)
        octets = encode(value)
        assert octets == rfc8785.dumps(value), f"seed {seed}, value {number}"
        assert decode(octets) == value


def test_a_part_is_encoded_as_within_the_whole():
    chance = random.Random(5)
    for _ in range(500):
        part = {"inner": random_value(chance, 3)}
        whole = {"a": random_value(chance, 3), "m": part, "z": "end"}
        assert encode(part) in encode(whole)


def deep(levels: int) -> bytes:
    return b"[" * levels + b"]" * levels


MALFORMED = {
    "nothing": b"",
    "white space alone": b" ",
    "space before": b' {"a":1}',
    "space after": b'{"a":1} ',
    "space after a colon": b'{"a": 1}',
    "line feed after": b'{"a":1}\n',
    "byte order mark": b'\xef\xbb\xbf{"a":1}',
    "two values": b'{"a":1}{"a":1}',
    "keys unsorted": b'{"b":1,"a":2}',
    "key twice": b'{"a":1,"a":1}',
    "key twice deep down": b'{"a":[{"b":1,"b":2}]}',
    "key twice by escape": b'{"a":1,"\\u0061":2}',
    "upper-case key": b'{"A":1}',
    "empty key": b'{"":1}',
    "key begins with a digit": b'{"1a":1}',
    "key with a hyphen": b'{"a-b":1}',
    "key with an umlaut": '{"ä":1}'.encode(),
    "key of 65 characters": b'{"' + b"a" * 65 + b'":1}',
    "fraction": b'{"a":1.5}',
    "fraction of nothing": b'{"a":1.0}',
    "exponent": b'{"a":1e3}',
    "huge exponent": b'{"a":1e400}',
    "not a number": b'{"a":NaN}',
    "infinity": b'{"a":-Infinity}',
    "minus zero": b'{"a":-0}',
    "leading zero": b'{"a":01}',
    "plus sign": b'{"a":+1}',
    "integer beyond 2^53 - 1": b'{"a":9007199254740992}',
    "negative integer beyond": b'{"a":-9007199254740992}',
    "integer of 5,000 digits": b'{"a":' + b"9" * 5_000 + b"}",
    "hexadecimal": b'{"a":0x1}',
    "spare escape of a letter": b'{"a":"\\u0062"}',
    "spare escape of a slash": b'{"a":"\\/"}',
    "long escape of a line feed": b'{"a":"\\u000a"}',
    "upper-case escape": b'{"a":"\\u000A"}',
    "raw line feed": b'{"a":"\n"}',
    "tab": b'{"a":"\\t"}',
    "carriage return": b'{"a":"\\r"}',
    "null character": b'{"a":"\\u0000"}',
    "escape character": b'{"a":"\\u001b"}',
    "delete": b'{"a":"\x7f"}',
    "next line U+0085": '{"a":"\x85"}'.encode(),
    "lone surrogate by escape": b'{"a":"\\ud800"}',
    "surrogate in UTF-8": b'{"a":"\xed\xa0\x80"}',
    "pair by escapes": b'{"a":"\\ud83d\\ude00"}',
    "line separator U+2028": '{"a":"\u2028"}'.encode(),
    "paragraph separator U+2029": '{"a":"\u2029"}'.encode(),
    "zero-width space": '{"a":"\u200b"}'.encode(),
    "right-to-left override": '{"a":"\u202e"}'.encode(),
    "soft hyphen": '{"a":"\u00ad"}'.encode(),
    "byte order mark inside": '{"a":"\ufeff"}'.encode(),
    "private use": '{"a":"\ue000"}'.encode(),
    "non-character": '{"a":"\ufdd0"}'.encode(),
    "non-character at the end of a plane": '{"a":"\U0001ffff"}'.encode(),
    "unassigned": '{"a":"\u0378"}'.encode(),
    "decomposed accent": '{"a":"e\u0301"}'.encode(),
    "angstrom sign": '{"a":"\u212b"}'.encode(),
    "overlong UTF-8": b'{"a":"\xc0\xaf"}',
    "stray continuation byte": b'{"a":"\x80"}',
    "cut UTF-8": b'{"a":"\xe2\x82"}',
    "latin-1": b'{"a":"\xe9"}',
    "single quotes": b"{'a':1}",
    "trailing comma": b'{"a":1,}',
    "comment": b'{"a":1/**/}',
    "open object": b'{"a":1',
    "open string": b'{"a":"',
    "open string with a backslash": b'{"a":"\\',
    "upper-case literal": b'{"a":True}',
    "python literal": b'{"a":None}',
    "undefined": b'{"a":undefined}',
    "one level too deep": deep(DEPTH_MAX + 1),
    "sixty thousand levels deep": deep(30_000),
    "open brackets only": b"[" * 65_000,
    "one byte too long": b'"' + b"a" * 65_534 + b'"',
    "many escaped quotes in an open string": b"[" * 20 + b'"' + b'\\"' * 30_000,
}


@pytest.mark.parametrize("octets", MALFORMED.values(), ids=MALFORMED.keys())
def test_malformed_bytes_are_refused(octets):
    with pytest.raises(NotCanonical):
        decode(octets)


class SubText(str):
    """Looks like text, and may say something else when written."""


@pytest.mark.parametrize(
    "value",
    [
        pytest.param(1.5, id="float"),
        pytest.param(float("nan"), id="not a number"),
        pytest.param(2**53, id="integer beyond 2^53 - 1"),
        pytest.param(b"bytes", id="bytes"),
        pytest.param((1, 2), id="tuple"),
        pytest.param({1, 2}, id="set"),
        pytest.param({1: 2}, id="integer key"),
        pytest.param({"Key": 1}, id="upper-case key"),
        pytest.param({"key\n": 1}, id="key with a line feed"),
        pytest.param(SubText("text"), id="subclass of text"),
        pytest.param(json.loads("1e5"), id="parsed exponent"),
        pytest.param("\x00", id="null character"),
        pytest.param("e\u0301", id="decomposed accent"),
    ],
)
def test_values_outside_the_profile_are_not_encoded(value):
    with pytest.raises(NotCanonical) as refused:
        encode({"data": {"list": [1, value]}})
    assert refused.value.field.startswith("data.list")


def test_depth_sixteen_is_the_deepest():
    assert decode(deep(DEPTH_MAX)) is not None
    value = []
    for _ in range(DEPTH_MAX - 1):
        value = [value]
    assert encode(value) == deep(DEPTH_MAX)
    with pytest.raises(NotCanonical, match="16 levels"):
        encode([value])


def test_brackets_in_text_are_no_depth():
    octets = b'{"a":"' + b"[" * 500 + b'\\"{{{"}'
    assert decode(octets) == {"a": "[" * 500 + '"{{{'}


def test_the_size_limit_holds_for_writer_and_reader():
    longest = "a" * 65_533
    assert decode(encode(longest)) == longest
    with pytest.raises(NotCanonical, match="65536 bytes"):
        encode(longest + "a")


def test_an_unassigned_character_is_a_refusal_of_its_own():
    """A newer reader may know it, so a verifier must not call it tampering."""
    with pytest.raises(UnassignedCharacter):
        check_text("\u0378")


def test_the_message_says_where_and_what():
    with pytest.raises(NotCanonical) as refused:
        encode({"data": {"note": "a\u200bb"}})
    assert refused.value.field == "data.note"
    assert "U+200B" in refused.value.message


@pytest.mark.parametrize("position", range(2, 40))
def test_any_changed_byte_is_refused_or_gives_another_value(position):
    octets = encode({"a": ["12.340", "façade"], "b": {"c": None, "d": -7}})
    value = decode(octets)
    for byte in range(256):
        if position >= len(octets) or byte == octets[position]:
            continue
        spoiled = octets[:position] + bytes([byte]) + octets[position + 1 :]
        try:
            assert decode(spoiled) != value
        except NotCanonical:
            continue
