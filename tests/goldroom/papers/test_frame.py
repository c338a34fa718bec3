"""The frame of every paper, read back by programs that are not ours."""

import io
import json
import subprocess
from dataclasses import dataclass, replace
from datetime import datetime
from decimal import Decimal
from zoneinfo import ZoneInfo

import pytest
from pypdf import PdfReader

from goldroom.papers.attached import FILE_NAME
from goldroom.papers.frame import (
    Paper,
    cautions,
    code_of_mark,
    drawn,
    heading,
    shown,
    table,
    words,
)
from goldroom.reports.entry import Mark

from .sheets_read import code_in, figures_in, read_by_pdftotext, read_by_pypdf

MARK = Mark(
    origin="invented.example/test-room",
    site="Invented test room",
    size=1234,
    root="q83vEjRWeJC7u6qZiHdmVUQzIhEAAAAAAAAAAAAAAAA=",
    root_hex="abcdef1234567890bbbbaa99887766554433221100" + "0" * 22,
    is_demo=True,
    zone="Africa/Gaborone",
    known_at="2026-03-08T22:30:05Z",
)


@dataclass(frozen=True, kw_only=True)
class Figures:
    """A report of the test's own."""

    name: str
    mass_g: Decimal


def paper(**changed):
    """Return a paper's frame, some of it changed."""
    frame = Paper(
        title="Some sheet",
        about="Entry 7, said on the eighth",
        mark=MARK,
        code=code_of_mark(MARK),
        figures=Figures(name="Bar <b>one</b> & \u0416", mass_g=Decimal("12345.600")),
    )
    return replace(frame, **changed)


@pytest.fixture
def plain(tmp_path):
    """Return a short paper, and the file that it is in."""
    pdf = drawn(paper(), [heading("Masses"), words("Bar <b>one</b> & two \u0416")])
    (tmp_path / "paper.pdf").write_bytes(pdf)
    return pdf, tmp_path / "paper.pdf"


def boxes_of(pdf, text=""):
    """Return where each word stands: left, top, right, bottom in points."""
    done = subprocess.run(
        ["pdftotext", "-bbox", "-", "-"], input=pdf, capture_output=True, check=True
    )
    lines = done.stdout.decode().splitlines()
    parts = [e.split('"') for e in lines if "<word" in e and f"{text}</word>" in e]
    return [tuple(float(each[n]) for n in (1, 3, 5, 7)) for each in parts]


@pytest.mark.source("ISO 32000-2, 7.11.4 embedded files, as pypdf reads them")
def test_figures_are_attached_as_text_never_as_binary_floats(plain):
    assert figures_in(plain[0]) == {
        "name": "Bar <b>one</b> & \u0416",
        "mass_g": "12345.600",
    }


@pytest.mark.reads_back
@pytest.mark.source("poppler's pdfdetach and qpdf --check")
def test_other_programs_take_the_figures_out_and_find_no_fault(plain):
    pdf, file = plain
    subprocess.run(
        ["pdfdetach", "-savefile", FILE_NAME, "-o", "out.json", file.name],
        cwd=file.parent,
        check=True,
    )
    got = (file.parent / "out.json").read_bytes()
    assert json.loads(got) == figures_in(pdf)
    done = subprocess.run(
        ["qpdf", "--check", str(file)], capture_output=True, check=True
    )
    assert b"No syntax or stream encoding errors" in done.stdout


@pytest.mark.source("ISO 32000-2, 14.13 associated files: the catalogue's AF entry")
def test_the_catalogue_names_the_figures_as_the_papers_data(plain):
    root = PdfReader(io.BytesIO(plain[0])).trailer["/Root"]
    (specification,) = root["/AF"]
    specification = specification.get_object()
    assert specification["/AFRelationship"] == "/Data"
    assert specification["/EF"]["/F"].get_object()["/Subtype"] == "/application/json"


@pytest.mark.reads_back
@pytest.mark.source("ISO/IEC 18004, read by zbarimg")
def test_code_is_the_mark_byte_for_byte(plain):
    expected = f"GOLDROOM:MARK 1234 {MARK.root_hex[:32].upper()}"
    assert code_in(plain[0], plain[1].parent) == expected


def test_the_same_mark_gives_the_same_bytes_and_another_mark_others():
    blocks = [words("one")]
    assert drawn(paper(), [words("one")]) == drawn(paper(), blocks)
    later = replace(MARK, size=1235)
    assert drawn(paper(mark=later), [words("one")]) != drawn(paper(), [words("one")])


@pytest.mark.parametrize("read", [read_by_pypdf, read_by_pdftotext])
def test_every_page_says_its_number_and_how_many_there_are(read):
    rows = [(f"BAR-{n}", "12345.6") for n in range(150)]
    pdf = drawn(paper(), [table(("Bar", "Net mass, g"), rows, (200, 200))])
    count = len(PdfReader(io.BytesIO(pdf)).pages)
    assert count > 2
    text = read(pdf)
    for n in range(1, count + 1):
        assert f"page {n} of {count}" in text
    assert text.count("Some sheet") == count
    assert text.count("Net mass, g") == count


@pytest.mark.parametrize("read", [read_by_pypdf, read_by_pdftotext])
def test_markup_is_text_and_unknown_letters_show_as_their_code(plain, read):
    assert "Bar <b>one</b> & two [U+0416]" in read(plain[0])


@pytest.mark.parametrize(
    ("text", "expected"),
    [("Zo\u00eb", "Zo\u00eb"), ("\u0416", "[U+0416]"), ("\U0001f600", "[U+1F600]")],
)
def test_letters_are_shown_or_named(text, expected):
    assert shown(text) == expected


@pytest.mark.source("IANA time zone database: Africa/Gaborone is UTC+2 all year")
@pytest.mark.parametrize("read", [read_by_pypdf, read_by_pdftotext])
def test_foot_says_what_was_known_by_the_sites_clock_and_utc(plain, read):
    known = datetime.fromisoformat(MARK.known_at)
    wall = known.astimezone(ZoneInfo(MARK.zone)).strftime("%Y-%m-%d %H:%M")
    assert wall == "2026-03-09 00:30"
    text = read(plain[0])
    assert f"As known at {wall} ({MARK.zone}), UTC {MARK.known_at}" in text
    assert "size 1234" in text
    assert MARK.root in text


LONG = [
    pytest.param({"title": "Sheet of many words " * 20}, id="title"),
    pytest.param({"about": "shipment-with-a-long-name" * 20}, id="unbroken about"),
    pytest.param({"about": "a line\n" * 60}, id="lines"),
    pytest.param({"mark": replace(MARK, site="Deep Long Valley " * 30)}, id="site"),
    pytest.param({"mark": replace(MARK, origin="x" * 300)}, id="origin"),
    pytest.param({"title": "\u0416" * 200}, id="letters the font lacks"),
]


@pytest.mark.reads_back
@pytest.mark.parametrize("changed", LONG)
def test_long_texts_stay_on_the_page_and_clear_of_the_code(changed, tmp_path):
    frame = paper(**changed)
    pdf = drawn(frame, [words("Bodyword") for _ in range(60)])
    left, bottom = 595.3 - 57 - 92, 18 + 92
    for x1, y1, x2, y2 in boxes_of(pdf):
        assert x1 >= 50
        assert x2 <= 595.3 - 50
        assert y1 >= 20
        assert y2 <= 841.9 - 15
        assert not (x2 > left and y1 < bottom), (x1, y1, x2, y2)
    assert code_in(pdf, tmp_path) == frame.code


@pytest.mark.reads_back
@pytest.mark.parametrize("changed", LONG)
def test_head_foot_and_body_do_not_run_into_each_other(changed):
    pdf = drawn(paper(**changed), [words("Bodyword") for _ in range(60)])
    body = boxes_of(pdf, "Bodyword")
    invented, known = boxes_of(pdf, "INVENTED:"), boxes_of(pdf, "known")
    assert len(body) == 60
    assert max(each[3] for each in invented) < min(each[1] for each in body)
    assert max(each[3] for each in body) < min(each[1] for each in known)


def test_what_the_head_has_no_room_for_stands_in_full_on_the_first_page():
    title = " ".join(f"word{n}" for n in range(60))
    pdf = drawn(paper(title=title), [words("Body")])
    assert title in read_by_pypdf(pdf)


def test_cautions_of_a_kind_are_on_the_paper_and_of_none_nothing():
    pdf = drawn(paper(), cautions("leach.charged"))
    assert "Keep solutions above pH 10" in read_by_pypdf(pdf)
    assert cautions("paper_form.voided") == []


def test_a_long_table_begins_under_its_heading_on_the_page_where_that_stands():
    rows = [(f"BAR-{n}", "12345.6") for n in range(60)]
    bars = table(("Bar", "Net mass, g"), rows, (200, 200))
    pages = PdfReader(
        io.BytesIO(drawn(paper(), [words("First"), heading("Bars"), bars]))
    ).pages
    assert "BAR-0" in pages[0].extract_text()
    for lines in range(31, 39):
        blocks = [*(words("Line") for _ in range(lines)), heading("Masses"), bars]
        for page in PdfReader(io.BytesIO(drawn(paper(), blocks))).pages:
            text = page.extract_text()
            assert ("Masses" in text) <= ("BAR-0" in text), lines
