import hashlib
import random

import pymerkle
import pytest

from ledger.core.errors import MalformedProof
from ledger.core.merkle import (
    EMPTY_ROOT,
    Frontier,
    is_consistent,
    is_included,
    leaf_hash,
    node_hash,
    prove_consistency,
    prove_inclusion,
    tree_root,
)
from tests.ledger.core.vectors import flip_bit, load

VECTORS = load("merkle.json")
CT = pytest.mark.source("Certificate Transparency test data (RFC 6962 section 2.1)")
LEAVES = [leaf_hash(bytes.fromhex(text)) for text in VECTORS["leaves"]]
ROOTS = [bytes.fromhex(text) for text in VECTORS["roots"]]


@pytest.mark.parametrize(
    ("message", "digest"),
    [
        pytest.param(message, digest, id=name, marks=pytest.mark.source(source))
        for source in ["FIPS 180-4 examples (from memory, reproduced)"]
        for name, message, digest in [
            (
                "nothing",
                b"",
                "e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855",
            ),
            (
                "abc",
                b"abc",
                "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad",
            ),
            (
                "two blocks",
                b"abcdbcdecdefdefgefghfghighijhijkijkljklmklmnlmnomnopnopq",
                "248d6a61d20638b8e5c026930c3e6039a33ce45964ff2167f6ecedd419db06c1",
            ),
            (
                "a million a",
                b"a" * 1_000_000,
                "cdc76e5c9914fb9281a1c7e284d73e67f1809a48a497200e046d39ccc7112cd0",
            ),
        ]
    ],
)
def test_the_hash_underneath_is_sha_256(message, digest):
    assert hashlib.sha256(message).hexdigest() == digest


@CT
def test_published_leaf_hashes_are_met():
    assert [leaf.hex() for leaf in LEAVES] == VECTORS["leaf_hashes"]
    other = VECTORS["other"]
    assert leaf_hash(other["leaf_text"].encode()).hex() == other["leaf_hash"]
    joined = node_hash(other["left_text"].encode(), other["right_text"].encode())
    assert joined.hex() == other["node_hash"]


@CT
def test_published_roots_are_met():
    for size, root in enumerate(ROOTS):
        assert tree_root(LEAVES[:size]) == root
    for name, digest in VECTORS["nodes"].items():
        start, stop = (int(part) for part in name.strip("[)").split(","))
        assert tree_root(LEAVES[start:stop]).hex() == digest


def test_the_empty_tree_is_not_an_empty_leaf():
    assert tree_root([]) == EMPTY_ROOT
    assert leaf_hash(b"") != EMPTY_ROOT


@pytest.mark.parametrize(
    "case",
    [
        pytest.param(case, id=f"leaf {case['index']} of {case['size']}", marks=CT)
        for case in VECTORS["inclusion"]
    ],
)
def test_published_inclusion_proofs_are_made_and_accepted(case):
    index, size = case["index"], case["size"]
    path = [bytes.fromhex(text) for text in case["path"]]
    assert prove_inclusion(LEAVES[:size], index) == path
    assert is_included(LEAVES[index], index, size, path, ROOTS[size])
    for other in range(size):
        if other != index:
            assert not is_included(LEAVES[index], other, size, path, ROOTS[size])
    assert_every_spoiled_path_fails(
        path, lambda spoiled: is_included(
            LEAVES[index], index, size, spoiled, ROOTS[size]
        )
    )  # fmt: skip
    for bit in range(256):
        root = flip_bit(ROOTS[size], bit)
        leaf = flip_bit(LEAVES[index], bit)
        assert not is_included(LEAVES[index], index, size, path, root)
        assert not is_included(leaf, index, size, path, ROOTS[size])


@pytest.mark.parametrize(
    "case",
    [
        pytest.param(case, id=f"{case['old_size']} to {case['new_size']}", marks=CT)
        for case in VECTORS["consistency"]
    ],
)
def test_published_consistency_proofs_are_made_and_accepted(case):
    old, new = case["old_size"], case["new_size"]
    path = [bytes.fromhex(text) for text in case["path"]]
    assert prove_consistency(LEAVES[:new], old) == path
    assert is_consistent(old, new, path, ROOTS[old], ROOTS[new])
    if old != new:
        assert not is_consistent(old, new, path, ROOTS[new], ROOTS[old])
    assert not is_consistent(new, old, path, ROOTS[new], ROOTS[old]) or old == new
    assert_every_spoiled_path_fails(
        path, lambda spoiled: is_consistent(old, new, spoiled, ROOTS[old], ROOTS[new])
    )
    for bit in range(256):
        assert not is_consistent(old, new, path, flip_bit(ROOTS[old], bit), ROOTS[new])
        assert not is_consistent(old, new, path, ROOTS[old], flip_bit(ROOTS[new], bit))


def assert_every_spoiled_path_fails(path, accepts):
    for place, step in enumerate(path):
        for bit in range(256):
            spoiled = [*path[:place], flip_bit(step, bit), *path[place + 1 :]]
            assert not accepts(spoiled)
        assert not accepts([*path[:place], *path[place + 1 :]])
        assert not accepts([*path[:place], step, *path[place:]])
        assert not accepts([*path[:place], step[:31], *path[place + 1 :]])
        assert not accepts([*path[:place], step + b"\0", *path[place + 1 :]])
    assert not accepts([*path, bytes(32)])
    assert not accepts([bytes(32), *path])
    if len(path) > 1:
        assert not accepts(path[::-1])


def leaves_of(size: int) -> list[bytes]:
    return [leaf_hash(bytes([number])) for number in range(size)]


@pytest.mark.parametrize("size", range(1, 65))
def test_inclusion_holds_for_every_leaf_and_breaks_for_every_changed_hash(size):
    leaves = leaves_of(size)
    root = tree_root(leaves)
    for index, leaf in enumerate(leaves):
        proof = prove_inclusion(leaves, index)
        assert is_included(leaf, index, size, proof, root)
        assert not is_included(leaf, index, 2 * size, proof, root)
        for step in range(len(proof)):
            spoiled = [*proof[:step], flip_bit(proof[step], 7), *proof[step + 1 :]]
            assert not is_included(leaf, index, size, spoiled, root)
        if index:
            assert not is_included(leaves[index - 1], index, size, proof, root)


@pytest.mark.parametrize("new", range(1, 65))
def test_consistency_holds_from_every_size_and_breaks_for_every_changed_hash(new):
    leaves = leaves_of(new)
    root = tree_root(leaves)
    for old in range(1, new + 1):
        proof = prove_consistency(leaves, old)
        old_root = tree_root(leaves[:old])
        assert is_consistent(old, new, proof, old_root, root)
        for step in range(len(proof)):
            spoiled = [*proof[:step], flip_bit(proof[step], 7), *proof[step + 1 :]]
            assert not is_consistent(old, new, spoiled, old_root, root)
        if old < new:
            assert not is_consistent(old, new, proof, root, root)
            assert not is_consistent(old, new, [], old_root, root)


def test_nothing_is_consistent_with_the_empty_tree():
    """The reference library once accepted a proof from size 0."""
    leaves = leaves_of(8)
    assert not is_consistent(0, 8, [], EMPTY_ROOT, tree_root(leaves))
    assert not is_consistent(0, 0, [], EMPTY_ROOT, EMPTY_ROOT)
    with pytest.raises(MalformedProof):
        prove_consistency(leaves, 0)


@pytest.mark.parametrize("index", [-1, 8, 9, 2**70])
def test_a_leaf_outside_the_tree_has_no_proof(index):
    leaves = leaves_of(8)
    with pytest.raises(MalformedProof):
        prove_inclusion(leaves, index)
    assert not is_included(leaves[0], index, 8, [], tree_root(leaves))


@pytest.mark.source("package pymerkle 7.0.0 as an independent tree (roots only)")
def test_roots_equal_those_of_another_library():
    chance = random.Random(6962)
    other = pymerkle.InmemoryTree(algorithm="sha256")
    frontier = Frontier()
    for _ in range(300):
        content = chance.randbytes(chance.randrange(40))
        other.append_entry(content)
        frontier.append(leaf_hash(content))
        assert frontier.root() == other.get_root()


def test_the_frontier_survives_being_written_down_at_every_size():
    frontier = Frontier()
    for size in range(130):
        assert frontier.root() == tree_root(leaves_of(min(size, 256))[:size])
        again = Frontier.from_list(frontier.size, frontier.to_list())
        assert again.root() == frontier.root()
        assert len(frontier.to_list()) == size.bit_count()
        frontier = again
        frontier.append(leaf_hash(bytes([size])))


def test_a_copied_frontier_does_not_touch_the_first():
    frontier = Frontier()
    for leaf in leaves_of(5):
        frontier.append(leaf)
    root = frontier.root()
    other = frontier.copy()
    other.append(leaf_hash(b"more"))
    assert (frontier.root(), frontier.size) == (root, 5)
    assert other.root() != root


@pytest.mark.parametrize(
    ("size", "peaks"),
    [
        pytest.param(3, ["00" * 32], id="too few peaks"),
        pytest.param(2, ["00" * 32, "11" * 32], id="too many peaks"),
        pytest.param(1, ["00" * 31], id="short peak"),
        pytest.param(1, ["zz" * 32], id="not hexadecimal"),
        pytest.param(-1, [], id="negative size"),
    ],
)
def test_a_frontier_that_cannot_be_is_refused(size, peaks):
    with pytest.raises(MalformedProof):
        Frontier.from_list(size, peaks)
