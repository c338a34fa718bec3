"""The high-water mark beside a log key."""

import pytest

from ledger import marks
from ledger.errors import MarkRefused

ORIGIN = "goldroom.example/kestrel-ridge/" + "7f" * 16
ROOT, OTHER_ROOT = b"r" * 32, b"o" * 32


@pytest.fixture
def key_file(tmp_path):
    return tmp_path / "log.key.json"


def test_a_mark_is_read_back_as_written(key_file):
    mark = marks.Mark(ORIGIN, 45, ROOT)
    marks.write_mark(key_file, mark)
    assert marks.read_mark(key_file) == mark


def test_before_the_first_signature_there_is_no_mark(key_file):
    assert marks.read_mark(key_file) is None


@pytest.mark.parametrize(
    "text",
    [
        "",
        "{",
        "[]",
        '{"format":2,"origin":"o","root":"","size":1}',
        '{"format":1,"origin":"o","size":1}',
        '{"format":1,"origin":"o","root":"AA==","size":1}',
        '{"format":1,"origin":"o","root":"%","size":"1"}',
    ],
)
def test_a_damaged_mark_is_refused_never_forgotten(key_file, text):
    key_file.with_name("log.key.json.mark").write_text(text)
    with pytest.raises(Exception, match=r".") as refused:
        marks.read_mark(key_file)
    assert refused.value.code in ("mark_refused", "malformed_base64")


@pytest.mark.parametrize(
    ("origin", "size", "root"),
    [
        (ORIGIN, 45, ROOT),  # restored from an older copy
        (ORIGIN, 50, OTHER_ROOT),  # another history of the same length
        (ORIGIN, 55, OTHER_ROOT),  # restored and written on
        (ORIGIN.replace("7f", "00"), 50, ROOT),
    ],
)
def test_what_contradicts_the_mark_is_not_signed(origin, size, root):
    mark = marks.Mark(ORIGIN, 50, ROOT)
    with pytest.raises(MarkRefused):
        marks.check_against(mark, origin=origin, size=size, root=root)


def test_growth_and_the_same_size_again_are_signed():
    mark = marks.Mark(ORIGIN, 50, ROOT)
    for size in (50, 51):
        marks.check_against(mark, origin=ORIGIN, size=size, root=ROOT)
