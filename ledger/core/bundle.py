"""The exported ledger: one zip file that can be checked without us.

Laid out as a bag (RFC 8493), so that general tools can check it too:

    bagit.txt                     the two lines that RFC 8493 section 2.1.1 wants
    data/entries.jsonl            one leaf a line, in order, each ended by 0x0A
    data/checkpoints/<size>.txt   signed checkpoints
    data/attachments/<sha256>     the files that entries cite
    README.txt                    how to verify, also with other tools
    bag-info.txt                  format of the bundle, ledger's name, Payload-Oxum
    manifest-sha256.txt           SHA-256 of each file under data/
    tagmanifest-sha256.txt        SHA-256 of each other file

Files are stored uncompressed, in this order, with one fixed date: the same
content gives the same bytes. A canonical leaf holds no raw line feed, so line i
is leaf i, byte for byte. The bundle carries no program and no keys to trust: a
file cannot vouch for itself.
"""

from __future__ import annotations

import hashlib
import os
import re
import stat
import zipfile
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import IO, BinaryIO, TypeVar

BUNDLE_FORMAT = 1
BAG_DECLARATION = b"BagIt-Version: 1.0\nTag-File-Character-Encoding: UTF-8\n"
DECLARATION, INFO, README = "bagit.txt", "bag-info.txt", "README.txt"
MANIFEST, TAG_MANIFEST = "manifest-sha256.txt", "tagmanifest-sha256.txt"
ENTRIES = "data/entries.jsonl"
CHECKPOINT_NAME = re.compile(r"data/checkpoints/(0|[1-9][0-9]{0,15})\.txt", re.ASCII)
ATTACHMENT_NAME = re.compile(r"data/attachments/([0-9a-f]{64})", re.ASCII)
Key = TypeVar("Key", int, str)
_FIXED_DATE = (1980, 1, 1, 0, 0, 0)

_README_TEXT = """\
A ledger, exported whole
========================

This file holds the record of a site: what people there said happened, each
statement signed by those who answer for it, in the order in which it was taken down.
Each entry is tied to all entries before it, so that nothing can be changed, put in or
taken out later without a trace. You can check that yourself, without the people who
gave you this file, without their computers and without the internet.

What is in it
  data/entries.jsonl       the entries, one a line, exactly as recorded; any editor
                           shows them; a figure with decimals stands there as text
  data/checkpoints/        signed notes of how many entries there were, and their root
  data/attachments/        the files that entries cite, each named by its SHA-256
  bag-info.txt             the ledger's name
  manifest-sha256.txt, tagmanifest-sha256.txt    the SHA-256 of every other file
The layout is that of RFC 8493 (BagIt). No program comes with the file: take none from
whoever gave it to you.

1. Is the file complete and undamaged?
  Unpack it, go into the folder and run
      sha256sum -c manifest-sha256.txt
      sha256sum -c tagmanifest-sha256.txt
  Every line must end in OK. That says nothing about who wrote what.

2. Is the record unbroken, and signed by the right people?
  The program is the Python package `ledger.core`, free to copy and to read; it needs
  Python and the package `cryptography`, no database and no network. Take it from a
  source that you trust, not from whoever gave you this file. On the packed file, run
      python -m ledger.core.verify BUNDLE --policy POLICY --anchor CHECKPOINT
  Exit codes: 0 verified and pinned, 3 verified but not pinned, 2 evidence of
  tampering or damage, 1 could not check. It says where, and what it cannot prove.

3. Is it the right ledger, and are its newest entries all here?
  No file can answer this about itself: whoever made all of it anew, or cut off its
  end, could make it agree with itself. You need something that reached you by another
  way, on paper or by telephone, from somebody who does not profit from a change:
  POLICY is a text file of your own. It names the key that signs this ledger's
  checkpoints and the hash of its first entry, as they were read out when the ledger
  was opened:
      log NAME+ID+KEY
      genesis HASH
      quorum none
  CHECKPOINT is a text file with a checkpoint that was kept elsewhere: a signed one,
  or its first three lines as copied from paper (the ledger's name, the number of
  entries, the root). The newest one you can get is the best; --anchor may be repeated.
  With neither of them the program can only end in 3, 2 or 1.

With tools of your own
  The hash of an entry is the SHA-256 of one zero byte followed by the line without
  its line end. Each entry quotes, as server.previous, the base64 of the hash of the
  entry before it. The root over all entries is the tree hash of RFC 9162 section 2.1
  over the lines; a checkpoint quotes it in base64.
  Each signature is Ed25519 (RFC 8032) over five lines, each ended by a line feed:
      goldroom.ledger/sign/v1
      the ledger's name (statement.origin)
      the role in which the person signs (statement.signers, in the same order)
      the SHA-256, in hexadecimal, of the statement: the bytes of the line after the
          first ,"statement": up to, not including, the last }
      the signature's nonce
  The public keys are in the first entry (data.persons) and in the entries of kind
  person.enrolled and key.rotated, as base64 of DER (SubjectPublicKeyInfo). Who had to
  sign what is in the first entry (data.policy) and in entries of kind policy.set.
  Checkpoints are C2SP signed notes by the key data.log_key of the first entry.

What no check of this file can show
  What was never entered; false readings that all signers signed; a key that its owner
  lent; the true time of an event, which is only known to lie between two checkpoints
  that somebody else kept.
"""


def write_bundle(
    target: Path | BinaryIO,
    entries: Iterable[bytes],
    *,
    origin: str,
    checkpoints: Iterable[tuple[int, bytes]] = (),
    attachments: Iterable[tuple[str, bytes]] = (),
) -> None:
    """Write a bundle to a path (all or nothing) or into an open binary file.

    `entries` are leaf bytes in order. `checkpoints` are (size, signed note) and
    `attachments` (SHA-256 in hex, content), each in ascending order.
    """
    if isinstance(target, Path):
        part = target.with_name(f"{target.name}.part")
        try:
            with part.open("wb") as file:
                _write(file, entries, origin, checkpoints, attachments)
                file.flush()
                os.fsync(file.fileno())
            part.replace(target)
        finally:
            part.unlink(missing_ok=True)
    else:
        _write(target, entries, origin, checkpoints, attachments)


def _write(
    file: BinaryIO,
    entries: Iterable[bytes],
    origin: str,
    checkpoints: Iterable[tuple[int, bytes]],
    attachments: Iterable[tuple[str, bytes]],
) -> None:
    with zipfile.ZipFile(file, "w", zipfile.ZIP_STORED) as archive:
        bag = _BagWriter(archive)
        bag.put(DECLARATION, BAG_DECLARATION)
        with bag.open(ENTRIES) as member:
            for leaf in entries:
                member.write(leaf + b"\n")
        for size, note in _ascending(checkpoints):
            bag.put(f"data/checkpoints/{size}.txt", note)
        for sha256, content in _ascending(attachments):
            bag.put(f"data/attachments/{sha256}", content)
        bag.put(README, _README_TEXT.encode())
        bag.put(INFO, bag_info(origin, bag.payload_size, bag.payload_files))
        bag.put(MANIFEST, bag.manifest(is_payload=True))
        bag.put(TAG_MANIFEST, bag.manifest(is_payload=False))


def bag_info(origin: str, size: int, files: int) -> bytes:
    """Return bag-info.txt for a payload of so many bytes and files."""
    return (
        f"Bundle-Format: {BUNDLE_FORMAT}\n"
        f"External-Identifier: {origin}\n"
        f"Payload-Oxum: {size}.{files}\n"
    ).encode()


class _Hashing:
    """A writable member that keeps count and digest of what went through."""

    def __init__(self, member: IO[bytes]) -> None:
        self._member = member
        self._digest = hashlib.sha256()
        self.size = 0

    def write(self, octets: bytes) -> None:
        self._member.write(octets)
        self._digest.update(octets)
        self.size += len(octets)

    def hexdigest(self) -> str:
        return self._digest.hexdigest()


class _BagWriter:
    """Writes members and remembers what the manifests will say about them."""

    def __init__(self, archive: zipfile.ZipFile) -> None:
        self._archive = archive
        self._digests: dict[str, str] = {}
        self.payload_size = 0
        self.payload_files = 0

    @contextmanager
    def open(self, name: str) -> Iterator[_Hashing]:
        info = zipfile.ZipInfo(name, date_time=_FIXED_DATE)
        info.create_system = 3  # file modes as on Unix, wherever it is written
        info.external_attr = (stat.S_IFREG | 0o644) << 16
        info.compress_type = zipfile.ZIP_STORED
        with self._archive.open(info, "w", force_zip64=True) as member:
            hashing = _Hashing(member)
            yield hashing
        self._digests[name] = hashing.hexdigest()
        if name.startswith("data/"):
            self.payload_size += hashing.size
            self.payload_files += 1

    def put(self, name: str, octets: bytes) -> None:
        with self.open(name) as member:
            member.write(octets)

    def manifest(self, *, is_payload: bool) -> bytes:
        return "".join(
            f"{digest}  {name}\n"
            for name, digest in sorted(self._digests.items())
            if name.startswith("data/") == is_payload
        ).encode()


def _ascending(items: Iterable[tuple[Key, bytes]]) -> Iterator[tuple[Key, bytes]]:
    """Pass items on; refuse any order in which the bytes would not be determined."""
    last: Key | None = None
    for name, octets in items:
        if last is not None and name <= last:
            raise ValueError(f"{name} follows {last}: give ascending names, each once.")
        last = name
        yield name, octets
