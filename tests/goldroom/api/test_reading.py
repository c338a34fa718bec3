"""What programs read: the same as people, withheld from the same."""

import base64
import hashlib

import pymerkle
import pytest

from goldroom.api.table import OPERATIONS
from goldroom.roles import hidden_kinds
from tests import front_door
from tests.front_door import KEYS

READ = [
    each
    for each in OPERATIONS
    if each.method == "GET" and not any(one.is_required for one in each.parameters)
]


@pytest.mark.parametrize("operation", READ, ids=lambda each: each.name)
def test_the_accountant_reads_every_report(operation, told_once, program_of):
    answer = program_of("p-anan").get(f"/api/v1/{operation.path}")
    expected = 404 if operation.name == "verification" else 200
    assert answer.status_code == expected, answer.content
    assert answer["Cache-Control"] == "no-store"
    assert "json" in answer["Content-Type"]


BOOKS = [each for each in READ if each.needs]


@pytest.mark.parametrize("operation", BOOKS, ids=lambda each: each.name)
def test_the_books_are_not_for_the_bench(operation, told_once, program_of):
    answer = program_of("p-amara").get(f"/api/v1/{operation.path}")
    assert answer.status_code == 403
    assert answer.json()["code"] == "not_for_you"


@pytest.mark.source("RFC 6962 section 2.1: a leaf is hashed behind a zero byte")
def test_the_bytes_hash_to_the_leaf_hash(told_once, program_of):
    client = program_of("p-amara")
    entry = client.get("/api/v1/entries/3").json()
    leaf = base64.b64decode(entry["leaf"])
    assert hashlib.sha256(b"\0" + leaf).hexdigest() == entry["leaf_hash"]
    assert client.get("/api/v1/entries/3/bytes").content == leaf


@pytest.mark.source("package pymerkle as an independent tree; RFC 9162, 2.1.3.2")
def test_the_proof_leads_to_the_root_of_an_independent_tree(told_once, program_of):
    client = program_of("p-soto")
    size = client.get("/api/v1/ledger").json()["size"]
    tree = pymerkle.InmemoryTree(algorithm="sha256")
    for seq in range(size):
        tree.append_entry(client.get(f"/api/v1/entries/{seq}/bytes").content)
    for seq in (0, 3, size - 1):
        proof = client.get(f"/api/v1/entries/{seq}/proof").json()
        assert base64.b64decode(proof["root_hash"]) == tree.get_root()
        assert root_by(proof) == tree.get_root()


def root_by(proof):
    """Return the root that a proof leads to, step by step as the RFC has it."""
    found, last = proof["leaf_index"], proof["tree_size"] - 1
    root = base64.b64decode(proof["leaf_hash"])
    for each in map(base64.b64decode, proof["inclusion_path"]):
        if found % 2 or found == last:
            root = hashlib.sha256(b"\x01" + each + root).digest()
            while not found % 2 and found:
                found, last = found // 2, last // 2
        else:
            root = hashlib.sha256(b"\x01" + root + each).digest()
        found, last = found // 2, last // 2
    return root


def test_pages_of_the_journal_join_without_a_gap(told_once, program_of):
    client = program_of("p-anan")
    size = client.get("/api/v1/ledger").json()["size"]
    found, before = [], ""
    while before is not None:
        asked = {"most": "100", **({"before": before} if before else {})}
        page = client.get("/api/v1/journal", asked).json()
        found += [line["seq"] for line in page["lines"]]
        before = page["before"]
    assert found == list(range(size - 1, -1, -1))


def test_a_vaults_total_is_withheld_here_too(told_once, program_of):
    seen = program_of("p-amara").get("/api/v1/holdings").json()
    assert seen["withheld"] == ["vault"]
    whole = program_of("p-soto").get("/api/v1/holdings").json()
    assert whole["withheld"] == []


def test_an_entry_withheld_on_pages_is_withheld_here(fresh_db, program_of):
    limit = {"limit": "sample_loss_g", "value": "0.2", "unit": "g", "reason": "finer"}
    front_door.told().say("limit.set", limit, front_door.STANDING)
    client, watching = program_of("p-lima"), program_of("p-soto")
    lines = watching.get("/api/v1/journal", {"most": "500"}).json()["lines"]
    lines = [each for each in lines if each["kind"] in hidden_kinds(["laboratory"])]
    hidden = [each for each in lines if "p-lima" not in each["people"]]
    assert hidden
    address = f"/api/v1/entries/{hidden[0]['seq']}"
    assert watching.get(address).status_code == 200
    for path in (address, f"{address}/bytes", f"{address}/proof"):
        assert client.get(path).status_code == 403
    asked = {"kind": hidden[0]["kind"]}
    assert client.get("/api/v1/journal", asked).json()["lines"] == []


def test_figures_are_texts_and_never_binary(told_once, program_of):
    answer = program_of("p-anan").get(
        "/api/v1/reconciliation", {"from": "2026-03-01", "to": "2026-03-31"}
    )

    def floats(value):
        if isinstance(value, float):
            yield value
        for each in value.values() if isinstance(value, dict) else []:
            yield from floats(each)
        for each in value if isinstance(value, list) else []:
            yield from floats(each)

    assert answer.status_code == 200
    assert list(floats(answer.json())) == []


def test_a_kind_is_told_with_the_schema_of_its_data(told_once, program_of):
    told = program_of("p-amara").get("/api/v1/kinds/place.registered").json()
    assert told["data_schema"]["required"] == list(told["example"]["data"])


def test_numbers_persons_and_who_asks(told_once, program_of):
    client = program_of("gw-mill")
    assert client.get("/api/v1/me").json()["roles"] == ["gateway"]
    assert set(KEYS) - {"log"} <= set(client.get("/api/v1/people").json()["persons"])
