"""A period's reconciliation as text: sentences, then one small table.

Figures are shown to the place of the second significant digit of their balance's
uncertainty: metal in grams, dry mass in kilograms.
"""

from collections.abc import Iterable, Iterator
from decimal import Decimal

from goldroom.reconcile.amounts import Amount, shown_u, shown_value
from goldroom.reconcile.balance import Balance
from goldroom.reconcile.period import PeriodReport
from goldroom.reconcile.words import sentences, whole_name

HEADINGS = ("", "", "opening", "in", "out", "closing", "unaccounted", "± u", "z", "")
ONE, G_PER_KG = Decimal(1), Decimal(1000)
TEXT_COLUMNS = (0, 1, 9)
"""Columns set flush left; the others hold figures."""


def text_of(report: PeriodReport) -> str:
    """Return the report for reading: sentences, table, and what its mark means."""
    lines = sentences(report)
    lines += ["", *table(report)]
    if any(row[-1] == "p" for row in rows(report)):
        lines += ["", "p: provisional; the figure will change when assays are final."]
    return "\n".join(lines)


def table(report: PeriodReport) -> list[str]:
    """Return one aligned line for each balance, under a line of headings."""
    body = [HEADINGS, *rows(report)]
    widths = [max(len(row[n]) for row in body) for n in range(len(HEADINGS))]
    return [_aligned(row, widths) for row in body]


def _aligned(row: tuple[str, ...], widths: list[int]) -> str:
    cells = (
        cell.ljust(width) if n in TEXT_COLUMNS else cell.rjust(width)
        for n, (cell, width) in enumerate(zip(row, widths, strict=True))
    )
    return "  ".join(cells).rstrip()


def rows(report: PeriodReport) -> Iterator[tuple[str, ...]]:
    """Yield the table's rows: each step's balances by metal, then the whole's."""
    for name, balances in report.steps.items():
        for metal, balance in balances.items():
            is_dry = metal == "dry_mass"
            what = f"{metal.replace('_', ' ')}, {'kg' if is_dry else 'g'}"
            yield (name, what, *_figures(balance, scale=G_PER_KG if is_dry else ONE))
    for metal, balance in report.overall.items():
        name = whole_name(report, metal).lower()
        yield (name, f"{metal}, g", *_figures(balance, scale=ONE))


def _figures(balance: Balance, *, scale: Decimal) -> Iterable[str]:
    unaccounted = balance.unaccounted
    if unaccounted is None:
        return ("", "", "", "", "not drawn", "", "", "")
    u = unaccounted.u_g / float(scale)
    parts = (balance.opening, balance.came_in, balance.went_out, balance.closing)
    z = unaccounted.z
    return (
        *(_shown(part, u, scale) for part in parts),
        _shown(unaccounted, u, scale),
        shown_u(u),
        "" if z is None else f"{round(z, 1) or 0:+.1f}".replace("+0.0", "0.0"),
        "p" if balance.is_provisional else "",
    )


def _shown(amount: Amount | None, u: float, scale: Decimal) -> str:
    return "" if amount is None else shown_value(amount.posted_g / scale, u)
