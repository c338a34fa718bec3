"""Files that statements cite. Uploaded first, recorded when the entry is.

A statement names each file by SHA-256, size, name and media type; the signers sign
that. The bytes wait in the work area and move into the record with the entry.
"""

import hashlib
from typing import Any

from django.db import connection

from ledger.errors import AttachmentMismatch, NoSuchEntry
from ledger.models import Attachment, WorkAttachment


def put(ledger_id: int, content: bytes, *, name: str, media: str) -> dict[str, Any]:
    """Keep an uploaded file; return how a statement cites it."""
    digest = hashlib.sha256(content).hexdigest()
    WorkAttachment.objects.get_or_create(
        ledger_id=ledger_id,
        sha256=digest,
        defaults={"size": len(content), "content": content},
    )
    return {"media": media, "name": name, "sha256": digest, "size": len(content)}


def content(ledger_id: int, sha256: str) -> bytes:
    """Return the bytes of a file that an entry cites."""
    row = Attachment.objects.filter(ledger_id=ledger_id, sha256=sha256).first()
    if row is None:
        raise NoSuchEntry(
            f"No entry cites a file with SHA-256 {sha256}.", field="sha256"
        )
    return bytes(row.content)


def take_in(ledger_id: int, cited: list[dict[str, Any]]) -> None:
    """Move cited files into the record, inside the transaction of their entry."""
    with connection.cursor() as cursor:
        for item in cited:
            named = [ledger_id, item["sha256"], item["size"]]
            cursor.execute(
                "INSERT INTO ledger_attachment (ledger_id, sha256, size, content)"
                " SELECT ledger_id, sha256, size, content FROM work_attachment"
                " WHERE ledger_id = %s AND sha256 = %s AND size = %s AND NOT EXISTS"
                " (SELECT 1 FROM ledger_attachment"
                " WHERE ledger_id = %s AND sha256 = %s)",
                [*named, *named[:2]],
            )
            if cursor.rowcount != 1:
                _check_recorded(item, named)
            cursor.execute(
                "DELETE FROM work_attachment WHERE ledger_id = %s AND sha256 = %s",
                named[:2],
            )


def _check_recorded(item: dict[str, Any], named: list[Any]) -> None:
    """Refuse unless an earlier entry has brought the very same file."""
    with connection.cursor() as cursor:
        cursor.execute(
            "SELECT 1 FROM ledger_attachment"
            " WHERE ledger_id = %s AND sha256 = %s AND size = %s",
            named,
        )
        if cursor.fetchone() is None:
            raise AttachmentMismatch(
                f"The file {item['name']} ({item['size']} bytes, SHA-256 "
                f"{item['sha256'][:16]}…) is cited, but no such file was uploaded. "
                "Upload it again and sign the statement that cites it.",
                field="attachments",
            )
