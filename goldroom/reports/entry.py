"""An entry told whole: words, figures, bytes, hashes, signatures, what corrects it.

Pages, the API and papers show the same object. `Mark` is the ledger's size and root,
from which a paper is drawn.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from goldroom.custody.act import utc_text
from goldroom.models import JournalLine
from goldroom.reports.aloud import Aloud, aloud
from goldroom.reports.journal import lines_of
from goldroom.reports.metal import NothingRecorded
from goldroom.reports.rows import in_pieces, readable
from goldroom.reports.told import ToldRow, told_rows
from goldroom.statements.registry import kinds
from ledger import read
from ledger.core.base64text import to_base64
from ledger.core.entry import Entry, Signature, parse_leaf
from ledger.core.keyring import Keyring
from ledger.core.signing import ALGORITHM

CORRECTION = "record.corrected"
FILE_KEY = ALGORITHM
"""The algorithm of a key that is kept in a sealed file: of lower assurance."""


@dataclass(frozen=True, kw_only=True)
class SignedBy:
    """A signature: whose, in which role, meaning what, by which key."""

    person: str
    name: str
    role: str
    meaning: str
    key_id: str
    is_file_key: bool


@dataclass(frozen=True, kw_only=True)
class Cited:
    """A file that a statement cites; `size` in bytes, `sha256` in hexadecimal."""

    name: str
    media: str
    sha256: str
    size: int


@dataclass(frozen=True, kw_only=True)
class EntryTold:
    """An entry. Times are UTC texts, and as the site's clock shows them.

    `corrects` and `corrected_by` are entry numbers; hashes are hexadecimal; `leaf`
    is the record itself; `data` what was said, in canonical values.
    """

    seq: int
    entry_id: str
    kind: str
    title: str
    sentence: str
    signing_class: str
    occurred_at: str
    received_at: str
    occurred_wall: str
    received_wall: str
    signers: tuple[SignedBy, ...]
    rows: tuple[ToldRow, ...]
    attachments: tuple[Cited, ...]
    corrects: int | None
    corrected_by: tuple[int, ...]
    leaf_hash: str
    previous_hash: str
    leaf: bytes
    data: Mapping[str, Any]


@dataclass(frozen=True, kw_only=True)
class Mark:
    """The chain mark that something is drawn from: whose ledger, size and root.

    `known_at` is when the ledger learned of its last entry, as UTC text.
    """

    origin: str
    site: str
    size: int
    root: str
    root_hex: str
    is_demo: bool
    zone: str
    known_at: str


def mark(ledger_id: int) -> Mark:
    """Return the chain mark of the ledger as it stands. Raises NothingRecorded."""
    ring = read.keyring(ledger_id)
    if ring.opening is None:
        raise NothingRecorded("This ledger has no entries yet. Open it first.")
    head = read.head(ledger_id)
    return Mark(
        origin=ring.origin,
        site=ring.opening.site,
        size=head.size,
        root=to_base64(head.root),
        root_hex=head.root.hex(),
        is_demo=ring.opening.demo,
        zone=ring.opening.time_zone,
        known_at=utc_text(datetime.fromisoformat(head.at)),
    )


def entry_told(ledger_id: int, seq: int) -> EntryTold:
    """Return the entry of this number. Raises NoSuchEntry."""
    return _told(ledger_id, [read.entry(ledger_id, seq)])[seq]


def entries_told(ledger_id: int, seqs: Iterable[int]) -> dict[int, EntryTold]:
    """Return the entries of these numbers, by number, in few queries."""
    found: list[Entry] = []
    for some in in_pieces(sorted(set(seqs))):
        found += [parse_leaf(leaf) for leaf in read.leaves(ledger_id, some)]
    return _told(ledger_id, found)


def _told(ledger_id: int, entries: list[Entry]) -> dict[int, EntryTold]:
    lines = lines_of(ledger_id, (each.entry_id for each in entries))
    sentences = {key: line.sentence for key, line in lines.items()}
    spoken = aloud(ledger_id, sentences.values())
    corrections = _corrections(ledger_id, [each.entry_id for each in entries])
    corrected = lines_of(
        ledger_id,
        (
            each.statement["corrects"]["entry"]
            for each in entries
            if each.statement["corrects"]
        ),
    )
    ring = read.keyring(ledger_id)
    told = {}
    for entry in entries:
        wrong = (entry.statement["corrects"] or {}).get("entry", "")
        told[entry.seq] = _one(
            entry,
            ring,
            spoken,
            sentence=sentences.get(entry.entry_id, ""),
            corrects=corrected[wrong].seq if wrong in corrected else None,
            corrected_by=corrections.get(entry.entry_id, ()),
        )
    return told


def _one(
    entry: Entry,
    ring: Keyring,
    spoken: Aloud,
    *,
    sentence: str,
    corrects: int | None,
    corrected_by: tuple[int, ...],
) -> EntryTold:
    said = entry.statement
    known = kinds().get(entry.kind)
    occurred_at = utc_text(datetime.fromisoformat(said["occurred_at"]))
    received_at = utc_text(datetime.fromisoformat(entry.at))
    return EntryTold(
        seq=entry.seq,
        entry_id=entry.entry_id,
        kind=entry.kind,
        title=entry.kind if known is None else known.title,
        sentence=spoken.sentence(sentence),
        signing_class=said["class"],
        occurred_at=occurred_at,
        received_at=received_at,
        occurred_wall=spoken.clock.wall_text(occurred_at),
        received_wall=spoken.clock.wall_text(received_at),
        signers=signers_told(ring, said, entry.signatures),
        rows=told_rows(entry.kind, said["v"], entry.data),
        attachments=tuple(Cited(**each) for each in said["attachments"]),
        corrects=corrects,
        corrected_by=corrected_by,
        leaf_hash=entry.leaf_hash.hex(),
        previous_hash=entry.previous.hex(),
        leaf=entry.leaf,
        data=entry.data,
    )


def signers_told(
    ring: Keyring, statement: Mapping[str, Any], signatures: Iterable[Signature]
) -> tuple[SignedBy, ...]:
    """Return who signed a statement, in the signers' order."""
    given = {each.key: each for each in signatures}
    found = []
    for signer in statement["signers"]:
        if signer["key"] not in given:
            continue
        held = ring.person(signer["person"])
        found.append(
            SignedBy(
                person=signer["person"],
                name=signer["person"] if held is None else held.name,
                role=signer["role"],
                meaning=signer["meaning"],
                key_id=signer["key"],
                is_file_key=given[signer["key"]].alg == FILE_KEY,
            )
        )
    return tuple(found)


def _corrections(ledger_id: int, entry_ids: list[str]) -> dict[str, tuple[int, ...]]:
    """Return the numbers of the entries that correct these, by entry id."""
    wanted = set(entry_ids)
    found: dict[str, list[int]] = {}
    with readable():
        lines = JournalLine.objects.filter(ledger_id=ledger_id, kind=CORRECTION)
        seqs = list(lines.order_by("seq").values_list("seq", flat=True))
    for some in in_pieces(seqs):
        for leaf in read.leaves(ledger_id, some):
            entry = parse_leaf(leaf)
            wrong = entry.statement["corrects"]["entry"]
            if wrong in wanted:
                found.setdefault(wrong, []).append(entry.seq)
    return {key: tuple(each) for key, each in found.items()}
