import io
import random
import stat
import zipfile
from pathlib import Path

import pytest

from ledger.core import unpack, verifier
from ledger.core.bundle import write_bundle
from ledger.core.errors import CouldNotCheck
from ledger.core.unpack import read_bundle
from ledger.core.verify import verify_bundle
from tests.ledger.core.builder import SCAN, attachment, twelve_entries
from tests.ledger.core.vectors import flip_bit

BOOK = twelve_entries()
DIGEST = attachment(SCAN)["sha256"]
ENTRIES = "data/entries.jsonl"


def honest_bytes() -> bytes:
    file = io.BytesIO()
    write_bundle(
        file,
        BOOK.leaves,
        origin=BOOK.origin,
        checkpoints=[(12, BOOK.note(12))],
        attachments=[(DIGEST, SCAN)],
    )
    return file.getvalue()


HONEST = honest_bytes()
with zipfile.ZipFile(io.BytesIO(HONEST)) as opened:
    CONTENT = {name: opened.read(name) for name in opened.namelist()}


def zipped(path: Path, members, compression=zipfile.ZIP_STORED) -> Path:
    """Write (name or ZipInfo, bytes) pairs, whatever they are."""
    with zipfile.ZipFile(path, "w", compression) as archive:
        for name, octets in members:
            archive.writestr(name, octets)
    return path


@pytest.fixture
def path(tmp_path) -> Path:
    return tmp_path / "ledger.zip"


def codes(path: Path) -> set[str]:
    return {finding.code for finding in verify_bundle(path).findings}


def changed(**changes) -> list[tuple[str, bytes]]:
    content = {**CONTENT, **changes}
    return [(name, octets) for name, octets in content.items() if octets is not None]


def test_a_bundle_zipped_again_by_somebody_is_as_good(path):
    zipped(path, reversed(changed()), zipfile.ZIP_DEFLATED)
    assert verify_bundle(path).exit_code == 3


MANIFEST = CONTENT["manifest-sha256.txt"]
TAGS = CONTENT["tagmanifest-sha256.txt"]
DEPARTURES = {
    "a changed entry": (
        changed(**{ENTRIES: CONTENT[ENTRIES].replace(b"12.340", b"12.341")}),
        "manifest_digest",
    ),
    "a changed readme": (changed(**{"README.txt": b"trust us\n"}), "manifest_digest"),
    "a changed attachment": (
        changed(**{f"data/attachments/{DIGEST}": b"other"}),
        "attachment_digest",
    ),
    "an attachment missing": (
        changed(**{f"data/attachments/{DIGEST}": None}),
        "attachment_missing",
    ),
    "an attachment nobody signed for": (
        changed(**{"data/attachments/" + "ab" * 32: b"x"}),
        "attachment_unsigned",
    ),
    "a checkpoint missing": (
        changed(**{"data/checkpoints/12.txt": None}),
        "member_missing",
    ),
    "a checkpoint under another size": (
        changed(**{"data/checkpoints/11.txt": CONTENT["data/checkpoints/12.txt"]}),
        "checkpoint_size",
    ),
    "entries missing": (changed(**{ENTRIES: None}), "member_missing"),
    "an unfinished line": (
        changed(**{ENTRIES: CONTENT[ENTRIES][:-1]}),
        "entries_unfinished",
    ),
    "an empty line": (changed(**{ENTRIES: CONTENT[ENTRIES] + b"\n"}), "not_canonical"),
    "carriage returns": (
        changed(**{ENTRIES: CONTENT[ENTRIES].replace(b"\n", b"\r\n")}),
        "not_canonical",
    ),
    "no manifest": (changed(**{"manifest-sha256.txt": None}), "member_missing"),
    "no tag manifest": (changed(**{"tagmanifest-sha256.txt": None}), "member_missing"),
    "an empty manifest": (changed(**{"manifest-sha256.txt": b""}), "manifest_digest"),
    "a manifest line twice": (
        changed(**{"manifest-sha256.txt": MANIFEST + MANIFEST}),
        "manifest_line",
    ),
    "a word after the last manifest line": (
        changed(**{"tagmanifest-sha256.txt": TAGS + b"checked by us"}),
        "manifest_line",
    ),
    "another ledger's name on the outside": (
        changed(
            **{"bag-info.txt": CONTENT["bag-info.txt"].replace(b"/lark", b"/moor")},
        ),
        "bundle_name",
    ),
    "a manifest of other tools": (
        changed(**{"manifest-sha256.txt": MANIFEST.replace(b"  ", b" *")}),
        "manifest_line",
    ),
    "another count of bytes": (
        changed(
            **{"bag-info.txt": CONTENT["bag-info.txt"].replace(b"Oxum: ", b"Oxum: 9")}
        ),
        "payload_oxum",
    ),
    "a spare file": ([*changed(), ("notes.txt", b"x")], "member_unexpected"),
    "a way out of the folder": (
        [*changed(), ("../../evil", b"x")],
        "member_unexpected",
    ),
    "an absolute name": ([*changed(), ("/etc/evil", b"x")], "member_unexpected"),
    "a name in backslashes": ([*changed(), ("data\\x", b"x")], "member_unexpected"),
    "a folder": ([*changed(), ("data/", b"")], "member_unexpected"),
    "a checkpoint of size 012": (
        [*changed(), ("data/checkpoints/012.txt", b"x")],
        "member_unexpected",
    ),
    "an attachment in capitals": (
        [*changed(), ("data/attachments/" + "AB" * 32, b"x")],
        "member_unexpected",
    ),
}


@pytest.mark.parametrize(
    ("members", "code"), DEPARTURES.values(), ids=DEPARTURES.keys()
)
def test_what_departs_from_the_layout_is_found(path, members, code):
    zipped(path, members)
    report = verify_bundle(path)
    assert code in {finding.code for finding in report.findings}
    assert report.exit_code == 2


def test_a_second_file_of_the_same_name_is_found_and_the_first_is_read(path):
    """Zip readers differ in which of two they show; neither may hide the other."""
    forged = CONTENT[ENTRIES].replace(b"12.340", b"99.999")
    with pytest.warns(UserWarning, match="Duplicate name"):
        zipped(path, [*changed(), (ENTRIES, forged)])
    assert codes(path) == {"member_twice"}


OUTSIDE = {
    "a word before it": b"MZ" + HONEST,
    "a word after it": HONEST + b"MZ",
    "another bundle before it": HONEST + HONEST,
    "a comment": HONEST[:-2] + b"\x05\x00hello",
}


@pytest.mark.parametrize("octets", OUTSIDE.values(), ids=OUTSIDE.keys())
def test_bytes_outside_the_archive_are_found(path, octets):
    """Another reader may take the file for something else, or for another bundle."""
    path.write_bytes(octets)
    assert codes(path) == {"bytes_outside"}


def test_a_file_of_empty_lines_is_not_read_to_its_end(path, monkeypatch):
    """A few megabytes of zip can hold thousands of millions of them."""
    monkeypatch.setattr(verifier, "UNREADABLE_MAX", 50)
    lines = {ENTRIES: CONTENT[ENTRIES] + b"\n" * 1_000}
    zipped(path, changed(**lines), zipfile.ZIP_DEFLATED)
    report = verify_bundle(path)
    assert report.size == 12 + 50
    assert "first 62 lines" in report.could_not_check[0]
    assert report.exit_code == 2


def test_a_link_is_found(path):
    info = zipfile.ZipInfo("README.txt")
    info.external_attr = (stat.S_IFLNK | 0o777) << 16
    members = [*changed(**{"README.txt": None}), (info, b"/etc/hostname")]
    zipped(path, members)
    assert "member_unexpected" in codes(path)


UNREADABLE = {
    "nothing": b"",
    "no zip": b"This is a letter.\n",
    "half a zip": HONEST[: len(HONEST) // 2],
    "a picture": SCAN,
}


@pytest.mark.parametrize("octets", UNREADABLE.values(), ids=UNREADABLE.keys())
def test_what_is_no_zip_could_not_be_checked(path, octets):
    path.write_bytes(octets)
    with pytest.raises(CouldNotCheck):
        read_bundle(path)


def test_a_file_that_is_not_there_could_not_be_checked(path):
    with pytest.raises(CouldNotCheck):
        read_bundle(path)


INFO = CONTENT["bag-info.txt"]
UNKNOWN = {
    "no declaration": changed(**{"bagit.txt": None}),
    "another bag version": changed(
        **{"bagit.txt": CONTENT["bagit.txt"].replace(b"1.0", b"2.0")}
    ),
    "no bag-info": changed(**{"bag-info.txt": None}),
    "another bundle format": changed(
        **{"bag-info.txt": INFO.replace(b"Format: 1", b"Format: 2")}
    ),
    "no bundle format": changed(**{"bag-info.txt": b"Payload-Oxum: 1.1\n"}),
    "an empty archive": [],
}


@pytest.mark.parametrize("members", UNKNOWN.values(), ids=UNKNOWN.keys())
def test_an_unknown_layout_could_not_be_checked(path, members):
    zipped(path, members)
    with pytest.raises(CouldNotCheck):
        read_bundle(path)


def test_an_encrypted_member_could_not_be_read(path):
    octets = bytearray(HONEST)
    directory = octets.index(b"PK\x01\x02")
    octets[directory + 8] |= 1
    path.write_bytes(octets)
    with pytest.raises(CouldNotCheck, match="encrypted"):
        read_bundle(path)


def test_a_member_compressed_otherwise_could_not_be_read(path):
    zipped(path, changed(), zipfile.ZIP_LZMA)
    with pytest.raises(CouldNotCheck, match="compressed"):
        read_bundle(path)


def test_a_member_that_expands_too_far_is_not_read(path):
    members = changed(**{ENTRIES: b"0" * 20_000_000})
    zipped(path, members, zipfile.ZIP_DEFLATED)
    assert path.stat().st_size < 100_000
    with pytest.raises(CouldNotCheck, match="too big"):
        read_bundle(path)


def test_a_member_that_claims_too_much_is_not_read(path):
    octets = bytearray(HONEST)
    directory = octets.index(b"PK\x01\x02")
    octets[directory + 24 : directory + 28] = b"\xf0\xff\xff\xff"
    path.write_bytes(octets)
    with pytest.raises(CouldNotCheck):
        read_bundle(path)


def test_an_endless_line_is_cut_and_refused_without_being_kept(path):
    zipped(path, changed(**{ENTRIES: b"a" * 3_000_000 + b"\n" + CONTENT[ENTRIES]}))
    with read_bundle(path) as bundle:
        lines = list(bundle.entries())
    assert len(lines) == 13
    assert max(map(len, lines)) <= 65_536
    assert "not_canonical" in codes(path)


def test_nothing_is_written_to_disk(tmp_path, monkeypatch):
    path = zipped(tmp_path / "x.zip", [*changed(), ("../out.txt", b"x")])
    monkeypatch.chdir(tmp_path)
    verify_bundle(path)
    assert [item.name for item in tmp_path.iterdir()] == ["x.zip"]
    assert not (tmp_path.parent / "out.txt").exists()


def test_any_flipped_bit_of_the_file_is_found_refused_or_harmless(path):
    """Harmless: what is read is the same to the byte (dates, modes, comments)."""
    chance = random.Random(8493)
    for _ in range(120):
        path.write_bytes(flip_bit(HONEST, chance.randrange(8 * len(HONEST))))
        try:
            report = verify_bundle(path)
        except CouldNotCheck:
            continue
        assert report.exit_code in (1, 2, 3)
        if report.exit_code == 3:
            assert (report.size, report.root) == (12, BOOK.roots[12])


def test_any_cut_of_the_file_is_found_or_refused(path):
    for size in range(0, len(HONEST), 997):
        path.write_bytes(HONEST[:size])
        try:
            assert verify_bundle(path).exit_code in (1, 2)
        except CouldNotCheck:
            continue


def test_damage_within_a_member_is_found_once_and_named(path):
    start = HONEST.index(CONTENT["README.txt"])
    path.write_bytes(flip_bit(HONEST, 8 * (start + 40)))
    damaged = [
        finding.message
        for finding in verify_bundle(path).findings
        if finding.code == "member_damaged"
    ]
    assert len(damaged) == 1
    assert "README.txt" in damaged[0]


@pytest.mark.parametrize(
    ("limit", "value"), [("MEMBERS_MAX", 3), ("TOTAL_SIZE_BYTES_MAX", 10_000)]
)
def test_a_bundle_beyond_a_limit_is_not_read(path, monkeypatch, limit, value):
    path.write_bytes(HONEST)
    monkeypatch.setattr(unpack, limit, value)
    with pytest.raises(CouldNotCheck):
        read_bundle(path)
