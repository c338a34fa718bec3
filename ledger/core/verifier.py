"""The verification of a ledger, entry by entry, in one pass.

`feed` takes the leaf bytes in order; it never stops at a finding and never
raises for what it is fed. `finish` compares the whole with what was kept
elsewhere and returns the report. The same code judges an exported file and the
rows of a database, so both verdicts are one.

For each entry: canonical bytes and form; place, predecessor and clock; the row
it came from; entry id and nonces used once; the ledger's name; what a correction
cites; basis; signers, roles, persons and signatures under the rules then in
force; and what the entry changes in those rules.

Kept in memory: 32 bytes of root, an id and a hash per entry, and the nonces.
"""

from __future__ import annotations

from collections.abc import Iterable

from ledger.core.base64text import from_base64
from ledger.core.changes import step
from ledger.core.entry import Entry, nonces_of, parse_leaf
from ledger.core.errors import (
    CouldNotCheck,
    LedgerRefusal,
    Problem,
    UnassignedCharacter,
)
from ledger.core.files import CitedFiles, StoredAttachment
from ledger.core.keyring import Keyring
from ledger.core.merkle import EMPTY_ROOT, HASH_SIZE_BYTES, Frontier, leaf_hash
from ledger.core.outside import Comparison, StoredHead, Whole
from ledger.core.report import Finding, Notebook, Report
from ledger.core.trust import Anchor, TrustPolicy

# Judgements that rest on having understood every earlier entry.
_NEED_EVERY_ENTRY_BEFORE = frozenset(
    {
        "algorithm_differs",
        "basis_lag",
        "corrects_unknown",
        "key_not_valid",
        "key_of_other_person",
        "key_unknown",
    }
)


# Leaves that are no entries before a reader may stop: a file of a few megabytes can
# hold thousands of millions of empty lines.
UNREADABLE_MAX = 100_000


class Verifier:
    """Judges one ledger. Feed every leaf in order, then finish once."""

    def __init__(
        self, policy: TrustPolicy | None = None, anchors: Iterable[Anchor] = ()
    ) -> None:
        self._policy = policy or TrustPolicy()
        self._anchors = tuple(anchors)
        self._keyring = Keyring.empty()
        self._frontier = Frontier()
        self._roots = bytearray(EMPTY_ROOT)
        self._last_hash = b""
        self._genesis_hash = b""
        self._last_at = ""
        self._origin = ""
        self._leaf_hashes: dict[str, bytes] = {}
        self._nonces: set[str] = set()
        self._notebook = Notebook()
        self._files = CitedFiles(self._notebook)
        self._is_blind = False
        self._unreadable = 0

    @property
    def size(self) -> int:
        """The number of leaves fed so far."""
        return self._frontier.size

    @property
    def is_lost(self) -> bool:
        """Whether so many leaves were no entries that a reader may stop."""
        return self._unreadable >= UNREADABLE_MAX

    @property
    def keyring(self) -> Keyring:
        """The register of persons and keys after the leaves fed so far."""
        return self._keyring

    def root_at(self, size: int) -> bytes | None:
        """Return the root of the first `size` leaves, None beyond those fed."""
        if not 0 <= size <= self.size:
            return None
        start = size * HASH_SIZE_BYTES
        return bytes(self._roots[start : start + HASH_SIZE_BYTES])

    def feed(self, leaf: bytes, stored: tuple[int, str, bytes] | None = None) -> None:
        """Judge the next leaf; `stored` is its row's seq, entry id and leaf hash."""
        digest = leaf_hash(leaf)
        entry = self._parse(leaf)
        if stored is not None:
            self._compare_row(stored, entry, digest)
        if entry is not None:
            self._check_links(entry)
            self._check_used_once(entry)
            self._check_content(entry)
            self._check_signers(entry)
            self._change_register(entry)
            self._last_at = max(self._last_at, entry.at)
            self._leaf_hashes.setdefault(entry.entry_id, digest)
        self._last_hash = digest
        self._genesis_hash = self._genesis_hash or digest
        self._frontier.append(digest)
        self._roots += self._frontier.root()

    def add(self, finding: Finding) -> None:
        """Take in a finding that somebody else made about the same ledger."""
        self._notebook.add(finding)

    def could_not_check(self, message: str) -> None:
        """Take in that something else could not be judged."""
        self._notebook.could_not_check(message)

    def finish(
        self,
        head: StoredHead | None = None,
        *,
        attachments: Iterable[StoredAttachment] | None = None,
        checkpoints: Iterable[tuple[int, bytes]] = (),
    ) -> Report:
        """Compare the whole with what is kept beside it and elsewhere; report.

        `checkpoints` are (size, note) pairs that came with the ledger.
        `attachments` None means that nobody looked at the files.
        """
        notebook = self._notebook
        if not self.size:
            notebook.could_not_check("There are no entries.")
        comparison = Comparison(self._whole(), self._policy, notebook)
        if head is not None:
            comparison.compare_head(head)
        self._files.compare(attachments)
        for size, octets in checkpoints:
            comparison.check_own(size, octets)
        genesis_pinned = comparison.check_policy()
        pinned = [size for size in map(comparison.pin, self._anchors) if size]
        return Report(
            origin=self._origin,
            size=self.size,
            root=self._frontier.root(),
            last_hash=self._last_hash,
            genesis_hash=self._genesis_hash,
            findings=tuple(notebook.findings),
            findings_left_off=notebook.left_off,
            could_not_check=tuple(notebook.not_checked),
            pinned_size=max(pinned, default=None),
            genesis_pinned=genesis_pinned or bool(pinned),
        )

    def _whole(self) -> Whole:
        return Whole(
            origin=self._origin,
            size=self.size,
            root=self._frontier.root(),
            root_at=self.root_at,
            last_hash=self._last_hash,
            last_at=self._last_at,
            genesis_hash=self._genesis_hash,
            log_key=self._keyring.log_key,
        )

    def _parse(self, leaf: bytes) -> Entry | None:
        try:
            return parse_leaf(leaf)
        except (CouldNotCheck, UnassignedCharacter) as error:
            self._go_blind(error.message)
        except LedgerRefusal as error:
            self._find("content", error.code, error.message)
            self._unreadable += 1
        return None

    def _go_blind(self, message: str) -> None:
        """Note that from here on the rules in force are not known for sure."""
        self._notebook.could_not_check(f"entry {self.size}: {message}")
        self._is_blind = True

    def _compare_row(
        self, stored: tuple[int, str, bytes], entry: Entry | None, digest: bytes
    ) -> None:
        seq, entry_id, stored_hash = stored
        if seq != self.size:
            self._differ("store", "row_seq", "row number", self.size, seq)
        if bytes(stored_hash) != digest:
            self._differ(
                "store",
                "row_hash",
                "hash kept beside the leaf",
                digest.hex(),
                bytes(stored_hash).hex(),
            )
        if entry is not None and str(entry_id) != entry.entry_id:
            self._differ(
                "store", "row_entry_id", "row's entry id", entry.entry_id, entry_id
            )

    def _check_links(self, entry: Entry) -> None:
        if entry.seq != self.size:
            self._differ("link", "seq", "place", self.size, entry.seq, entry)
        if entry.previous != self._last_hash:
            self._differ(
                "link",
                "previous",
                "hash of the entry before",
                self._last_hash.hex(),
                entry.previous.hex(),
                entry,
            )
        if entry.at < self._last_at:
            self._differ(
                "link", "at_falls", "server's clock", self._last_at, entry.at, entry
            )
        if entry.clock_held and entry.at != self._last_at:
            self._differ(
                "link", "clock_held", "held clock", self._last_at, entry.at, entry
            )

    def _check_used_once(self, entry: Entry) -> None:
        if entry.entry_id in self._leaf_hashes:
            self._find(
                "content", "entry_id_used", "An earlier entry has the same id.", entry
            )
        for nonce in nonces_of(entry.signed):
            if nonce in self._nonces:
                self._find(
                    "signature", "nonce_used", f"The nonce {nonce} was used.", entry
                )
            self._nonces.add(nonce)

    def _check_content(self, entry: Entry) -> None:
        statement = entry.statement
        self._origin = self._origin or statement["origin"]
        if statement["origin"] != self._origin:
            self._differ(
                "content",
                "origin_differs",
                "ledger's name",
                self._origin,
                statement["origin"],
                entry,
            )
        corrects = statement["corrects"]
        if corrects is not None:
            cited = self._leaf_hashes.get(corrects["entry"])
            if cited != from_base64(corrects["leaf"]):
                self._find(
                    "content",
                    "corrects_unknown",
                    "It corrects an entry that does not stand before it as cited.",
                    entry,
                )
        self._files.take(entry, self.size)

    def _check_signers(self, entry: Entry) -> None:
        statement, place = entry.statement, self.size
        problems = self._keyring.check_basis(statement, place, self.root_at)
        try:
            problems += self._keyring.check_signers(
                statement, entry.signatures, place, digest=entry.digest
            )
        except CouldNotCheck as error:
            self._go_blind(error.message)
        self._take(problems, entry)

    def _change_register(self, entry: Entry) -> None:
        try:
            self._keyring = step(self._keyring, entry.statement, self.size)
        except CouldNotCheck as error:
            self._go_blind(error.message)
        except LedgerRefusal as error:
            self._take([Problem("policy", error.code, error.message)], entry)

    def _take(self, problems: Iterable[Problem], entry: Entry) -> None:
        for problem in problems:
            if self._is_blind and (
                problem.cls == "policy" or problem.code in _NEED_EVERY_ENTRY_BEFORE
            ):
                self._notebook.could_not_check(f"entry {self.size}: {problem.message}")
                continue
            self._notebook.add(
                Finding(
                    problem.cls,
                    problem.code,
                    problem.message,
                    self.size,
                    entry.entry_id,
                    problem.expected,
                    problem.found,
                )
            )

    def _find(
        self, cls: str, code: str, message: str, entry: Entry | None = None
    ) -> None:
        problem = Problem(cls, code, message)
        if entry is not None:
            self._take([problem], entry)
        else:
            self._notebook.add(Finding(cls, code, message, self.size))

    def _differ(
        self,
        cls: str,
        code: str,
        what: str,
        expected: object,
        found: object,
        entry: Entry | None = None,
    ) -> None:
        message = f"The {what} is not the expected one."
        self._notebook.add(
            Finding(
                cls,
                code,
                message,
                self.size,
                entry.entry_id if entry else None,
                str(expected),
                str(found),
            )
        )
