"""How long the list of bars takes to draw, against the bare drawing of its cells.

    python -m tests.bench.papers [--rounds 15]

Run by hand; pytest does not collect it. Each figure is the least of some rounds, in
milliseconds, the two of a pair measured in turn:

P14  100 bars by `bars_paper` against the same cells, headings and rules drawn in the
     same fonts on a bare canvas, without head, foot, code, sums and attached figures:
     at most 2.0 times.
P15  1,000 bars against 100 by `bars_paper`: at most 12.5 times.
"""

import argparse
import io
import os
import time
from collections.abc import Callable
from decimal import Decimal

import django
from reportlab.lib.pagesizes import A4
from reportlab.pdfgen.canvas import Canvas

FEW, MANY = 100, 1000
P14_AT_MOST, P15_AT_MOST = 2.0, 12.5


def bars_of(count):
    """Return so many bars, invented."""
    from goldroom.reports.bar import BarAssay, BarMass, BarReport, BarWhere
    from goldroom.reports.origins import NO_SOURCES

    found = []
    for n in range(count):
        mass_g, gold = Decimal("11000.5") + n, Decimal("800.01") + Decimal(n) / 100
        weighed = BarMass(
            mass_g=mass_g, u_g="0.15", said="Bar numbered", at="2026-03-08 10:00",
            seq=n,
        )  # fmt: skip
        assay = BarAssay(
            sample=f"DIP-{n}", standing="final", laboratory="Site laboratory",
            method="fire assay", gold_permille=gold, gold_u_permille="0.9",
            gold_limit=None, silver_permille=Decimal("90.1"), silver_u_permille="0.6",
            silver_limit=None, determinations=2, is_used=True, at="2026-03-09 10:00",
            seq=n,
        )  # fmt: skip
        where = BarWhere(
            place="Vault", vessel="Safe 1", seals=("S-0001",),
            since="2026-03-09 11:00", said="Placed in the vault", hands=("A", "B"),
            seq=n,
        )  # fmt: skip
        found.append(
            BarReport(
                item=f"CH-{n}-1",
                stamped=f"KR-{n:04d}",
                number_check="",
                status="held",
                masses=(weighed,),
                shipping_mass_g=mass_g,
                assays=(assay,),
                by_charge_gold=None,
                by_charge_silver=None,
                fine_gold_g=mass_g * gold / 1000,
                fine_silver_g=None,
                questions=(),
                charge=(f"CH-{n}",),
                flushes=(),
                sources=NO_SOURCES,
                identity="",
                where=where,
                acts=(),
                seqs=(),
            )
        )
    return found


def a_mark():
    """Return a chain mark, invented."""
    from goldroom.reports.entry import Mark

    return Mark(
        origin="invented.example/bench", site="Invented room", size=10, root="A" * 43,
        root_hex="ab" * 32, is_demo=True, zone="Africa/Gaborone",
        known_at="2026-03-10T08:00:00Z",
    )  # fmt: skip


def drawn_bare(cells):
    """Draw the cells and rules at the list's own places, and nothing else."""
    from goldroom.papers.bar import COLUMNS, FLUSH_RIGHT, ROW_HEIGHT, SIZE
    from goldroom.papers.frame import BOLD, FONT, MARGIN, WIDTH

    pages = Canvas(io.BytesIO(), pagesize=A4, invariant=1)
    rows_left, at = list(cells), 0.0
    while rows_left:
        if at < 80:
            if at:
                pages.showPage()
            pages.setFont(BOLD, SIZE)
            row, at = [name for name, _, _ in COLUMNS], A4[1] - 130
        else:
            pages.setFont(FONT, SIZE)
            row = rows_left.pop(0)
        for n, text in enumerate(row):
            _, left, right = COLUMNS[n]
            if n in FLUSH_RIGHT:
                pages.drawRightString(MARGIN + WIDTH * right, at, text)
            else:
                pages.drawString(MARGIN + WIDTH * left, at, text)
        pages.line(MARGIN, at - 3.5, MARGIN + WIDTH, at - 3.5)
        at -= ROW_HEIGHT
    pages.showPage()
    pages.save()


def cells_of(bars):
    """Return what stands in each line of the list."""
    return [
        (
            bar.stamped,
            bar.item,
            str(bar.shipping_mass_g),
            str(bar.used.gold_permille),
            str(bar.fine_gold_g),
            bar.used.standing,
            bar.where.vessel,
        )
        for bar in bars
    ]


def least_ms(rounds: int, *works: Callable[[], object]) -> list[float]:
    """Return the least milliseconds of each work, measured in turn."""
    taken: list[list[float]] = [[] for _ in works]
    for _ in range(rounds):
        for each, work in zip(taken, works, strict=True):
            start = time.perf_counter()
            work()
            each.append(time.perf_counter() - start)
    return [1000 * min(each) for each in taken]


def main() -> None:
    """Print the table."""
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "goldroom.settings")
    django.setup()
    from goldroom.papers.bar import bars_paper

    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--rounds", type=int, default=15, help="the least counts")
    rounds = parser.parse_args().rounds
    mark, few, many = a_mark(), bars_of(FEW), bars_of(MANY)
    cells = cells_of(few)
    of_few, bare, of_many = least_ms(
        rounds,
        lambda: bars_paper(few, mark),
        lambda: drawn_bare(cells),
        lambda: bars_paper(many, mark),
    )
    print(f"{'':6}{'ms':>10}{'against ms':>12}{'ratio':>8}{'at most':>9}")
    for name, over, under, most in (
        ("P14", of_few, bare, P14_AT_MOST),
        ("P15", of_many, of_few, P15_AT_MOST),
    ):
        ratio = over / under
        said = "reached" if ratio <= most else "MISSED"
        print(f"{name:6}{over:10.1f}{under:12.1f}{ratio:8.2f}{most:9.1f}  {said}")


if __name__ == "__main__":
    main()
