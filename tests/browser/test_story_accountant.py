"""The accountant at month end: poured against estimated, on the page and on paper."""

import io
import re

from playwright.sync_api import Locator, expect
from pypdf import PdfReader

from tests.browser.desk import ACCOUNTANT

GOLD = "Gold poured against the gravity circuit's estimate"
FIGURE = re.compile(r"\d[\d\u202f\u00a0 ]*(?:\.\d+)?")


def figures(table: Locator) -> list[str]:
    """Return the figures of a table's cells, without the blanks between digits."""
    return [
        bare(cell)
        for cell in table.get_by_role("cell").all_inner_texts()
        if FIGURE.fullmatch(cell.strip())
    ]


def bare(text: str) -> str:
    """Return a text without any blanks."""
    return re.sub(r"\s", "", text)


def test_the_month_on_the_page_on_paper_and_in_print_has_the_same_figures(
    reading, desk_at
):
    desk = desk_at(reading)
    desk.sign_in(ACCOUNTANT)
    desk.way("Month end").click()
    expect(desk.heading("Month end")).to_be_visible()
    region = desk.page.get_by_role("region", name=GOLD).last
    shown = figures(region)
    assert len(shown) >= 8, shown
    expect(region.get_by_role("columnheader", name="uncertainty")).to_be_visible()

    paper = desk.link("The paper (PDF)").get_attribute("href")
    answer = desk.page.context.request.get(f"{reading.address}{paper}")
    assert answer.headers["content-type"] == "application/pdf"
    on_paper = pdf_text(answer.body())
    printed = pdf_text(desk.page.pdf(format="A4"))
    for figure in shown:
        assert figure in on_paper, f"{figure} is not on the paper"
        assert figure in printed, f"{figure} is not in print"
    assert "Signout" not in printed


def pdf_text(content: bytes) -> str:
    """Return the words of a PDF without any blanks."""
    pages = PdfReader(io.BytesIO(content)).pages
    return bare("".join(page.extract_text() for page in pages))
