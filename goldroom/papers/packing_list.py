"""The packing list: each box of a shipment, its bars and its seals."""

from collections.abc import Sequence

from reportlab.platypus import Flowable

from goldroom.papers.frame import Paper, code_of, drawn, heading, table, words
from goldroom.papers.sheet_parts import (
    NOT_KNOWN,
    each_signed,
    number,
    shares,
    work_cautions,
)
from goldroom.reports.entry import EntryTold, Mark
from goldroom.reports.shipment import PackedBox, ShipmentReport, ShippedBar

NAMED_READERS = (
    "FOR NAMED READERS ONLY until handed over: carry it closed, leave no copy behind."
)


def packing_list(
    report: ShipmentReport, mark: Mark, entries: Sequence[EntryTold]
) -> bytes:
    """Return the packing list as PDF; `entries` are those of the report's `seqs`."""
    packed: list[Flowable] = []
    for each in report.boxes:
        packed += _box(each)
    if not report.boxes:
        packed = [heading("Bars advised, not packed yet"), bars_table(report.bars)]
    return drawn(
        Paper(
            title="Packing list",
            about=f"Shipment {report.shipment}, to {report.refinery_name}",
            mark=mark,
            code=code_of(entries[-1]),
            figures=report,
        ),
        [
            *unsent(report),
            *work_cautions(("dispatch.handed_over",)),
            *packed,
            words(
                f"{len(report.bars)} bars, {number(report.bars_g, 'g net')} together."
            ),
            *each_signed(entries),
        ],
    )


def unsent(report: ShipmentReport) -> list[Flowable]:
    """Return the mark of a paper whose shipment has not left yet, or nothing."""
    return [] if report.is_dispatched else [heading(NAMED_READERS)]


def bars_table(bars: Sequence[ShippedBar]) -> Flowable:
    """Return bars with number, mass and fineness with its standing."""
    return table(
        ("Bar", "Stamped", "Net mass, g", "Gold, parts per thousand", "Assay"),
        [
            (
                each.item,
                each.stamped or "no number",
                number(each.mass_g),
                str(each.gold or NOT_KNOWN),
                each.standing or NOT_KNOWN,
            )
            for each in bars
        ],
        shares(3, 2.4, 2, 3, 2),
    )


def _box(box: PackedBox) -> list[Flowable]:
    seals = ", ".join(f"{each.seal} at {each.point}" for each in box.seals)
    there = (
        ""
        if box.received_gross_g is None
        else f" Gross at the refinery: {number(box.received_gross_g, 'g')}."
    )
    return [
        heading(f"Box {box.box} {box.name}"),
        words(
            f"Seals: {seals or 'none'}. Gross: {box.gross or 'not weighed'}."
            f" Bars in it: {number(box.bars_g, 'g net')}.{there}"
        ),
        bars_table(box.bars),
    ]
