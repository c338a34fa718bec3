"""One entry's page: what was said and by whom, and how to check it without us."""

import hashlib
import json
import re
from base64 import b64decode

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from goldroom.models import JournalLine
from ledger import attachments, read
from tests.front_door import ROOM, STANDING

SCAN = b"invented scan of an invented permit"


def seq_of(kind, ledger_id):
    """Return the number of the first entry of a kind."""
    lines = JournalLine.objects.filter(ledger_id=ledger_id, kind=kind)
    return lines.order_by("seq").first().seq


@pytest.fixture
def emptied(told_once):
    return seq_of("hopper.emptied", told_once.ledger_id)


def shown(client, seq):
    answer = client.get(f"/journal/{seq}/")
    assert answer.status_code == 200
    return answer.content.decode()


def test_an_entry_is_told_field_by_field_with_who_signed(
    told_once, signed_in_as, emptied
):
    page = shown(signed_in_as("p-leith"), emptied)
    for words in (
        "113.0 kg on PS1, typed in",
        "S-0003",
        "Amara Invented",
        "Leith Invented",
        "sealed key file: lower assurance",
        "2026-03-02 13:00",
    ):
        assert words in page


def test_an_entry_that_is_not_there_is_said_so(told_once, signed_in_as):
    client = signed_in_as("p-amara")
    assert client.get("/journal/5000/").status_code == 404
    assert client.get("/journal/99999999999999999999999/").status_code == 404


@pytest.mark.source("RFC 9162, section 2.1.1: leaf hash = SHA-256(0x00 || leaf)")
def test_the_bytes_are_the_record(told_once, signed_in_as, emptied):
    client = signed_in_as("p-amara")
    answer = client.get(f"/journal/{emptied}/bytes")
    digest = hashlib.sha256(b"\x00" + answer.content).hexdigest()
    assert digest in shown(client, emptied)
    assert read.entry(told_once.ledger_id, emptied).leaf_hash.hex() == digest
    assert answer["X-Content-Type-Options"] == "nosniff"
    assert answer["Content-Disposition"].startswith("attachment")


def root_from(leaf, index, size, path):
    """Return the root that an inclusion path leads to, by the tree's definition."""
    if size == 1:
        assert not path
        return leaf
    split = 1
    while split * 2 < size:
        split *= 2
    *lower, sibling = path
    if index < split:
        left, right = root_from(leaf, index, split, lower), sibling
    else:
        right = root_from(leaf, index - split, size - split, lower)
        left = sibling
    return hashlib.sha256(b"\x01" + left + right).digest()


@pytest.mark.source("RFC 9162, sections 2.1.1 and 2.1.3.1, from their definitions")
@pytest.mark.parametrize("size", [None, 33, 40])
def test_the_proof_leads_from_the_bytes_to_the_root(told_once, signed_in_as, size):
    client, seq = signed_in_as("p-anan"), 31
    asked = {} if size is None else {"size": str(size)}
    proof = json.loads(client.get(f"/journal/{seq}/proof", asked).content)
    leaf = client.get(f"/journal/{seq}/bytes").content
    digest = hashlib.sha256(b"\x00" + leaf).digest()
    path = [b64decode(each) for each in proof["inclusion_path"]]
    expected = size or read.head(told_once.ledger_id).size
    assert (proof["leaf_index"], proof["tree_size"]) == (seq, expected)
    root = root_from(digest, seq, proof["tree_size"], path)
    assert b64decode(proof["root_hash"]) == root
    assert root == read.root_at(told_once.ledger_id, expected)


@pytest.mark.parametrize(
    ("size", "status"), [("31", 400), ("0", 400), ("x", 400), ("99999", 404)]
)
def test_a_mark_that_does_not_cover_the_entry_is_refused(
    told_once, signed_in_as, size, status
):
    answer = signed_in_as("p-anan").get("/journal/31/proof", {"size": size})
    assert answer.status_code == status


def test_only_what_can_be_put_right_offers_it(told_once, signed_in_as, emptied):
    client = signed_in_as("p-amara")
    entry_id = read.entry(told_once.ledger_id, emptied).entry_id
    page = shown(client, emptied)
    assert f"?corrects={entry_id}&amp;mode=figures" in page
    assert f"?corrects={entry_id}&amp;mode=void" in page
    opening = shown(client, 0)
    assert "mode=figures" not in opening
    assert "mode=void" not in opening


@pytest.mark.parametrize(
    ("kind", "paper"),
    [
        ("cleanup.recorded", r"/papers/cleanup/\d+\.pdf"),
        ("charge.made_up", r"/papers/smelt/CH-1\.pdf"),
        ("charge.poured", r"/papers/smelt/CH-1\.pdf"),
    ],
)
def test_the_papers_of_an_entry_can_be_drawn(told_once, signed_in_as, kind, paper):
    client = signed_in_as("p-amara")
    page = shown(client, seq_of(kind, told_once.ledger_id))
    (address,) = re.findall(f'href="({paper})"', page)
    answer = client.get(address)
    assert answer.status_code == 200
    assert answer.content.startswith(b"%PDF-")


def test_a_page_takes_few_queries(told_once, signed_in_as, emptied):
    client = signed_in_as("p-soto")
    client.get(f"/journal/{emptied}/")
    with CaptureQueriesContext(connection) as queries:
        client.get(f"/journal/{emptied}/")
    assert len(queries) < 30


SEEN = {
    "vessel": "H1",
    "seals_seen": [
        {"point": "lid", "seal": "S-0001", "tamper_signs": "none"},
        {"point": "drain", "seal": "S-0009", "tamper_signs": "none"},
    ],
}
"""A seal is on the drain that nobody fitted there."""


def test_what_was_noticed_is_read_by_those_who_signed_or_watch(
    room_with_keys, signed_in_as
):
    seq = room_with_keys.say("seal.inspected", SEEN).entry.seq
    for person, is_told in (("p-amara", True), ("p-soto", True), ("p-lima", False)):
        page = shown(signed_in_as(person), seq)
        assert ("What was noticed in it" in page) is is_told


def test_a_cited_file_comes_as_a_download_and_never_runs(room_with_keys, signed_in_as):
    cited = attachments.put(
        room_with_keys.ledger_id, SCAN, name="permit <1>.html", media="text/html"
    )
    seq = room_with_keys.say(
        "seal.inspected", SEEN, ROOM, attachments=(cited,)
    ).entry.seq
    client = signed_in_as("p-lima")
    (address,) = re.findall(r'href="(/journal/\d+/files/[^"]+)"', shown(client, seq))
    answer = client.get(address)
    assert answer.content == SCAN
    assert answer["Content-Type"] == "application/octet-stream"
    assert answer["X-Content-Type-Options"] == "nosniff"
    assert answer["Content-Disposition"].startswith("attachment")
    assert "sandbox" in answer["Content-Security-Policy"]
    assert client.get(f"/journal/0/files/{cited['sha256']}").status_code == 404


ISSUED = {
    "series": "T", "first": 1, "last": 4, "digits": 4, "issued_to": "p-amara"
}  # fmt: skip


def test_corrections_are_linked_both_ways(room_with_keys, signed_in_as):
    wrong = room_with_keys.say("seals.issued", ISSUED, STANDING).entry
    correction = {
        "entry": wrong.entry_id,
        "mode": "void",
        "kind": "seals.issued",
        "reason": "another series was handed out",
    }
    hands = (("p-amara", "officer"), ("p-leith", "witness"))
    right = room_with_keys.say(
        "record.corrected", correction, hands, corrects=wrong.entry_id
    ).entry
    client = signed_in_as("p-amara")
    assert f'href="/journal/{right.seq}/"' in shown(client, wrong.seq)
    assert f'href="/journal/{wrong.seq}/"' in shown(client, right.seq)
