"""An entry's inclusion proof: for whoever checks it without this program.

The proof leads from the entry's leaf hash to the root of a chain mark of a size
(RFC 9162, section 2.1.3). Whoever holds a mark of that size from elsewhere compares
the roots.
"""

from dataclasses import dataclass
from typing import Any

from goldroom.errors import OutOfRange
from ledger import read
from ledger.core.base64text import to_base64
from ledger.core.merkle import prove_inclusion


@dataclass(frozen=True, kw_only=True)
class Proof:
    """Entry `index` is in the tree of the first `size` entries; hashes are base64."""

    origin: str
    index: int
    size: int
    root: str
    leaf_hash: str
    path: tuple[str, ...]

    def to_json(self) -> dict[str, Any]:
        """Return the proof as plain values, with the rule by which it is checked."""
        return {
            "checked_by": "RFC 9162 section 2.1.3.2, SHA-256",
            "origin": self.origin,
            "leaf_index": self.index,
            "tree_size": self.size,
            "root_hash": self.root,
            "leaf_hash": self.leaf_hash,
            "inclusion_path": list(self.path),
        }


def proof_of(ledger_id: int, seq: int, size: int | None = None) -> Proof:
    """Return the proof of an entry against the chain mark of a size (the present).

    Raises NoSuchEntry where the ledger has no such entry or fewer than `size`, and
    OutOfRange where a mark of that size does not cover the entry.
    """
    entry = read.entry(ledger_id, seq)
    if size is None:
        size = read.head(ledger_id).size
    root = read.root_at(ledger_id, size)
    if seq >= size:
        raise OutOfRange(
            f"size: a chain mark of {size} entries does not cover entry {seq}. Give a"
            f" size above {seq}.",
            field="size",
        )
    path = prove_inclusion(read.leaf_hashes(ledger_id, size), seq)
    return Proof(
        origin=read.keyring(ledger_id).origin,
        index=seq,
        size=size,
        root=to_base64(root),
        leaf_hash=to_base64(entry.leaf_hash),
        path=tuple(to_base64(each) for each in path),
    )
