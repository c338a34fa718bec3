"""Papers to print and keep: each drawn from a report, at the chain mark of now."""

from django.http import HttpRequest, HttpResponse

from goldroom.faces import reading, shipping
from goldroom.papers.bar import bar_certificate, bars_paper
from goldroom.papers.cleanup_sheet import cleanup_paper
from goldroom.papers.dispatch_note import dispatch_note
from goldroom.papers.leach_sheet import leach_paper
from goldroom.papers.month import month_paper
from goldroom.papers.packing_list import packing_list
from goldroom.papers.smelt_sheet import smelt_paper
from goldroom.papers.workbook import month_workbook
from goldroom.reports.bar import bar_report, bars_on_hand
from goldroom.reports.cleanup_sheet import cleanup_sheet
from goldroom.reports.entry import mark
from goldroom.reports.leach_sheet import leach_sheet
from goldroom.reports.month import closing_entries
from goldroom.reports.smelt_sheet import smelt_sheet
from goldroom.web.page import needs, reader_in, signed_in
from goldroom.web.periods import chosen_report

PDF = "application/pdf"
XLSX = "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"


@signed_in
def cleanup(request: HttpRequest, seq: int) -> HttpResponse:
    """Draw a cleanup sheet."""
    reader = reader_in(request)
    report = cleanup_sheet(reader.ledger_id, seq)
    content = cleanup_paper(
        report, mark(reader.ledger_id), reading.entries(reader, report.seqs)
    )
    return paper(f"cleanup-{seq}.pdf", content)


@signed_in
def leach(request: HttpRequest, batch: str) -> HttpResponse:
    """Draw the sheet of a leach batch."""
    reader = reader_in(request)
    report = leach_sheet(reader.ledger_id, batch)
    content = leach_paper(
        report, mark(reader.ledger_id), reading.entries(reader, report.seqs)
    )
    return paper(f"leach-{batch}.pdf", content)


@signed_in
def smelt(request: HttpRequest, charge: str) -> HttpResponse:
    """Draw the sheet of a smelt charge."""
    reader = reader_in(request)
    report = smelt_sheet(reader.ledger_id, charge)
    content = smelt_paper(
        report, mark(reader.ledger_id), reading.entries(reader, report.seqs)
    )
    return paper(f"smelt-{charge}.pdf", content)


@signed_in
def bar(request: HttpRequest, item: str) -> HttpResponse:
    """Draw the certificate of a bar."""
    reader = reader_in(request)
    report = bar_report(reader.ledger_id, item)
    cited = reading.entries(reader, report.seqs)
    content = bar_certificate(report, mark(reader.ledger_id), cited)
    return paper(f"bar-{item}.pdf", content)


@needs("vault")
def bars(request: HttpRequest) -> HttpResponse:
    """Draw the list of the bars on hand."""
    reader = reader_in(request)
    content = bars_paper(bars_on_hand(reader.ledger_id), mark(reader.ledger_id))
    return paper("bars.pdf", content)


@signed_in
def packing(request: HttpRequest, shipment: str) -> HttpResponse:
    """Draw the packing list of a shipment."""
    reader = reader_in(request)
    report = shipping.shipment(reader, shipment)
    content = packing_list(
        report, mark(reader.ledger_id), reading.entries(reader, report.seqs)
    )
    return paper(f"packing-{shipment}.pdf", content)


@signed_in
def dispatch(request: HttpRequest, shipment: str) -> HttpResponse:
    """Draw the dispatch note of a shipment."""
    reader = reader_in(request)
    report = shipping.shipment(reader, shipment)
    content = dispatch_note(
        report, mark(reader.ledger_id), reading.entries(reader, report.seqs)
    )
    return paper(f"dispatch-{shipment}.pdf", content)


@needs("month")
def month(request: HttpRequest) -> HttpResponse:
    """Draw the reconciliation of a period."""
    reader = reader_in(request)
    report = chosen_report(reader, request.GET.dict())
    closing = reading.entries(reader, closing_entries(reader.ledger_id, report.period))
    content = month_paper(report, mark(reader.ledger_id), closing)
    return paper(f"month-{report.period.from_at[:10]}.pdf", content)


@needs("month")
def workbook(request: HttpRequest) -> HttpResponse:
    """Draw the month's workbook, its totals as live formulas."""
    reader = reader_in(request)
    report = chosen_report(reader, request.GET.dict())
    content = month_workbook(report, mark(reader.ledger_id))
    return paper(f"month-{report.period.from_at[:10]}.xlsx", content, XLSX)


def paper(name: str, content: bytes, media: str = PDF) -> HttpResponse:
    """Return a paper as the browser shows or keeps it."""
    plain = "".join(sign if sign.isalnum() or sign in "-." else "_" for sign in name)
    response = HttpResponse(content, content_type=media)
    response["Content-Disposition"] = f'inline; filename="{plain}"'
    return response
