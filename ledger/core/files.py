"""The files that entries cite, compared with the files that are there.

Every cited file must be there with the size and SHA-256 that was signed, and no
file may be there that nobody signed for. A file cited only by a statement that
lapsed may be there or not: that statement has a signature, but is no act.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from ledger.core.entry import LAPSED_KIND, Entry
from ledger.core.report import Finding, Notebook


@dataclass(frozen=True)
class StoredAttachment:
    """A file as found: the name (SHA-256) it goes by, its size and true SHA-256."""

    sha256: str
    size: int
    actual_sha256: str


class CitedFiles:
    """Everything that the entries of one ledger say about files."""

    def __init__(self, notebook: Notebook) -> None:
        self._notebook = notebook
        self._cited: dict[str, tuple[int, int]] = {}  # sha256: (size, seq)
        self._quoted: set[str] = set()

    def take(self, entry: Entry, seq: int) -> None:
        """Note the files that the entry at `seq` cites."""
        for item in entry.statement["attachments"]:
            sha256, size = item["sha256"], item["size"]
            known, _ = self._cited.setdefault(sha256, (size, seq))
            if known != size:
                self._find(
                    "attachment_size", sha256, f"is {known} and {size} bytes long.", seq
                )
        quoted = entry.data.get("statement")
        if entry.kind == LAPSED_KIND and isinstance(quoted, dict):
            files = quoted.get("attachments")
            self._quoted.update(
                str(item.get("sha256"))
                for item in (files if isinstance(files, list) else [])
                if isinstance(item, dict)
            )

    def compare(self, files: Iterable[StoredAttachment] | None) -> None:
        """Compare with the files found; None means that nobody looked."""
        if files is None:
            if self._cited:
                self._notebook.could_not_check(
                    f"{len(self._cited)} cited files were not looked at."
                )
            return
        present = set()
        for file in files:
            present.add(file.sha256)
            self._check_file(file)
        for sha256, (_, seq) in self._cited.items():
            if sha256 not in present:
                self._find("attachment_missing", sha256, "is missing.", seq)

    def _check_file(self, file: StoredAttachment) -> None:
        size, seq = self._cited.get(file.sha256, (None, None))
        if size is None and file.sha256 not in self._quoted:
            self._find(
                "attachment_unsigned", file.sha256, "is cited by no entry.", None
            )
        if file.actual_sha256 != file.sha256:
            self._find("attachment_digest", file.sha256, "has other content.", seq)
        elif size is not None and file.size != size:
            self._find("attachment_size", file.sha256, f"has {file.size} bytes.", seq)

    def _find(self, code: str, sha256: str, what: str, seq: int | None) -> None:
        self._notebook.add(
            Finding("attachment", code, f"The file {sha256[:16]}... {what}", seq)
        )
