"""Blank forms: every field of every kind asked for, numbered, with room to sign."""

import io

import pytest
from pypdf import PdfReader

from goldroom.errors import Refusal
from goldroom.papers.blank_form import blank_form
from goldroom.statements.cautions import RESCUE_FIRST, cautions_of
from goldroom.statements.fields import BadField, specs
from goldroom.statements.registry import UnknownKind, kind_named, kinds

from .sheets_read import code_in, figures_in, read_by_pdftotext, read_by_pypdf
from .test_frame import MARK

NUMBERS = ("F-0001", "F-0002", "F-0003")
OFTEN = ("cleanup.recorded", "charge.poured", "bar.numbered", "dispatch.handed_over")


def plain(text):
    """Return text without its spaces: a narrow column breaks lines anywhere."""
    return "".join(text.split())


def labels(cls):
    """Yield every label and unit that a class's values have, its rows' too."""
    for spec in specs(cls).values():
        if spec.sort == "opaque":
            continue
        yield spec.label
        yield spec.unit
        yield from (each.replace("_", " ") for each in spec.choices)
        if spec.rows is not None:
            yield from labels(spec.rows)


def writable():
    """Return the kinds without a value that another layer reads."""
    return [
        name
        for name, cls in kinds().items()
        if not any(
            spec.sort == "opaque" and not spec.optional for spec in specs(cls).values()
        )
    ]


@pytest.mark.parametrize("read", [read_by_pypdf, read_by_pdftotext])
@pytest.mark.parametrize("kind", OFTEN)
def test_every_label_unit_and_choice_is_on_the_form(kind, read):
    text = read(blank_form(kind, NUMBERS[:1], MARK))
    for each in labels(kind_named(kind)):
        for word in each.split():
            assert plain(word) in plain(text), each
    assert kind_named(kind).title in text


@pytest.mark.parametrize("kind", writable()[::4])
def test_forms_of_all_sorts_of_kinds_have_all_their_labels(kind):
    text = plain(read_by_pypdf(blank_form(kind, NUMBERS[:1], MARK)))
    for each in labels(kind_named(kind)):
        for word in each.split():
            assert plain(word) in text, each


def test_nearly_every_kind_can_be_written_on_paper():
    assert len(writable()) >= len(kinds()) - 6


@pytest.mark.parametrize("kind", OFTEN)
def test_each_page_says_its_form_and_counts_that_forms_pages(kind):
    pages = PdfReader(io.BytesIO(blank_form(kind, NUMBERS, MARK))).pages
    each = len(pages) // len(NUMBERS)
    assert len(pages) == each * len(NUMBERS)
    for n, page in enumerate(pages):
        number, at = NUMBERS[n // each], n % each + 1
        text = " ".join(page.extract_text().split())
        assert f"Form {number}, page {at} of {each}" in text


@pytest.mark.parametrize("kind", OFTEN)
def test_cautions_come_before_the_boxes_and_two_sign_in_ink(kind):
    text = read_by_pypdf(blank_form(kind, NUMBERS[:1], MARK))
    for each in cautions_of(kind):
        assert each.caution in text
    assert RESCUE_FIRST in text
    assert text.index(RESCUE_FIRST) < text.index("When it happened")
    assert text.index("Signed in ink") < text.index("1: name in letters")
    assert "2: name in letters, role, signature, day and time" in text
    assert "3: name in letters" not in text


@pytest.mark.reads_back
def test_figures_say_what_is_asked_and_the_code_is_the_marks(tmp_path):
    pdf = blank_form("bar.numbered", NUMBERS, MARK)
    figures = figures_in(pdf)
    assert figures["numbers"] == list(NUMBERS)
    assert figures["kind"] == "bar.numbered"
    paths = [each["path"] for each in figures["fields"]]
    assert paths[0] == "item"
    assert "opened.seals_removed.seal" in paths
    assert code_in(pdf, tmp_path).startswith(f"GOLDROOM:MARK {MARK.size} ")
    assert pdf == blank_form("bar.numbered", NUMBERS, MARK)


@pytest.mark.parametrize("numbers", [(), ("F-1", "F-1")])
def test_no_number_and_a_number_twice_are_refused(numbers):
    with pytest.raises(BadField, match="Name each issued form once"):
        blank_form("bar.numbered", numbers, MARK)


def test_what_nobody_can_write_by_hand_is_refused():
    assert "person.enrolled" not in writable()
    with pytest.raises(BadField, match="nobody can write by hand"):
        blank_form("person.enrolled", NUMBERS, MARK)
    with pytest.raises(UnknownKind) as refused:
        blank_form("bar.eaten", NUMBERS, MARK)
    assert isinstance(refused.value, Refusal)
