"""A busy month is reconciled while somebody waits for the page."""

import time
from datetime import datetime, timedelta

from goldroom.reconcile.period import Period, reconcile
from tests.goldroom.reconcile.book import LATER, OCTOBER, WELL, ZONE, Book

CEILING_S = 3.0
"""Measured at 0.3 s on one core; a shared machine may be ten times slower."""


def hour(hours: float) -> str:
    at = datetime(2026, 10, 1, 4) + timedelta(hours=hours)
    return at.strftime("%Y-%m-%dT%H:%M:%SZ")


def busy_month() -> Book:
    """Return 1 500 flushes, 90 loads, 30 lots, 60 products, 10 charges, 30 bars."""
    book = Book()
    book.model(rho="0.45", tau="90")
    for day in range(1, 32):
        book.mill_day(f"2026-10-{day:02d}")
    for n in range(1500):
        end = (n + 0.9) * 744 / 1500
        book.flush(n, at=hour(end), started_at=hour(end - 0.45))
    waiting: list[str] = []
    for n in range(30):
        start = n * 23.0
        loads = [f"L{n}.{m}" for m in range(3)]
        for m, load in enumerate(loads):
            book.load(load, at=hour(start + m))
        book.lot(f"T{n}", loads, at=hour(start + 5), grams="60000")
        book.table_run([f"T{n}"], f"C{n}", f"R{n}", at=hour(start + 8))
        waiting.append(f"C{n}")
        if n % 3 == 2:
            bars = [f"B{n}.{m}" for m in range(3)]
            book.pour(f"F{n}", waiting, bars, at=hour(start + 12))
            waiting = []
            for bar in bars:
                book.number(bar, "40.4", "842", at=hour(start + 14))
    return book


def test_a_busy_month_is_reconciled_in_little_time():
    data = busy_month().data()
    period = Period(*OCTOBER, LATER, ZONE, "06:00")
    start = time.perf_counter()
    report = reconcile(data, period, WELL)
    report.to_json()
    assert time.perf_counter() - start < CEILING_S
    assert report.gravity.flushes.counted == 1500
    assert len([each for each in report.parcels if each.sort == "bar"]) == 60
