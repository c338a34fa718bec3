"""Closed periods as text: what was reported, what has changed, what is left to post.

A figure is shown to the digits that its change and the uncertainty of that leave room
for; the exact ones are in the statement and in the report for a machine. What is left
to post is exact: it is posted so.
"""

from collections.abc import Iterator, Sequence
from decimal import Decimal

from goldroom.reconcile.amounts import shown_u, shown_value
from goldroom.reports.closed import ClosedReport, Figure, changed

HEADINGS = ("", "", "", "as reported", "as now known", "change", "± u", "")
TEXT_COLUMNS = (0, 1, 2, 7)
NAMES = {
    "opening_g": "opening",
    "came_in_g": "in",
    "went_out_g": "out",
    "closing_g": "closing",
    "unaccounted_g": "unaccounted",
    "estimated_g": "estimated",
    "poured_g": "poured",
    "accounted_g": "accounted for",
}


def text_of(reports: Sequence[ClosedReport]) -> str:
    """Return the closed periods for reading; what to do if there are none."""
    if not reports:
        return "No period is closed yet. close_period prints the line that closes one."
    return "\n\n".join("\n".join(_lines(each)) for each in reports)


def _lines(report: ClosedReport) -> Iterator[str]:
    closed = report.period
    yield (
        f"{closed.period}: {closed.first_day} to {closed.last_day}, closed by"
        f" {closed.entry} with {closed.reported.standing} figures as known"
        f" {closed.reported.as_known_at}."
    )
    yield from _checks(report)
    for each in report.restatements:
        yield (
            f"Restated {each.at} by {each.entry} with {each.reported.standing}"
            f" figures: {each.reason}."
        )
    for post in report.true_ups:
        cause = post.cause.replace("_", " ")
        yield (
            f"Trued up {post.at} by {post.entry}: {post.amount_g:+f} g of"
            f" {post.metal} at {post.step}, {cause}: {post.reason}."
        )
    found = changed(report.figures)
    if not found:
        yield "Every figure is still as reported."
        return
    many = "1 figure has" if len(found) == 1 else f"{len(found)} figures have"
    yield f"As known {report.known_at}, {many} changed:"
    yield from table(found)
    left = report.left_to_post()
    if not left:
        yield (
            "Nothing is left to post: what is not accounted for is as reported, or its"
            " change is posted."
        )
    for (step, metal), amount in left.items():
        yield f"Left to post: {amount:+f} g of {metal} unaccounted at {step}."


def _checks(report: ClosedReport) -> Iterator[str]:
    reported = report.period.reported
    if not report.is_root_same:
        yield (
            f"THE LEDGER'S FIRST {reported.size} ENTRIES ARE NOT THOSE THAT THIS WAS"
            " REPORTED FROM. Run verify_ledger."
        )
    if not report.is_drawn_again:
        yield (
            "Drawn again as it was known then, the record does not give the figures"
            " reported: see which entries were taken down in that minute, and whether"
            f" {reported.program} still draws them."
        )
    elif not report.is_digest_same:
        yield (
            "Drawn again as it was known then, the balances are those reported; other"
            f" parts of the report are not, or {reported.program} wrote them"
            " otherwise."
        )


def table(figures: Sequence[Figure]) -> list[str]:
    """Return one aligned line for each figure, under a line of headings."""
    body = [HEADINGS, *(row_of(each) for each in figures)]
    widths = [max(len(row[n]) for row in body) for n in range(len(HEADINGS))]
    return [
        "  ".join(
            cell.ljust(width) if n in TEXT_COLUMNS else cell.rjust(width)
            for n, (cell, width) in enumerate(zip(row, widths, strict=True))
        ).rstrip()
        for row in body
    ]


def row_of(figure: Figure) -> tuple[str, ...]:
    """Return a figure as reported and as now known, cell by cell, as HEADINGS."""
    change = figure.change_g
    place_u = _place_u(figure)
    return (
        "all steps" if figure.step == "all" else figure.step,
        f"{figure.metal}, g",
        NAMES[figure.name],
        _shown(figure.reported_g, place_u),
        _shown(figure.now_g, place_u),
        "" if change is None else _signed(shown_value(change, place_u)),
        "" if figure.u_g is None else shown_u(figure.u_g),
        "more than its uncertainty explains" if figure.is_alarming else "",
    )


def _place_u(figure: Figure) -> float:
    """Return what tells how many digits are shown: enough to see the change."""
    change = abs(float(figure.change_g or 0))
    return min(figure.u_g or 0.0, change) if change else 0.0


def _shown(grams: Decimal | None, place_u: float) -> str:
    return "not drawn" if grams is None else shown_value(grams, place_u)


def _signed(shown: str) -> str:
    return shown if shown.startswith("-") else f"+{shown}"
