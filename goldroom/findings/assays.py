"""Findings about assays: bars that still go by a provisional figure."""

from collections.abc import Iterable, Mapping
from datetime import datetime

from goldroom.custody.moves import HELD
from goldroom.custody.records import Assay, Item
from goldroom.findings.found import NOTICE, Found, Threshold, due_text, is_overdue
from goldroom.findings.runs import counted

FINAL_WITHIN = "final_assay_d"
SETTLED = ("final", "umpire", "refiner")
"""Standings after which the mine expects no other figure of its own."""


def bars_without_final_assay(
    bars: Iterable[Item],
    assays: Mapping[str, Iterable[Assay]],
    *,
    within: Threshold,
    now: datetime,
) -> list[Found]:
    """Return the bars in care that have no final assay although it is due.

    One finding for each day's pouring, not one for each bar. `within` is the limit
    `final_assay_d`.
    """
    groups: dict[str, list[Item]] = {}
    for bar in bars:
        standings = {assay.standing for assay in assays.get(bar.item, ())}
        is_open = bar.status in HELD and not standings.intersection(SETTLED)
        if is_open and is_overdue(bar.held_from, within, now):
            groups.setdefault(bar.held_from[:10], []).append(bar)
    return [
        Found(
            code="final_assay_missing",
            level=NOTICE,
            item=min(bar.item for bar in poured),
            found=f"{counted((bar.item for bar in poured), 'bar')} poured {day},"
            " without a final assay",
            expected=f"a final assay within {within}",
            message="bars go by a provisional fineness longer than they should",
            at=due_text(min(bar.held_from for bar in poured), within),
        )
        for day, poured in sorted(groups.items())
    ]
