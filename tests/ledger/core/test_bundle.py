import hashlib
import io
import shutil
import subprocess
import zipfile

import pytest

from ledger.core.bundle import write_bundle
from ledger.core.unpack import read_bundle
from tests.ledger.core.builder import (
    SCAN,
    Book,
    attachment,
    twelve_entries,
    written_twelve,
)

BOOK = twelve_entries()
DIGEST = attachment(SCAN)["sha256"]


def write(target, book: Book = BOOK) -> None:
    write_bundle(
        target,
        book.leaves,
        origin=book.origin,
        checkpoints=[(5, book.note(5)), (12, book.note(12))],
        attachments=[(DIGEST, SCAN)],
    )


def test_a_bundle_gives_back_what_was_put_in(tmp_path):
    path = tmp_path / "ledger.zip"
    write(path)
    with read_bundle(path) as bundle:
        assert list(bundle.entries()) == BOOK.leaves
        assert dict(bundle.checkpoints()) == {5: BOOK.note(5), 12: BOOK.note(12)}
        (file,) = bundle.attachments()
        assert (file.sha256, file.actual_sha256, file.size) == (
            DIGEST,
            DIGEST,
            len(SCAN),
        )
        bundle.check_manifests()
        assert bundle.findings == []
    assert [item.name for item in tmp_path.iterdir()] == ["ledger.zip"]


def test_the_same_content_gives_the_same_bytes(tmp_path):
    one, other, opened = tmp_path / "a.zip", tmp_path / "b.zip", io.BytesIO()
    write(one)
    write(other, written_twelve.__wrapped__())
    write(opened)
    assert one.read_bytes() == other.read_bytes() == opened.getvalue()


def test_a_bundle_is_made_all_or_nothing(tmp_path):
    path = tmp_path / "ledger.zip"

    def breaking():
        yield BOOK.leaves[0]
        raise RuntimeError("the database went away")

    with pytest.raises(RuntimeError):
        write_bundle(path, breaking(), origin=BOOK.origin)
    assert not path.exists()


@pytest.mark.parametrize("sizes", [(5, 5), (12, 5)])
def test_names_are_given_in_order_and_once(tmp_path, sizes):
    notes = [(size, BOOK.note(size)) for size in sizes]
    with pytest.raises(ValueError, match="ascending"):
        write_bundle(
            tmp_path / "x.zip", BOOK.leaves, origin=BOOK.origin, checkpoints=notes
        )


@pytest.mark.source("RFC 8493 sections 2.1 and 2.2 (layout, manifests, Payload-Oxum)")
def test_the_bundle_is_a_bag(tmp_path):
    path = tmp_path / "ledger.zip"
    write(path)
    with zipfile.ZipFile(path) as archive:
        content = {name: archive.read(name) for name in archive.namelist()}
        assert archive.testzip() is None
    declaration = "BagIt-Version: 1.0\nTag-File-Character-Encoding: UTF-8\n"
    assert content["bagit.txt"].decode() == declaration
    payload = {name for name in content if name.startswith("data/")}
    for manifest, names in (
        ("manifest-sha256.txt", payload),
        ("tagmanifest-sha256.txt", set(content) - payload - {"tagmanifest-sha256.txt"}),
    ):
        lines = dict(
            reversed(line.split("  "))
            for line in content[manifest].decode().splitlines()
        )
        assert lines == {
            name: hashlib.sha256(content[name]).hexdigest() for name in names
        }
    size = sum(len(content[name]) for name in payload)
    assert f"Payload-Oxum: {size}.{len(payload)}\n" in content["bag-info.txt"].decode()
    assert "fetch.txt" not in content


def test_the_bundle_carries_no_program_and_no_trust(tmp_path):
    path = tmp_path / "ledger.zip"
    write(path)
    names = zipfile.ZipFile(path).namelist()
    assert not [name for name in names if name.endswith((".py", ".exe", ".sh", ".js"))]
    assert not [name for name in names if "policy" in name]


@pytest.mark.source("GNU coreutils sha256sum as an independent reader")
def test_a_general_tool_finds_the_files_undamaged(tmp_path):
    tool = shutil.which("sha256sum")
    assert tool is not None, "sha256sum is part of every Debian system"
    path = tmp_path / "ledger.zip"
    write(path)
    with zipfile.ZipFile(path) as archive:
        archive.extractall(tmp_path / "out")
    for manifest in ("manifest-sha256.txt", "tagmanifest-sha256.txt"):
        subprocess.run(
            [tool, "--quiet", "--strict", "-c", manifest],
            cwd=tmp_path / "out",
            check=True,
        )


def test_line_and_leaf_are_the_same_bytes(tmp_path):
    path = tmp_path / "ledger.zip"
    write(path)
    lines = zipfile.ZipFile(path).read("data/entries.jsonl").split(b"\n")
    assert lines == [*BOOK.leaves, b""]
