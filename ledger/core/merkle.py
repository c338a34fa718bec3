"""The hash tree over all entries (RFC 9162 section 2.1, as in RFC 6962).

    leaf hash = SHA-256(0x00 || leaf bytes)
    node hash = SHA-256(0x01 || left || right)

The root of an empty tree is the SHA-256 of nothing. A tree of n > 1 leaves is
split at the largest power of two below n. An *inclusion proof* shows that a
leaf is in a tree with a known root; a *consistency proof* shows that a tree
is a continuation of a smaller one. Both are lists of 32-byte hashes.

`Frontier` computes the running root of a growing tree while keeping only one
hash per bit of its size.
"""

from __future__ import annotations

import hashlib
from collections.abc import Sequence

from ledger.core.errors import MalformedProof

HASH_SIZE_BYTES = 32
EMPTY_ROOT = hashlib.sha256(b"").digest()


def leaf_hash(leaf: bytes) -> bytes:
    """Return the hash of one leaf's bytes."""
    return hashlib.sha256(b"\x00" + leaf).digest()


def node_hash(left: bytes, right: bytes) -> bytes:
    """Return the hash of the node above two hashes."""
    return hashlib.sha256(b"\x01" + left + right).digest()


def tree_root(leaves: Sequence[bytes]) -> bytes:
    """Return the root of the tree over leaf hashes, in their order."""
    frontier = Frontier()
    for leaf in leaves:
        frontier.append(leaf)
    return frontier.root()


def prove_inclusion(leaves: Sequence[bytes], index: int) -> list[bytes]:
    """Return the inclusion proof of leaf `index` (RFC 9162 section 2.1.3.1)."""
    size = len(leaves)
    if not 0 <= index < size:
        raise MalformedProof(f"There is no leaf {index} in a tree of {size}.")
    if size == 1:
        return []
    split = _split(size)
    if index < split:
        return [*prove_inclusion(leaves[:split], index), tree_root(leaves[split:])]
    return [
        *prove_inclusion(leaves[split:], index - split),
        tree_root(leaves[:split]),
    ]


def is_included(
    leaf: bytes, index: int, size: int, proof: Sequence[bytes], root: bytes
) -> bool:
    """Tell whether the proof leads from leaf hash `leaf` to `root`.

    The algorithm of RFC 9162 section 2.1.3.2.
    """
    if not 0 <= index < size or not _are_hashes([leaf, root, *proof]):
        return False
    place, last, value = index, size - 1, leaf
    for sibling in proof:
        if last == 0:
            return False
        if place & 1 or place == last:
            value = node_hash(sibling, value)
            while place and not place & 1:
                place, last = place >> 1, last >> 1
        else:
            value = node_hash(value, sibling)
        place, last = place >> 1, last >> 1
    return last == 0 and value == root


def prove_consistency(leaves: Sequence[bytes], old_size: int) -> list[bytes]:
    """Return the proof that this tree continues its first `old_size` leaves.

    RFC 9162 section 2.1.4.1. Nothing can be proved about an empty old tree.
    """
    size = len(leaves)
    if not 0 < old_size <= size:
        raise MalformedProof(
            f"No consistency proof leads from size {old_size} to size {size}."
        )
    return _subproof(leaves, old_size, whole=True)


def is_consistent(
    old_size: int,
    new_size: int,
    proof: Sequence[bytes],
    old_root: bytes,
    new_root: bytes,
) -> bool:
    """Tell whether the proof shows that the new tree continues the old one.

    The algorithm of RFC 9162 section 2.1.4.2. False for an empty old tree: its
    root says nothing, so a "proof" from it would be none.
    """
    if not 0 < old_size <= new_size or not _are_hashes([old_root, new_root, *proof]):
        return False
    if old_size == new_size:
        return not proof and old_root == new_root
    path = list(proof)
    if old_size & (old_size - 1) == 0:
        path.insert(0, old_root)
    if not path:
        return False
    place, last = old_size - 1, new_size - 1
    while place & 1:
        place, last = place >> 1, last >> 1
    old_value = new_value = path[0]
    for sibling in path[1:]:
        if last == 0:
            return False
        if place & 1 or place == last:
            old_value = node_hash(sibling, old_value)
            new_value = node_hash(sibling, new_value)
            while place and not place & 1:
                place, last = place >> 1, last >> 1
        else:
            new_value = node_hash(new_value, sibling)
        place, last = place >> 1, last >> 1
    return last == 0 and old_value == old_root and new_value == new_root


class Frontier:
    """The running root of a growing tree, in one hash per bit of its size.

    `peaks` are the roots of the full subtrees from left to right; their sizes
    are the powers of two in `size`, largest first.
    """

    def __init__(self) -> None:
        self.size = 0
        self._peaks: list[bytes] = []

    def append(self, leaf: bytes) -> None:
        """Add one leaf hash at the right."""
        assert len(leaf) == HASH_SIZE_BYTES
        node, size = leaf, self.size
        while size & 1:
            node, size = node_hash(self._peaks.pop(), node), size >> 1
        self._peaks.append(node)
        self.size += 1

    def root(self) -> bytes:
        """Return the root over everything appended so far."""
        if not self._peaks:
            return EMPTY_ROOT
        node = self._peaks[-1]
        for peak in reversed(self._peaks[:-1]):
            node = node_hash(peak, node)
        return node

    def to_list(self) -> list[str]:
        """Return the peaks as hexadecimal text, left to right."""
        return [peak.hex() for peak in self._peaks]

    @classmethod
    def from_list(cls, size: int, peaks: Sequence[str]) -> Frontier:
        """Return the frontier of `size` leaves with these hexadecimal peaks."""
        try:
            hashes = [bytes.fromhex(peak) for peak in peaks]
        except ValueError as error:
            raise MalformedProof(f"A frontier peak is no hash: {error}.") from error
        if size < 0 or len(hashes) != size.bit_count() or not _are_hashes(hashes):
            raise MalformedProof(
                f"A frontier of {size} leaves has {max(size, 0).bit_count()} peaks of "
                f"{HASH_SIZE_BYTES} bytes; found {len(hashes)}."
            )
        frontier = cls()
        frontier.size = size
        frontier._peaks = hashes
        return frontier

    def copy(self) -> Frontier:
        """Return a frontier that can be appended to without touching this one."""
        return Frontier.from_list(self.size, self.to_list())


def _split(size: int) -> int:
    """Return the largest power of two smaller than `size` (> 1)."""
    return 1 << ((size - 1).bit_length() - 1)


def _subproof(leaves: Sequence[bytes], old_size: int, *, whole: bool) -> list[bytes]:
    size = len(leaves)
    if old_size == size:
        return [] if whole else [tree_root(leaves)]
    split = _split(size)
    if old_size <= split:
        return [
            *_subproof(leaves[:split], old_size, whole=whole),
            tree_root(leaves[split:]),
        ]
    return [
        *_subproof(leaves[split:], old_size - split, whole=False),
        tree_root(leaves[:split]),
    ]


def _are_hashes(values: Sequence[bytes]) -> bool:
    return all(
        isinstance(value, bytes) and len(value) == HASH_SIZE_BYTES for value in values
    )
