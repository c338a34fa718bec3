"""The month's workbook, read by openpyxl and its formulas worked out anew."""

import io
import zipfile
from dataclasses import replace
from datetime import date, datetime
from decimal import Decimal

import pytest

from goldroom.papers.month import GOLD
from goldroom.papers.workbook import ITEMS, month_workbook
from goldroom.reconcile.words import whole_name
from goldroom.reports.entry import mark
from goldroom.reports.month import reconciliation

from .cells_read import formulas, read_book, row_of, worked_out

FIGURES = dict(
    zip(("opening", "in", "out", "closing", "unaccounted"), "CDEFG", strict=True)
)
DISGUISED = (
    '=HYPERLINK("http://invented.example","read me")',
    "+cmd|' /C calc'!A0",
    "-1",
    "@SUM(A1:A2)",
    "\t=1+1",
    "\r=1+1",
    "http://invented.example",
    "1e5",
    "plain & <b>text</b>",
)


@pytest.fixture
def october(told):
    """Return October's report and the mark of the ledger it was drawn from."""
    first, last = date(2026, 10, 1), date(2026, 10, 31)
    return reconciliation(told, first_day=first, last_day=last), mark(told)


@pytest.fixture
def book(october):
    """Return October's workbook, formulas as formulas."""
    return read_book(month_workbook(*october))


def test_gravitys_figures_are_numbers_and_their_sum_and_ratio_formulas(october, book):
    told, page = october[0].gravity.to_json(), book["Month"]
    for name, label in GOLD.items():
        at = f"B{row_of(page, label)}"
        assert worked_out(page, at) == Decimal(told[name])
        assert (at in formulas(page)) is (name == "accounted")
    ratio = f"B{row_of(page, 'Accounted for over estimated')}"
    assert page[ratio].data_type == "f"
    assert abs(worked_out(page, ratio) - Decimal(told["ratio"])) < Decimal("0.0006")
    spread = f"E{row_of(page, GOLD['estimated'])}"
    assert worked_out(page, spread) == Decimal(told["estimated_u"])


@pytest.mark.source("NIST Handbook 44, Appendix C: 1 troy ounce is 31.1034768 g")
def test_other_units_are_formulas_by_the_exact_factors(book):
    page = book["Month"]
    for label in GOLD.values():
        row = row_of(page, label)
        grams = worked_out(page, f"B{row}")
        assert worked_out(page, f"C{row}") == grams / 1000
        assert worked_out(page, f"D{row}") == grams / Decimal("31.1034768")


def test_every_balance_is_the_reports_and_its_remainder_a_formula(october, book):
    report, page = october[0], book["Steps"]
    count = 0
    for step, balances in report.to_json()["steps"].items():
        for metal, told in balances.items():
            row = row_of(page, step.replace("+", " and "), metal.replace("_", " "))
            count += 1
            for name, column in FIGURES.items():
                assert worked_out(page, f"{column}{row}") == Decimal(told[name])
            assert page[f"G{row}"].data_type == "f"
            assert worked_out(page, f"H{row}") == Decimal(told["u"])
    assert count > 8


def test_the_whole_is_summed_from_its_steps(october, book):
    report, page = october[0], book["Steps"]
    for metal, told in report.to_json()["overall"].items():
        row = row_of(page, whole_name(report, metal), metal)
        for name, column in FIGURES.items():
            assert worked_out(page, f"{column}{row}") == Decimal(told[name])
        for column in (FIGURES["opening"], FIGURES["closing"], FIGURES["unaccounted"]):
            assert page[f"{column}{row}"].data_type == "f"
        together = row_of(page, "The steps' unaccounted together", metal)
        assert worked_out(page, f"G{together}") == Decimal(told["unaccounted"])


def test_a_program_that_works_out_nothing_shows_the_same(october):
    content = month_workbook(*october)
    book, shown = read_book(content), read_book(content, data_only=True)
    found = [(page, at) for page in ("Month", "Steps") for at in formulas(book[page])]
    assert len(found) > 30
    for page, at in found:
        kept = Decimal(repr(float(shown[page][at].value)))
        assert abs(kept - worked_out(book[page], at)) < Decimal("0.0006")


def test_a_balance_that_is_not_drawn_has_no_figures(october):
    report, drawn_from = october
    gold = report.steps["smelt"]["gold"]
    bare = replace(
        gold,
        **dict.fromkeys(("opening", "came_in", "went_out", "closing", "unaccounted")),
        unmeasured=("OM-01",),
    )
    steps = {**report.steps, "smelt": {**report.steps["smelt"], "gold": bare}}
    page = read_book(month_workbook(replace(report, steps=steps), drawn_from))["Steps"]
    row = row_of(page, "smelt", "gold")
    assert [page[f"{column}{row}"].value for column in "CDEFGHI"] == [None] * 7
    assert page[f"J{row}"].value == "not drawn"
    assert page[f"L{row}"].value == "OM-01"
    whole = row_of(page, "All steps but smelt", "gold")
    assert f"G{row}" not in page[f"G{whole + 1}"].value


def test_a_month_of_which_nothing_is_known_has_no_formula_on_nothing(told):
    first, last = date(2027, 1, 1), date(2027, 1, 31)
    report = reconciliation(told, first_day=first, last_day=last)
    page = read_book(month_workbook(report, mark(told)))["Month"]
    for label in (GOLD["estimated"], "Accounted for over estimated"):
        assert page[f"B{row_of(page, label)}"].value == "not known"


def test_every_parcel_has_its_row_with_what_it_holds(october, book):
    page = book["Items"]
    parcels = october[0].parcels
    assert page.max_row == len(parcels) + 1
    assert tuple(each.value for each in page[1]) == ITEMS
    for parcel, row in zip(parcels, page.iter_rows(min_row=2), strict=True):
        assert row[0].value == parcel.item
        assert (row[2].value, row[6].value) == (parcel.way.role, parcel.way.at)
        gold = parcel.contents.gold
        found = None if row[7].value is None else Decimal(repr(row[7].value))
        assert found == (None if gold is None else gold.posted_g)
    changing = {row[12].value for row in page.iter_rows(min_row=2)}
    assert {"provisional", "still to come"} <= changing


@pytest.mark.source("Common practice: text must not become a formula in a spreadsheet")
@pytest.mark.parametrize("name", DISGUISED)
def test_text_stays_text(october, name):
    report, drawn_from = october
    parcels = (replace(report.parcels[0], item=name), *report.parcels[1:])
    site = replace(drawn_from, site=name)
    book = read_book(month_workbook(replace(report, parcels=parcels), site))
    for found in (book["Items"]["A2"], book["About"]["B3"]):
        # The return is kept as its code: a bare one is a line end in XML.
        assert found.value.replace("_x000D_", "\r") == name
        assert found.data_type == "s"
        assert found.hyperlink is None
        assert found.quotePrefix is (name[0] in "=+-@\t\r")


def test_about_says_what_it_was_drawn_from(october, book):
    report, drawn_from = october
    said = {row[0].value: row[1].value for row in book["About"].iter_rows(min_row=3)}
    assert said["Site"] == drawn_from.site
    assert said["Invented"] == "yes: people, mine and figures"
    assert said["Chain mark: ledger"] == drawn_from.origin
    assert said["Chain mark: size"] == str(drawn_from.size)
    assert said["Chain mark: root"] == drawn_from.root
    assert said["Figures as known at, UTC"] == report.period.as_known_at


def test_drawn_again_it_is_the_same_to_the_byte(october, book):
    content = month_workbook(*october)
    assert month_workbook(*october) == content
    known_at = datetime.fromisoformat(october[1].known_at).replace(tzinfo=None)
    assert book.properties.created == known_at
    report, drawn_from = october
    later = replace(drawn_from, root="A" * 43 + "=")
    assert month_workbook(report, later) != content


@pytest.mark.source("ECMA-376: an Office Open XML package is a ZIP archive")
def test_the_package_has_no_macro_link_or_outer_part(october):
    with zipfile.ZipFile(io.BytesIO(month_workbook(*october))) as package:
        assert package.testzip() is None
        names = package.namelist()
        content = b"".join(package.read(name) for name in names)
    assert not [each for each in names if "vba" in each or "externalLink" in each]
    assert b'TargetMode="External"' not in content
