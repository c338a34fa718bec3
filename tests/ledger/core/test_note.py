import base64
import hashlib

import pytest

from ledger.core.errors import BadNoteSignature, LedgerRefusal, MalformedNote
from ledger.core.note import (
    Note,
    VerifierKey,
    format_note,
    format_vkey,
    parse_note,
    parse_vkey,
    sign_note,
    verify_note,
)
from ledger.core.signing import SigningKey
from tests.ledger.core.builder import key_of
from tests.ledger.core.vectors import flip_bit

C2SP = pytest.mark.source("C2SP signed-note, example")
GO = pytest.mark.source("golang.org/x/mod/sumdb/note, documentation example")

C2SP_VKEY = "example.com/foo+530d903a+AekyeRrm56hApGFkyQR4ZCbV54Id2LKaANYcrnKv3U2k"
C2SP_NOTE = (
    "This is an example message.\n\n"
    "— example.com/foo Uw2QOkn8srV1yJGh2VYRlL1Tnagv1YEq6TfXppzi2ONncAlTgK7Ztg1ERYNZ"
    "XsYjOBH3mFXmRKuwHjG1Yu72IneyaQM=\n"
).encode()
GO_VKEY = "PeterNeumann+c74f20a3+ARpc2QcUPDhMQegwxbzhKqiBfsVkmqq/LDE4izWy10TW"
GO_SKEY = (
    "PRIVATE+KEY+PeterNeumann+c74f20a3+AYEKFALVFGyNhPJEMzD1QIDr+Y7hfZx09iUvxdXHKDFz"
)
GO_TEXT = (
    "If you think cryptography is the answer to your problem,\n"
    "then you don't know what your problem is.\n"
)
GO_LINE = (
    "— PeterNeumann x08go/ZJkuBS9UG/SffcvIAQxVBtiFupLLr8pAcElZInNIuGUgYN1FFYC2pZSNXg"
    "KvqfqdngotpRZb6KE6RyyBwJnAM=\n"
)


@C2SP
def test_the_published_note_verifies():
    key = parse_vkey(C2SP_VKEY)
    assert verify_note(parse_note(C2SP_NOTE), [key]) == {key}
    assert format_vkey(key) == C2SP_VKEY
    assert format_note(parse_note(C2SP_NOTE)) == C2SP_NOTE


@GO
def test_the_published_private_key_makes_the_published_note():
    octets = base64.b64decode(GO_SKEY.split("+", 4)[4])
    key = SigningKey.from_seed(octets[1:])
    note = Note(GO_TEXT, (sign_note(GO_TEXT, "PeterNeumann", key),))
    assert format_note(note).decode() == f"{GO_TEXT}\n{GO_LINE}"
    assert format_vkey(VerifierKey("PeterNeumann", key.spki)) == GO_VKEY
    assert verify_note(note, [parse_vkey(GO_VKEY)])


@pytest.mark.parametrize(
    "vkey",
    [
        pytest.param(
            "PeterNeumann+cc469956+ARpc2QcUPDhMQegwxbzhKqiBfsVkmqq/LDE4izWy10TWBADKEY==",
            id="wrong length",
            marks=GO,
        ),
        pytest.param(
            "PeterNeumann+173116ae+ZRpc2QcUPDhMQegwxbzhKqiBfsVkmqq/LDE4izWy10TW",
            id="unknown algorithm",
            marks=GO,
        ),
        pytest.param(GO_VKEY.replace("c74f20a3", "c74f20a4"), id="wrong id"),
        pytest.param(GO_VKEY.replace("c74f20a3", "C74F20A3"), id="id in capitals"),
        pytest.param(GO_VKEY.replace("PeterNeumann", "Peter Neumann"), id="space"),
        pytest.param(GO_VKEY.replace("PeterNeumann", ""), id="no name"),
        pytest.param(GO_VKEY + "=", id="padded"),
        pytest.param("PeterNeumann+c74f20a3", id="no key"),
        pytest.param("", id="nothing"),
    ],
)
def test_a_verifier_key_in_any_other_form_is_refused(vkey):
    with pytest.raises(LedgerRefusal):
        parse_vkey(vkey)


def test_a_verifier_key_of_small_order_is_refused():
    octets = bytes([1, 1]) + bytes(31)
    digest = hashlib.sha256(b"name\n" + octets).hexdigest()[:8]
    with pytest.raises(LedgerRefusal):
        parse_vkey(f"name+{digest}+{base64.b64encode(octets).decode()}")


@C2SP
def test_every_changed_bit_of_the_note_is_refused_or_unsigned():
    key = parse_vkey(C2SP_VKEY)
    for bit in range(8 * len(C2SP_NOTE)):
        try:
            signed = verify_note(parse_note(flip_bit(C2SP_NOTE, bit)), [key])
        except LedgerRefusal:
            continue
        assert not signed


TEXT = "first line\nsecond line\n"
ONE, TWO = key_of("note one"), key_of("note two")


def note_by(*keys: SigningKey) -> Note:
    return Note(TEXT, tuple(sign_note(TEXT, "log.example/x", key) for key in keys))


def vkey(key: SigningKey, name: str = "log.example/x") -> VerifierKey:
    return VerifierKey(name, key.spki)


def test_lines_by_unknown_keys_are_ignored():
    note = note_by(ONE, TWO)
    assert verify_note(note, [vkey(ONE)]) == {vkey(ONE)}
    assert verify_note(note, [vkey(ONE), vkey(TWO)]) == {vkey(ONE), vkey(TWO)}
    assert verify_note(note, []) == frozenset()
    assert verify_note(note, [vkey(ONE, "other.example")]) == frozenset()


def test_a_false_line_of_a_known_key_spoils_the_note():
    note = note_by(ONE, TWO)
    other = Note("other text\n", note.signatures)
    with pytest.raises(BadNoteSignature):
        verify_note(other, [vkey(ONE)])


def test_a_text_may_hold_empty_lines():
    text = "a\n\nb\n"
    note = Note(text, (sign_note(text, "n", ONE),))
    assert parse_note(format_note(note)) == note


LINE = format_note(note_by(ONE)).decode().split("\n\n")[1]
MALFORMED = {
    "nothing": "",
    "no signature line": TEXT + "\n",
    "no empty line": TEXT + LINE,
    "no line feed at the end": TEXT + "\n" + LINE[:-1],
    "no line feed after the second line": TEXT + "\n" + LINE + LINE[:-1],
    "an en dash": TEXT + "\n" + LINE.replace("—", "–"),
    "a hyphen": TEXT + "\n" + LINE.replace("—", "-"),
    "no space after the dash": TEXT + "\n" + LINE.replace("— ", "—"),
    "three words": TEXT + "\n" + LINE[:-1] + " x\n",
    "a plus sign in the name": TEXT + "\n" + LINE.replace("log.", "l+g."),
    "signature respelled": TEXT + "\n" + LINE.replace("=\n", "\n"),
    "signature of four bytes": TEXT + "\n— name AAAAAA==\n",
    "text in the place of a line": TEXT + "\n" + LINE + "more\n",
    "tab in the text": "a\tb\n\n" + LINE,
    "carriage returns": (TEXT + "\n" + LINE).replace("\n", "\r\n"),
    "seventeen lines": TEXT + "\n" + LINE * 17,
    "too long": "x" * 20_000 + "\n\n" + LINE,
}


@pytest.mark.parametrize("text", MALFORMED.values(), ids=MALFORMED.keys())
def test_a_note_in_any_other_form_is_refused(text):
    with pytest.raises(MalformedNote):
        parse_note(text.encode())


def test_bytes_that_are_no_text_are_no_note():
    with pytest.raises(MalformedNote):
        parse_note(b"\xff\n\n" + LINE.encode())


@pytest.mark.parametrize("text", ["", "no line feed", "tab\t\n"])
def test_a_text_that_could_not_be_read_is_not_signed(text):
    with pytest.raises(MalformedNote):
        sign_note(text, "name", ONE)
