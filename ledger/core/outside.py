"""The ledger as a whole, compared with what is kept beside it and elsewhere.

Beside it: the head row of a database and the checkpoints in an exported file.
They can only agree; whoever changed the ledger could change them too.
Elsewhere: the reader's policy and the anchors. They pin it.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from ledger.core.checkpoint import Checkpoint, parse_signed
from ledger.core.errors import BadNoteSignature, LedgerRefusal
from ledger.core.note import Note, VerifierKey, verify_note
from ledger.core.report import Finding, Notebook
from ledger.core.trust import Anchor, TrustPolicy


@dataclass(frozen=True)
class StoredHead:
    """What a database says about the ledger as a whole."""

    size: int
    root: bytes
    last_hash: bytes
    at: str | None = None


@dataclass(frozen=True)
class Whole:
    """What was computed from all entries; `root_at` knows every earlier root."""

    origin: str
    size: int
    root: bytes
    root_at: Callable[[int], bytes | None]
    last_hash: bytes
    last_at: str
    genesis_hash: bytes
    log_key: bytes | None


class Comparison:
    """Compares one ledger with what is outside it; findings go to the notebook."""

    def __init__(self, whole: Whole, policy: TrustPolicy, notebook: Notebook) -> None:
        self._whole = whole
        self._policy = policy
        self._notebook = notebook

    def compare_head(self, head: StoredHead) -> None:
        """Compare with the head row of a database."""
        pairs: list[tuple[str, object, object]] = [
            ("size", self._whole.size, head.size),
            ("root", self._whole.root.hex(), head.root.hex()),
            ("last_hash", self._whole.last_hash.hex(), head.last_hash.hex()),
        ]
        if head.at is not None:
            pairs.append(("at", self._whole.last_at, head.at))
        for name, expected, found in pairs:
            if expected != found:
                self._notebook.add(
                    Finding(
                        "store",
                        f"head_{name}",
                        f"The head row's {name} is not that of the entries.",
                        expected=str(expected),
                        found=str(found),
                    )
                )

    def check_own(self, size: int, octets: bytes) -> None:
        """Check a checkpoint that came with the ledger, named by its size."""
        where = f"The chain mark of size {size}"
        try:
            checkpoint, note = parse_signed(octets)
        except LedgerRefusal as error:
            self._find("checkpoint", error.code, f"{where}: {error.message}")
            return
        if checkpoint.size != size:
            self._find(
                "checkpoint", "checkpoint_size", f"{where} says {checkpoint.size}."
            )
        self._check_against(checkpoint, "checkpoint", where)
        keys = self._log_keys()
        if keys:
            self._check_signed(note, keys, "checkpoint", where)

    def pin(self, anchor: Anchor) -> int | None:
        """Return the size up to which the anchor pins the ledger."""
        where = f"The anchor {anchor.name}"
        trusted = self._policy.keys_for(self._whole.origin)
        is_signed = True
        if anchor.note is not None and (trusted or self._log_keys()):
            is_signed = self._check_signed(
                anchor.note,
                trusted or self._log_keys(),
                "anchor",
                where,
                is_demanded=bool(trusted),
            )
        elif trusted:
            self._find("anchor", "not_signed", f"{where} carries no signature.")
            is_signed = False
        fits = self._check_against(anchor.checkpoint, "anchor", where)
        return anchor.checkpoint.size if fits and is_signed else None

    def _check_against(self, checkpoint: Checkpoint, cls: str, where: str) -> bool:
        """Tell whether this ledger has the state that the checkpoint describes."""
        if checkpoint.origin != self._whole.origin:
            self._find(cls, "other_ledger", f"{where} is of {checkpoint.origin[:120]}.")
            return False
        root = self._whole.root_at(checkpoint.size)
        if root is None:
            self._find(
                cls,
                f"shorter_than_{cls}",
                f"{where} counts {checkpoint.size} entries; only "
                f"{self._whole.size} are left.",
            )
            return False
        if root != checkpoint.root:
            self._find(
                cls,
                "root_differs",
                f"{where} has another history of the first {checkpoint.size} entries.",
            )
            return False
        return True

    def _check_signed(
        self,
        note: Note,
        keys: Sequence[VerifierKey],
        cls: str,
        where: str,
        *,
        is_demanded: bool = True,
    ) -> bool:
        try:
            signed = verify_note(note, keys)
        except BadNoteSignature as error:
            self._find(cls, error.code, f"{where}: {error.message}")
            return False
        if is_demanded and not signed:
            self._find(cls, "not_signed", f"{where} is not signed by the log's key.")
            return False
        return True

    def _log_keys(self) -> tuple[VerifierKey, ...]:
        """Return the key that the ledger's own first entry names."""
        spki = self._whole.log_key
        return () if spki is None else (VerifierKey(self._whole.origin, spki),)

    def check_policy(self) -> bool:
        """Compare with the reader's policy; tell whether the first entry is pinned."""
        policy = self._policy
        if policy.log_keys:
            trusted = policy.keys_for(self._whole.origin)
            if not trusted:
                self._find(
                    "policy",
                    "ledger_not_in_policy",
                    f"The policy names no log key for {self._whole.origin}.",
                )
            elif self._log_keys() and self._log_keys()[0] not in trusted:
                self._find(
                    "policy",
                    "log_key_differs",
                    "The ledger's first entry names another log key than the policy.",
                )
        if not policy.genesis_hashes:
            return False
        if self._whole.genesis_hash in policy.genesis_hashes:
            return True
        self._find(
            "anchor",
            "genesis_differs",
            "The first entry is not the one that the policy names.",
        )
        return False

    def _find(self, cls: str, code: str, message: str) -> None:
        self._notebook.add(Finding(cls, code, message))
