"""The month's reconciliation on paper, read back by programs that are not ours."""

import io
import json
import subprocess
from dataclasses import replace
from datetime import date

import pytest
from pypdf import PdfReader

from goldroom import commands
from goldroom.papers.attached import FILE_NAME
from goldroom.papers.month import GOLD, gold_row, month_paper
from goldroom.reconcile.period import Waiting
from goldroom.reconcile.words import gravity_words
from goldroom.reports import closing
from goldroom.reports.entry import entries_told, mark
from goldroom.reports.month import closing_entries, reconciliation
from goldroom.reports.month_words import rows
from tests.goldroom import small_mine

from .sheets_read import code_in, figures_in, read_by_pdftotext, read_by_pypdf

READERS = [read_by_pypdf, read_by_pdftotext]


def days(ledger_id, first, last):
    """Return the report of some days and the mark of the ledger."""
    report = reconciliation(ledger_id, first_day=first, last_day=last)
    return report, mark(ledger_id)


@pytest.fixture
def october(told):
    """Return October's report and the mark of the ledger it was drawn from."""
    return days(told, date(2026, 10, 1), date(2026, 10, 31))


@pytest.fixture
def paper(october, tmp_path):
    """Return October's paper without a closing entry, in a file."""
    file = tmp_path / "month.pdf"
    file.write_bytes(month_paper(*october, ()))
    return file


@pytest.mark.parametrize("read", READERS)
def test_gravity_stands_first_with_its_figures_in_three_units(october, paper, read):
    report, _ = october
    told, text = report.gravity.to_json(), read(paper.read_bytes())
    assert told["estimated"] is not None
    for name, label in GOLD.items():
        assert " ".join(filter(None, gold_row(label, name, told))) in text
    for sentence in gravity_words(report):
        assert sentence in text
    assert f"{told['ratio']}, standard uncertainty {told['u']}" in text
    first = text.index("Gold poured against")
    assert first < text.index("The month in words") < text.index("Balances by step")


@pytest.mark.source("NIST Handbook 44, Appendix C: 1 troy ounce is 31.1034768 g")
def test_kilograms_and_troy_ounces_are_exact_to_the_last_digit_shown():
    told = {"poured": "31103.477", "accounted": "-31.103", "accounted_u": "0.5"}
    assert gold_row("P", "poured", told) == (
        "P",
        "31103.477",
        "31.103477",
        "1000.000",
        "",
    )
    assert gold_row("A", "accounted", told) == (
        "A",
        "-31.103",
        "-0.031103",
        "-1.000",
        "0.5",
    )
    assert gold_row("N", "out", {"out": None}) == ("N", "not known", "", "", "")


@pytest.mark.parametrize("read", READERS)
def test_every_balance_is_a_row_of_the_table(october, paper, read):
    text = read(paper.read_bytes())
    balances = list(rows(october[0]))
    assert len(balances) > 8
    for row in balances:
        assert " ".join(" ".join(row).split()) in text


def test_every_page_says_its_number_its_mark_and_since_when(october, paper):
    _, drawn_from = october
    pages = PdfReader(io.BytesIO(paper.read_bytes())).pages
    assert len(pages) > 1
    for number, page in enumerate(pages, 1):
        text = " ".join(page.extract_text().split())
        assert f"page {number} of {len(pages)}" in text
        assert drawn_from.root in text
        assert drawn_from.known_at in text
        assert "INVENTED: people, mine and figures" in text
        assert "Production days 2026-10-01 to 2026-10-31" in text


def test_it_claims_no_more_than_scales_and_assays_can_resolve(paper):
    text = read_by_pypdf(paper.read_bytes())
    assert "within what scales and assays can resolve" in text
    assert "nothing is missing" not in text.lower()


@pytest.mark.reads_back
@pytest.mark.source("ISO 32000-2, 7.11.4 embedded files, read by pypdf and pdfdetach")
def test_attached_figures_are_the_reports(october, paper):
    report, _ = october
    assert figures_in(paper.read_bytes()) == report.to_json()
    subprocess.run(
        ["pdfdetach", "-savefile", FILE_NAME, "-o", "out.json", paper.name],
        cwd=paper.parent,
        check=True,
    )
    assert json.loads((paper.parent / "out.json").read_bytes()) == report.to_json()


@pytest.mark.reads_back
@pytest.mark.source("qpdf --check")
def test_qpdf_finds_no_fault(paper):
    done = subprocess.run(
        ["qpdf", "--check", str(paper)], capture_output=True, check=True
    )
    assert b"No syntax or stream encoding errors" in done.stdout


@pytest.mark.reads_back
@pytest.mark.source("ISO/IEC 18004, read by zbarimg")
def test_code_is_the_mark_byte_for_byte(october, paper):
    _, drawn_from = october
    expected = f"GOLDROOM:MARK {drawn_from.size} {drawn_from.root_hex[:32].upper()}"
    assert code_in(paper.read_bytes(), paper.parent) == expected


def test_drawn_again_it_is_the_same_to_the_byte(october, paper):
    assert month_paper(*october, ()) == paper.read_bytes()
    report, drawn_from = october
    later = replace(drawn_from, size=drawn_from.size + 1)
    assert month_paper(report, later, ()) != paper.read_bytes()


def test_without_a_closing_two_sign_in_ink(paper):
    text = read_by_pypdf(paper.read_bytes())
    assert "Accountant: name, date, signature" in text
    assert "Metallurgist: name, date, signature" in text


def test_with_a_closing_its_signers_stand_there_instead(told):
    first, last = date(2026, 10, 1), date(2026, 10, 31)
    data = closing.closing(told, first_day=first, last_day=last)
    hands = (("p-odile", "accountant"), ("p-ines", "metallurgist"))
    saying = small_mine.saying("close", "11-02 10:00", "period.closed", hands, **data)
    commands.say(told, saying, small_mine.KEYS)
    report, drawn_from = days(told, first, last)
    seqs = closing_entries(told, report.period)
    (entry,) = entries_told(told, seqs).values()
    text = read_by_pypdf(month_paper(report, drawn_from, (entry,)))
    assert {each.role for each in entry.signers} == {"accountant", "metallurgist"}
    for signer in entry.signers:
        assert f"{signer.name} {signer.role}" in text
    assert entry.leaf_hash in text
    assert "in ink" not in text


def test_what_waits_and_why_is_listed(october):
    report, drawn_from = october
    waiting = tuple(
        Waiting(f"LOT-{n}", "lot", f"no result yet <b>{n}</b>") for n in range(60)
    )
    changed = replace(report, pending=waiting, notes=("A note & more.",))
    text = read_by_pypdf(month_paper(changed, drawn_from, ()))
    for each in waiting:
        assert f"{each.item} {each.sort} {each.why}" in text
    assert "A note & more." in text


def test_a_month_of_which_nothing_is_known_is_drawn_too(told):
    report, drawn_from = days(told, date(2027, 1, 1), date(2027, 1, 31))
    assert report.gravity.ratio is None
    text = read_by_pypdf(month_paper(report, drawn_from, ()))
    assert "Accounted for over estimated: not known" in text
    assert "cannot be held against the gravity estimate" in text


def test_a_reason_longer_than_a_page_is_printed_whole(october):
    report, drawn_from = october
    why = " ".join(f"because-{n}" for n in range(600))
    changed = replace(report, pending=(Waiting("LOT-9", "lot", why),))
    text = read_by_pypdf(month_paper(changed, drawn_from, ()))
    for part in why.split():
        assert part in text
