"""Files that statements cite, as they come from a form or a program."""

from typing import Any

from goldroom.errors import Refusal
from goldroom.faces.reader import Reader
from ledger import attachments

BYTES_MOST = 10_000_000
NAME_MOST = 120


class FileRefused(Refusal):
    """A file cannot be cited: it is empty, too big, or has no usable name."""

    code = "file_not_taken"


def keep(reader: Reader, name: str, media: str, content: bytes) -> dict[str, Any]:
    """Keep a file until an entry cites it; return the citation. Raises FileRefused."""
    plain = "".join(sign for sign in name if sign.isprintable()).strip()
    plain = plain.replace("/", "_").replace("\\", "_")[:NAME_MOST]
    if not plain:
        raise FileRefused(
            "The file has no name. Give it one and choose it again.", field="files"
        )
    if not 0 < len(content) <= BYTES_MOST:
        raise FileRefused(
            f"{plain} has {len(content)} bytes; expected 1 to {BYTES_MOST}. Choose a"
            " smaller picture, or scan it at a lower resolution.",
            field="files",
        )
    is_media = media.count("/") == 1 and media.isascii() and " " not in media
    sort = media if is_media else "application/octet-stream"
    return attachments.put(reader.ledger_id, content, name=plain, media=sort)
