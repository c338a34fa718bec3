"""Reading a bundle that somebody else gave us, without trusting it.

Nothing is ever written to disk. Names must be on the list of `bundle`, each
once; members are plain files, stored or deflated; sizes are capped before and
while reading; lines end at 0x0A and nowhere else. What departs from the layout
is a finding; what cannot be read at all is CouldNotCheck.
"""

from __future__ import annotations

import hashlib
import os
import re
import stat
import struct
import zipfile
import zlib
from collections.abc import Iterator
from pathlib import Path
from types import TracebackType

from ledger.core.bundle import (
    ATTACHMENT_NAME,
    BAG_DECLARATION,
    BUNDLE_FORMAT,
    CHECKPOINT_NAME,
    DECLARATION,
    ENTRIES,
    INFO,
    MANIFEST,
    README,
    TAG_MANIFEST,
)
from ledger.core.canonical import SIZE_BYTES_MAX
from ledger.core.errors import CouldNotCheck
from ledger.core.files import StoredAttachment
from ledger.core.note import NOTE_SIZE_BYTES_MAX
from ledger.core.report import Finding

MEMBERS_MAX = 100_000
MEMBER_SIZE_BYTES_MAX = 4 * 2**30
TOTAL_SIZE_BYTES_MAX = 16 * 2**30
SMALL_SIZE_BYTES_MAX = 16 * 2**20
EXPANSION_MAX = 200
_CHUNK_SIZE_BYTES = 2**16
# The end of central directory record of a zip file without a comment (APPNOTE 4.3.16).
_END_SIZE_BYTES, _END_MARK = 22, b"PK\x05\x06"
_FIXED_NAMES = frozenset({DECLARATION, INFO, README, MANIFEST, TAG_MANIFEST, ENTRIES})
_NEEDED_NAMES = (DECLARATION, INFO)
_MANIFEST_LINE = re.compile(r"([0-9a-f]{64})  (\S+)", re.ASCII)
_DAMAGE = (zipfile.BadZipFile, zlib.error, EOFError, OSError, ValueError, struct.error)


def read_bundle(path: Path) -> BundleReader:
    """Open a bundle for one reading; use it in a `with` statement."""
    return BundleReader(path)


class BundleReader:
    """One reading of a bundle. `findings` grows while the members are read."""

    def __init__(self, path: Path) -> None:
        self.findings: list[Finding] = []
        self._digests: dict[str, str] = {}
        self._sizes: dict[str, int] = {}
        try:
            self._archive = zipfile.ZipFile(path)
        except (*_DAMAGE, NotImplementedError) as error:
            raise CouldNotCheck(f"{path.name} cannot be read: {error}.") from error
        try:
            self._check_ends(path)
            self._members = self._admit(self._archive.infolist())
            self._check_format()
        except BaseException:
            self._archive.close()
            raise

    def __enter__(self) -> BundleReader:
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        self._archive.close()

    def entries(self) -> Iterator[bytes]:
        """Yield the leaves in order; an overlong line is yielded cut short."""
        if ENTRIES not in self._members:
            self._find("member_missing", f"{ENTRIES} is missing.")
            return
        rest = b""
        for chunk in self._chunks(ENTRIES):
            lines = (rest + chunk).split(b"\n")
            rest = lines.pop()[: SIZE_BYTES_MAX + 1]
            yield from (line[: SIZE_BYTES_MAX + 1] for line in lines)
        if rest:
            self._find("entries_unfinished", f"{ENTRIES} ends in the middle of a line.")
            yield rest

    def checkpoints(self) -> Iterator[tuple[int, bytes]]:
        """Yield the checkpoints as (size in the name, bytes), by size."""
        sizes = {
            int(match.group(1)): name
            for name in self._members
            if (match := CHECKPOINT_NAME.fullmatch(name))
        }
        for size, name in sorted(sizes.items()):
            yield size, self._whole(name, NOTE_SIZE_BYTES_MAX)

    def attachments(self) -> Iterator[StoredAttachment]:
        """Yield what is found under each attachment's name."""
        for name in sorted(self._members):
            match = ATTACHMENT_NAME.fullmatch(name)
            if match:
                for _ in self._chunks(name):
                    pass
                yield StoredAttachment(
                    match.group(1), self._sizes[name], self._digests[name]
                )

    def check_manifests(self) -> None:
        """Compare every member with the manifests; read what was not read yet."""
        for name in self._members:
            if name not in self._digests:
                for _ in self._chunks(name):
                    pass
        tags = {name for name in self._members if not name.startswith("data/")}
        payload = set(self._members) - tags
        self._compare_manifest(MANIFEST, payload)
        self._compare_manifest(TAG_MANIFEST, tags - {TAG_MANIFEST})
        expected = f"{sum(self._sizes[name] for name in payload)}.{len(payload)}"
        said = self._info().get("Payload-Oxum", "")
        if said != expected:
            self._find(
                "payload_oxum",
                f"{INFO} counts other bytes and files.",
                expected,
                ascii(said[:60]),
            )

    def check_name(self, origin: str) -> None:
        """Compare the ledger's name on the outside with that of its first entry."""
        said = self._info().get("External-Identifier", "")
        if origin and said != origin:
            self._find(
                "bundle_name",
                f"{INFO} says that this is another ledger.",
                origin,
                ascii(said[:120]),
            )

    def _check_ends(self, path: Path) -> None:
        """Find bytes before or after the archive, which other tools might read."""
        starts = [info.header_offset for info in self._archive.infolist()]
        with path.open("rb") as file:
            file.seek(-min(_END_SIZE_BYTES, path.stat().st_size), os.SEEK_END)
            end = file.read()
        if min(starts, default=0) or not end.startswith(_END_MARK):
            self._find(
                "bytes_outside", "There are bytes before or after the zip archive."
            )

    def _admit(self, infos: list[zipfile.ZipInfo]) -> dict[str, zipfile.ZipInfo]:
        if len(infos) > MEMBERS_MAX:
            raise CouldNotCheck(f"More than {MEMBERS_MAX} files in the bundle.")
        if sum(info.file_size for info in infos) > TOTAL_SIZE_BYTES_MAX:
            raise CouldNotCheck("The bundle claims to be too big to be read.")
        members: dict[str, zipfile.ZipInfo] = {}
        for info in infos:
            name = info.filename
            shown = ascii(name[:120])
            self._check_readable(info, shown)
            is_known = (
                name in _FIXED_NAMES
                or CHECKPOINT_NAME.fullmatch(name)
                or ATTACHMENT_NAME.fullmatch(name)
            )
            if not is_known or stat.S_ISLNK(info.external_attr >> 16):
                self._find("member_unexpected", f"{shown} does not belong here.")
            elif name in members:
                self._find("member_twice", f"{shown} is there twice.")
            else:
                members[name] = info
        return members

    def _check_readable(self, info: zipfile.ZipInfo, shown: str) -> None:
        if info.flag_bits & 0x41:
            raise CouldNotCheck(f"{shown} is encrypted.")
        if info.compress_type not in (zipfile.ZIP_STORED, zipfile.ZIP_DEFLATED):
            raise CouldNotCheck(f"{shown} is compressed in an unknown way.")
        if (
            info.file_size > MEMBER_SIZE_BYTES_MAX
            or info.file_size > EXPANSION_MAX * max(info.compress_size, 1)
        ):
            raise CouldNotCheck(f"{shown} claims to be too big to be read.")

    def _check_format(self) -> None:
        for name in _NEEDED_NAMES:
            if name not in self._members:
                raise CouldNotCheck(f"This is no bundle: {name} is missing.")
        if self._whole(DECLARATION, SMALL_SIZE_BYTES_MAX) != BAG_DECLARATION:
            raise CouldNotCheck(f"{DECLARATION} is not of BagIt version 1.0 in UTF-8.")
        said = self._info().get("Bundle-Format", "nothing")
        if said != str(BUNDLE_FORMAT):
            raise CouldNotCheck(
                f"The bundle is of format {said[:20]!a}; this program knows "
                f"{BUNDLE_FORMAT}."
            )

    def _info(self) -> dict[str, str]:
        text = self._whole(INFO, SMALL_SIZE_BYTES_MAX).decode("utf-8", "replace")
        pairs = (line.partition(": ") for line in text.split("\n") if line)
        return {name: value for name, _, value in pairs}

    def _compare_manifest(self, manifest: str, names: set[str]) -> None:
        if manifest not in self._members:
            self._find("member_missing", f"{manifest} is missing.")
            return
        listed: dict[str, str] = {}
        text = self._whole(manifest, SMALL_SIZE_BYTES_MAX).decode("utf-8", "replace")
        *lines, rest = text.split("\n")
        for line in [*lines, rest] if rest else lines:
            match = _MANIFEST_LINE.fullmatch(line)
            if match is None or match.group(2) in listed:
                self._find("manifest_line", f"{manifest}: {line[:100]!a}.")
                continue
            listed[match.group(2)] = match.group(1)
        for name in sorted(names | set(listed)):
            expected, found = listed.get(name), self._digests.get(name)
            if name not in names:
                self._find("member_missing", f"{name[:120]!a} is missing.")
            elif expected != found:
                self._find(
                    "manifest_digest",
                    f"{name} is not as {manifest} says.",
                    expected or "",
                    found or "",
                )

    def _whole(self, name: str, size_max: int) -> bytes:
        """Return a small member, cut at the limit plus one byte."""
        content = b""
        for chunk in self._chunks(name):
            if len(content) <= size_max:
                content += chunk
        return content[: size_max + 1]

    def _chunks(self, name: str) -> Iterator[bytes]:
        """Yield a member's bytes; keep its size and SHA-256 once it is read."""
        digest, size = hashlib.sha256(), 0
        try:
            with self._archive.open(self._members[name]) as member:
                while chunk := member.read(_CHUNK_SIZE_BYTES):
                    digest.update(chunk)
                    size += len(chunk)
                    yield chunk
        except NotImplementedError as error:
            raise CouldNotCheck(f"{name} cannot be read: {error}.") from error
        except _DAMAGE as error:
            if name not in self._digests:
                self._find("member_damaged", f"{name} is damaged: {error}.")
        self._digests[name], self._sizes[name] = digest.hexdigest(), size

    def _find(
        self, code: str, message: str, expected: str = "", found: str = ""
    ) -> None:
        self.findings.append(
            Finding("manifest", code, message, expected=expected, found=found)
        )
