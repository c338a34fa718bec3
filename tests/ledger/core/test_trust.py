import pytest

from ledger.core.base64text import to_base64
from ledger.core.errors import CouldNotCheck
from ledger.core.merkle import leaf_hash
from ledger.core.note import VerifierKey, format_vkey
from ledger.core.trust import parse_anchor, parse_trust
from tests.ledger.core.builder import LOG_KEY, ORIGIN, opened_book

VKEY = format_vkey(VerifierKey(ORIGIN, LOG_KEY.spki))
GENESIS = to_base64(leaf_hash(b"first"))
POLICY = f"""\
# our mine
log {VKEY}

genesis {GENESIS}   # read out on the day of opening
quorum none
"""


def test_a_policy_file_is_read():
    policy = parse_trust(POLICY.encode())
    assert policy.keys_for(ORIGIN) == (VerifierKey(ORIGIN, LOG_KEY.spki),)
    assert policy.keys_for("other.example/x") == ()
    assert policy.genesis_hashes == {leaf_hash(b"first")}


def test_the_first_entrys_hash_may_be_copied_from_a_report():
    """Reports print it in hexadecimal."""
    line = f"genesis {leaf_hash(b'first').hex()}\n"
    assert parse_trust(line.encode()) == parse_trust(f"genesis {GENESIS}\n".encode())


@pytest.mark.parametrize("end", ["", "\r\n", "\n\n", "  \n"])
def test_a_checkpoint_typed_from_paper_may_end_as_editors_end_lines(end):
    text = opened_book().note().decode().split("\n\n")[0]
    typed = text.replace("\n", "\r\n").rstrip() + end
    assert parse_anchor(typed.encode()) == parse_anchor(f"{text}\n".encode())


def test_a_signed_checkpoint_may_have_come_by_a_mail_program():
    note = opened_book().note()
    assert parse_anchor(note.replace(b"\n", b"\r\n")) == parse_anchor(note)


def test_an_empty_policy_trusts_nothing():
    policy = parse_trust(b"# nothing yet\n")
    assert (policy.log_keys, policy.genesis_hashes) == ((), frozenset())


@pytest.mark.parametrize(
    "line",
    [
        pytest.param("witness x " + VKEY, id="a witness"),
        pytest.param("quorum any", id="another quorum"),
        pytest.param("log", id="log without a key"),
        pytest.param(f"log {VKEY} more", id="log with more"),
        pytest.param(f"log {VKEY[:-1]}", id="a cut key"),
        pytest.param("genesis AAAA", id="a short hash"),
        pytest.param(f"genesis {GENESIS[:-1]}", id="a hash unpadded"),
        pytest.param(f"LOG {VKEY}", id="capitals"),
        pytest.param("trust everybody", id="anything else"),
    ],
)
def test_a_policy_line_that_is_not_understood_stops_the_verification(line):
    with pytest.raises(CouldNotCheck) as refused:
        parse_trust(f"{POLICY}{line}\n".encode(), name="ours.txt")
    assert "ours.txt, line 6" in refused.value.message


@pytest.mark.parametrize("parse", [parse_trust, parse_anchor])
@pytest.mark.parametrize("octets", [b"\xff\xfe", b"#" * 70_000])
def test_a_file_that_cannot_be_text_could_not_be_read(parse, octets):
    with pytest.raises(CouldNotCheck):
        parse(octets)


def test_an_anchor_is_a_signed_checkpoint_or_its_three_lines():
    note = opened_book().note()
    signed = parse_anchor(note)
    bare = parse_anchor(note.split(b"\n\n")[0] + b"\n")
    assert signed.checkpoint == bare.checkpoint
    assert signed.note is not None
    assert bare.note is None


@pytest.mark.parametrize("octets", [b"", b"x\n", b"x\n\ny\n", b"a\nb\nc\n"])
def test_what_is_no_checkpoint_is_no_anchor(octets):
    with pytest.raises(CouldNotCheck):
        parse_anchor(octets)
