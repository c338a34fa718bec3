"""Writing a ledger, or its first entries, into a bundle: for the command and for pages.

A bundle of the first entries holds just these, and the files that they cite.
"""

from collections.abc import Iterable, Iterator
from pathlib import Path
from typing import BinaryIO

from django.db.models import Max

from ledger import chain, stored
from ledger.core.bundle import write_bundle
from ledger.core.entry import parse_leaf
from ledger.models import Attachment, Entry
from ledger.moment import one_moment


def write_whole(
    target: Path | BinaryIO,
    ledger_id: int,
    *,
    origin: str,
    checkpoints: Iterable[tuple[int, bytes]] = (),
) -> int:
    """Write every stored entry and file, also of a damaged ledger; return how many."""
    with one_moment():
        size = stored_size(ledger_id)
        write_bundle(
            target,
            chain.rows(ledger_id, 0, size),
            origin=origin,
            checkpoints=checkpoints,
            attachments=attachments(ledger_id),
        )
    return size


def write_first(target: BinaryIO, ledger_id: int, *, origin: str, size: int) -> None:
    """Write the first `size` entries with the files that they cite."""
    cited: set[str] = set()

    def leaves() -> Iterator[bytes]:
        for leaf in chain.rows(ledger_id, 0, size):
            files = parse_leaf(leaf).statement["attachments"]
            cited.update(each["sha256"] for each in files)
            yield leaf

    def files() -> Iterator[tuple[str, bytes]]:
        # Asked for only after the last entry was written: then all is known.
        for sha256, content in attachments(ledger_id):
            if sha256 in cited:
                yield sha256, content

    with one_moment():
        write_bundle(target, leaves(), origin=origin, attachments=files())


def stored_size(ledger_id: int) -> int:
    """Return the number of entries up to the last, also in a damaged ledger."""
    last = Entry.objects.filter(ledger_id=ledger_id).aggregate(last=Max("seq"))["last"]
    return 0 if last is None else min(int(last) + 1, chain.PLACES_MAX)


def attachments(ledger_id: int) -> Iterator[tuple[str, bytes]]:
    """Yield the recorded files, by digest."""
    rows = Attachment.objects.filter(ledger_id=ledger_id).order_by("sha256")
    for row in rows.iterator(chunk_size=10):
        yield row.sha256, stored.octets(row.content)
