"""Checkpoints of a ledger, signed with its log key.

A checkpoint is only made from committed entries, all of them hashed again, and only
if it agrees with the high-water mark beside the key (see `marks`).
"""

from pathlib import Path

from django.db import connection

from ledger import chain, marks, read, sealed_keys
from ledger.core.checkpoint import Checkpoint, sign_checkpoint
from ledger.core.merkle import Frontier, leaf_hash
from ledger.core.signing import SigningKey
from ledger.errors import KeyFileRefused, NotCommitted
from ledger.moment import one_moment


def sign(ledger_id: int, key_file: Path, passphrase: str) -> tuple[int, bytes]:
    """Return the size and the signed checkpoint of the ledger as it stands."""
    if connection.in_atomic_block:
        raise NotCommitted(
            "A checkpoint is signed after the commit, never inside a transaction."
        )
    key = sealed_keys.read(key_file, passphrase).signing
    with marks.held(key_file):
        mark = marks.read_mark(key_file)
        checkpoint, root_at_mark = _recomputed(ledger_id, key, mark)
        if mark is not None:
            marks.check_against(
                mark,
                origin=checkpoint.origin,
                size=checkpoint.size,
                root=root_at_mark,
            )
        marks.write_mark(
            key_file,
            marks.Mark(checkpoint.origin, checkpoint.size, checkpoint.root),
        )
        return checkpoint.size, sign_checkpoint(checkpoint, key)


def _recomputed(
    ledger_id: int, key: SigningKey, mark: marks.Mark | None
) -> tuple[Checkpoint, bytes]:
    """Return the checkpoint from the leaves, and the root at the mark's size."""
    frontier, root_at_mark = Frontier(), b""
    with one_moment():
        state = chain.current(ledger_id)
        for leaf in chain.rows(ledger_id, 0, read.head(ledger_id).size):
            frontier.append(leaf_hash(leaf))
            if mark is not None and frontier.size == mark.size:
                root_at_mark = frontier.root()
    if state.keyring.log_key != key.spki:
        raise KeyFileRefused(
            f"This is not the log key that the first entry of {state.origin} names.",
            code="wrong_log_key",
        )
    return Checkpoint(state.origin, frontier.size, frontier.root()), root_at_mark
