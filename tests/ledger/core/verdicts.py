"""One ledger of twelve entries and what a verification says about its variants."""

from collections.abc import Iterable

from ledger.core.files import StoredAttachment
from ledger.core.report import Report
from ledger.core.signing import SigningKey
from ledger.core.trust import Anchor, TrustPolicy, parse_anchor
from ledger.core.verifier import Verifier
from tests.ledger.core.builder import LOG_KEY, SCAN, Book, attachment, twelve_entries

BOOK = twelve_entries()
DIGEST = attachment(SCAN)["sha256"]
FILES = (StoredAttachment(DIGEST, len(SCAN), DIGEST),)


def verify(
    leaves: Iterable[bytes],
    *,
    policy: TrustPolicy | None = None,
    anchors: Iterable[Anchor] = (),
    files: Iterable[StoredAttachment] | None = FILES,
    **finish,
) -> Report:
    """Return the report on leaves; `finish` are further arguments of finish."""
    verifier = Verifier(policy, anchors)
    for leaf in leaves:
        verifier.feed(leaf)
    return verifier.finish(attachments=files, **finish)


def codes(report: Report) -> set[str]:
    """Return the codes of all findings."""
    return {finding.code for finding in report.findings}


def anchor_of(book: Book, size: int | None = None, key: SigningKey = LOG_KEY) -> Anchor:
    """Return a checkpoint of the book as somebody else kept it."""
    return parse_anchor(book.note(size, key))
