"""Papers over HTTP: of what they are, for whom, and the same when drawn again."""

import io

import openpyxl
import pypdf
import pytest


def text_of(answer):
    """Return a paper's text."""
    pages = pypdf.PdfReader(io.BytesIO(answer.content)).pages
    return "\n".join(page.extract_text() for page in pages)


def test_the_months_paper_is_for_those_who_keep_the_books(told_once, signed_in_as):
    days = {"from": "2026-03-01", "to": "2026-03-31"}
    answer = signed_in_as("p-anan").get("/papers/month.pdf", days)
    assert answer["Content-Type"] == "application/pdf"
    assert "Month reconciliation" in text_of(answer)
    again = signed_in_as("p-anan").get("/papers/month.pdf", days)
    assert again.content == answer.content
    assert signed_in_as("p-amara").get("/papers/month.pdf", days).status_code == 403


@pytest.mark.parametrize(
    "asked",
    [
        {"from": "2026-03-31", "to": "2026-03-01"},
        {"from": "yesterday", "to": "2026-03-01"},
        {"from": "2026-03-01", "to": "2026-03-31", "as_known_at": "later"},
        {"from": "2026-03-01"},
    ],
)
def test_days_that_cannot_be_read_are_asked_for_again(told_once, signed_in_as, asked):
    answer = signed_in_as("p-anan").get("/papers/month.pdf", asked)
    assert answer.status_code == 400
    assert "<h1>" in answer.content.decode()


def test_a_bars_certificate_and_the_bars_on_hand(told_once, signed_in_as):
    client = signed_in_as("p-soto")
    assert "BAR-1" in text_of(client.get("/papers/bar/BAR-1.pdf"))
    assert client.get("/papers/bar/BAR-1.pdf").content == (
        signed_in_as("p-anan").get("/papers/bar/BAR-1.pdf").content
    )
    listed = client.get("/papers/bars.pdf")
    assert "BAR-1" in text_of(listed)
    assert signed_in_as("p-amara").get("/papers/bars.pdf").status_code == 403


def test_the_months_workbook(told_once, signed_in_as):
    days = {"from": "2026-03-01", "to": "2026-03-31"}
    answer = signed_in_as("p-anan").get("/papers/month.xlsx", days)
    book = openpyxl.load_workbook(io.BytesIO(answer.content))
    assert "Month" in book.sheetnames


def test_sheets_of_the_room(told_once, signed_in_as):
    client = signed_in_as("p-amara")
    lines = client.get("/journal/").content.decode()
    assert "/journal/" in lines
    smelt = client.get("/papers/smelt/CH-1.pdf")
    assert smelt.status_code == 200
    assert "CH-1" in text_of(smelt)


@pytest.mark.parametrize(
    "path",
    [
        "/papers/cleanup/0.pdf",
        "/papers/cleanup/99999.pdf",
        "/papers/bar/NONE.pdf",
        "/papers/bar/CH-1.pdf",
        "/papers/leach/NONE.pdf",
        "/papers/smelt/NONE.pdf",
        "/papers/packing/NONE.pdf",
        "/papers/dispatch/NONE.pdf",
    ],
)
def test_a_paper_of_nothing_says_what_to_do(told_once, signed_in_as, path):
    answer = signed_in_as("p-soto").get(path)
    assert answer.status_code in (400, 404)
    assert "<h1>" in answer.content.decode()
