import pytest

from ledger.core.checkpoint import (
    Checkpoint,
    format_checkpoint,
    parse_checkpoint,
    parse_signed,
    sign_checkpoint,
)
from ledger.core.errors import LedgerRefusal, MalformedCheckpoint
from ledger.core.note import VerifierKey, format_note, verify_note
from tests.ledger.core.builder import LOG_KEY, ORIGIN
from tests.ledger.core.vectors import flip_bit

C2SP = pytest.mark.source("C2SP tlog-checkpoint, example")
PUBLISHED = (
    "example.com/behind-the-sofa\n"
    "20852163\n"
    "CsUYapGGPo4dkMgIAUqom/Xajj7h2fB2MPA3j2jxq2I=\n"
    "\n"
    "— example.com/behind-the-sofa Az3grlgtzPICa5OS8npVmf1Myq/5IZniMp+ZJurmRDeOoRDe4"
    "URYN7u5/Zhcyv2q1gGzGku9nTo+zyWE+xeMcTOAYQ8=\n"
).encode()
ROOT = "CsUYapGGPo4dkMgIAUqom/Xajj7h2fB2MPA3j2jxq2I="


@C2SP
def test_the_published_checkpoint_is_read_and_written():
    checkpoint, note = parse_signed(PUBLISHED)
    assert checkpoint.origin == "example.com/behind-the-sofa"
    assert checkpoint.size == 20852163
    assert len(checkpoint.root) == 32
    assert note.signatures[0].key_id.hex() == "033de0ae"
    assert format_checkpoint(checkpoint) == note.text
    assert format_note(note) == PUBLISHED


def test_a_signed_checkpoint_goes_both_ways():
    checkpoint = Checkpoint(ORIGIN, 12, bytes(range(32)))
    octets = sign_checkpoint(checkpoint, LOG_KEY)
    again, note = parse_signed(octets)
    assert again == checkpoint
    assert verify_note(note, [VerifierKey(ORIGIN, LOG_KEY.spki)])
    assert sign_checkpoint(checkpoint, LOG_KEY) == octets


def test_every_changed_bit_of_a_signed_checkpoint_is_refused_or_unsigned():
    octets = sign_checkpoint(Checkpoint(ORIGIN, 12, bytes(range(32))), LOG_KEY)
    key = VerifierKey(ORIGIN, LOG_KEY.spki)
    for bit in range(8 * len(octets)):
        try:
            _, note = parse_signed(flip_bit(octets, bit))
            assert not verify_note(note, [key])
        except LedgerRefusal:
            continue


MALFORMED = {
    "nothing": "",
    "two lines": "name\n12\n",
    "four lines": f"name\n12\n{ROOT}\nextension\n",
    "no line feed at the end": f"name\n12\n{ROOT}",
    "empty name": f"\n12\n{ROOT}\n",
    "leading zero": f"name\n012\n{ROOT}\n",
    "plus sign": f"name\n+12\n{ROOT}\n",
    "minus sign": f"name\n-1\n{ROOT}\n",
    "space": f"name\n 12\n{ROOT}\n",
    "underscore": f"name\n1_2\n{ROOT}\n",
    "other digits": f"name\n٥\n{ROOT}\n",
    "no size": f"name\n\n{ROOT}\n",
    "hexadecimal size": f"name\n0x12\n{ROOT}\n",
    "size beyond 2^53": f"name\n9007199254740993\n{ROOT}\n",
    "size of 5,000 digits": f"name\n{'9' * 5_000}\n{ROOT}\n",
    "root respelled": f"name\n12\n{ROOT.replace('2I=', '2J=')}\n",
    "root unpadded": f"name\n12\n{ROOT[:-1]}\n",
    "root too short": "name\n12\nAAAA\n",
    "root in hexadecimal": f"name\n12\n{'00' * 32}\n",
}


@pytest.mark.parametrize("text", MALFORMED.values(), ids=MALFORMED.keys())
def test_a_checkpoint_in_any_other_form_is_refused(text):
    with pytest.raises(MalformedCheckpoint):
        parse_checkpoint(text)
