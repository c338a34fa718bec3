"""A bar's certificate and the list of bars, read back; numbers with their check."""

import io
from dataclasses import replace
from decimal import Decimal

import pytest
from pypdf import PdfReader
from stdnum.iso7064 import mod_37_36

from goldroom.custody.number_series import Series
from goldroom.custody.numbers import numbered
from goldroom.papers.bar import bar_certificate, bars_paper
from goldroom.reports.bar import bar_report
from goldroom.reports.entry import mark

from .sheets_read import (
    check_paper,
    code_in,
    draw,
    figures_in,
    read_by_pdftotext,
    read_by_pypdf,
)


@pytest.fixture
def report(told):
    """Return BAR-1 of the small mine."""
    return bar_report(told, "BAR-1")


@pytest.mark.reads_back
def test_a_bars_figures_identity_and_cautions_are_on_its_paper(report, told, tmp_path):
    wanted = [
        "KR-0101",
        "From the pour on this metal keeps its identity.",
        "a site's mass balance",
        "Two people or a lifting aid",
        "lower assurance",
        "the newest of these",
        *(str(each.gold_permille) for each in report.assays),
        *(each.sample for each in report.assays),
        *(each.laboratory for each in report.assays),
        *(each.standing for each in report.assays),
        f"{report.shipping_mass_g.normalize():f}",
        f"{report.fine_gold_g.normalize():f}",
    ]
    check_paper(bar_certificate, report, told, tmp_path, wanted=wanted)


def test_the_number_stands_largest_on_the_page(report, told):
    pdf, _ = draw(bar_certificate, report, told)
    sizes = {}

    def seen(text, _cm, _tm, _font, size):
        for word in text.split():
            sizes[word] = max(sizes.get(word, 0), size)

    PdfReader(io.BytesIO(pdf)).pages[0].extract_text(visitor_text=seen)
    assert sizes["KR-0101"] == max(sizes.values())
    assert sizes["KR-0101"] >= 30


def test_a_bar_not_assayed_or_weighed_says_so(report, told):
    bare = replace(
        report, assays=(), masses=(), stamped="", shipping_mass_g=None,
        fine_gold_g=None, fine_silver_g=None, by_charge_gold=None,
        by_charge_silver=None, where=None,
    )  # fmt: skip
    text = read_by_pypdf(draw(bar_certificate, bare, told)[0])
    for part in (
        "no number yet",
        "It was not weighed yet.",
        "No result was reported yet.",
        "Not known: no result to go by.",
        "Where it is was never said.",
    ):
        assert part in text


@pytest.mark.reads_back
def test_many_results_run_over_pages_and_long_names_wrap(report, told, tmp_path):
    one = replace(report.assays[0], laboratory="A laboratory of many words " * 5)
    long = replace(report, assays=(one,) * 40)
    text = check_paper(bar_certificate, long, told, tmp_path, wanted=["page 3 of"])
    assert text.count("A laboratory of") >= 40


# --- the list -----------------------------------------------------------------


def many(report, count):
    """Return so many bars like this one."""
    return [
        replace(report, item=f"BAR-{n}", stamped=f"KR-{n:04d}") for n in range(count)
    ]


@pytest.mark.parametrize("read", [read_by_pypdf, read_by_pdftotext])
def test_every_bar_is_on_the_list_and_the_sums_are_exact(report, told, read):
    pdf = bars_paper(many(report, 100), mark(told))
    text = read(pdf)
    for n in range(100):
        assert f"KR-{n:04d}" in text
    count = len(PdfReader(io.BytesIO(pdf)).pages)
    assert count > 1
    assert f"page {count} of {count}" in text
    assert text.count("Fine gold, g") == count
    fine_g = sum((report.fine_gold_g for _ in range(100)), Decimal(0))
    assert f"{fine_g.normalize():f}" in text
    assert Decimal(figures_in(pdf)["fine_gold_g"]) == fine_g


@pytest.mark.reads_back
def test_the_list_bears_the_marks_code_and_is_the_same_again(report, told, tmp_path):
    now = mark(told)
    pdf = bars_paper(many(report, 3), now)
    assert pdf == bars_paper(many(report, 3), now)
    expected = f"GOLDROOM:MARK {now.size} {now.root_hex[:32].upper()}"
    assert code_in(pdf, tmp_path) == expected


def test_long_ids_wrap_and_what_is_not_summed_is_said(report, told):
    first, second, third = many(report, 3)
    name = "A" * 64
    long = replace(first, item=name, stamped="\u0416-1")
    unassayed = replace(second, assays=(), fine_gold_g=None, by_charge_gold=None)
    pdf = bars_paper([long, unassayed, third], mark(told))
    text = read_by_pypdf(pdf)
    assert name in text.replace(" ", "")
    assert "[U+0416]-1" in text.replace(" ", "")
    assert "want of a mass or an assay to go by: 1 of 3." in text
    assert "not known" in text
    assert figures_in(pdf)["bars"][0]["stamped"] == "\u0416-1"
    assert figures_in(pdf)["not_summed"] == ["BAR-1"]


def test_no_bar_at_all_is_said(told):
    assert "No bar is on hand." in read_by_pypdf(bars_paper([], mark(told)))


# --- numbers with their check character ---------------------------------------

ORACLE = "python-stdnum, stdnum.iso7064.mod_37_36; ISO/IEC 7064"


@pytest.mark.source(ORACLE)
@pytest.mark.parametrize("read", [read_by_pypdf, read_by_pdftotext])
def test_bar_sample_and_seal_numbers_on_paper_hold_by_the_library(report, told, read):
    bar, sample, seal = (
        numbered(Series(prefix=lead, digits=5, with_check=True, from_at=""), 2071)
        for lead in ("KR-", "SMP-", "SL-")
    )
    told_of = replace(
        report,
        stamped=bar,
        assays=tuple(replace(each, sample=sample) for each in report.assays),
        where=replace(report.where, seals=(seal,)),
    )
    found = read(draw(bar_certificate, told_of, told)[0]).replace(".", " ").split()
    for number in (bar, sample, seal):
        printed = next(each for each in found if each.startswith(number[:-1]))
        assert mod_37_36.is_valid(printed.replace("-", ""))


@pytest.mark.source("python-stdnum, stdnum.iso7064.mod_37_36, its worked number")
def test_the_librarys_worked_number_is_printed_as_the_series_makes_it(report, told):
    series = Series(prefix="A12425GABC", digits=7, with_check=True, from_at="")
    number = numbered(series, 1234002)
    assert number == "A12425GABC1234002M"
    pdf, _ = draw(bar_certificate, replace(report, stamped=number), told)
    assert number in read_by_pypdf(pdf).split()
    listed = bars_paper([replace(report, stamped=number)], mark(told))
    assert number in read_by_pypdf(listed).replace(" ", "")
