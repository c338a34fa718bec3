"""The dispatch note: who takes which sealed boxes, with space for ink.

Carriers have no key: their person signs in ink, and the signed note is attached to
the entry of the handing over.
"""

from collections.abc import Sequence

from reportlab.platypus import Flowable

from goldroom.papers.frame import Paper, code_of, drawn, heading, table, words
from goldroom.papers.packing_list import bars_table, unsent
from goldroom.papers.sheet_parts import (
    each_signed,
    ink,
    number,
    shares,
    work_cautions,
)
from goldroom.reports.entry import EntryTold, Mark
from goldroom.reports.shipment import ShipmentReport


def dispatch_note(
    report: ShipmentReport, mark: Mark, entries: Sequence[EntryTold]
) -> bytes:
    """Return the dispatch note as PDF; `entries` are those of the report's `seqs`."""
    return drawn(
        Paper(
            title="Dispatch note",
            about=f"Shipment {report.shipment}, to {report.refinery_name}",
            mark=mark,
            code=code_of(entries[-1]),
            figures=report,
        ),
        [
            *unsent(report),
            *work_cautions(("dispatch.handed_over",)),
            *_carrier(report),
            *_boxes(report),
            heading("Carrier's signature in ink"),
            ink("Carrier's person: name, signature, date and time"),
            *_arrived(report),
            *each_signed(entries),
        ],
    )


def _carrier(report: ShipmentReport) -> list[Flowable]:
    rows = [
        ("To", report.refinery_name),
        ("Carrier", report.carrier),
        ("Carrier's person", report.carrier_person),
        ("Pick-up", f"{report.window_from} to {report.window_until}"),
        ("Handed over", report.handed_over_at or "not yet"),
        ("Identity checked by", report.identity_check or "not yet"),
        ("Waybill", report.waybill or "not yet"),
        ("Packed and handed over by", " and ".join(report.packed_by) or "not yet"),
    ]
    return [heading("Carrier"), table(("What", "As recorded"), rows, shares(1, 3))]


def _boxes(report: ShipmentReport) -> list[Flowable]:
    if not report.boxes:
        return [heading("Bars advised, not packed yet"), bars_table(report.bars)]
    return [
        heading("Sealed boxes"),
        table(
            ("Box", "Seals", "Bars", "Bars, net", "Gross, as displayed"),
            [
                (
                    f"{each.box} {each.name}",
                    ", ".join(f"{e.seal} ({e.point})" for e in each.seals),
                    ", ".join(e.stamped or e.item for e in each.bars),
                    number(each.bars_g, "g"),
                    each.gross or "not weighed",
                )
                for each in report.boxes
            ],
            shares(2.4, 2, 4, 2, 2),
        ),
    ]


def _arrived(report: ShipmentReport) -> list[Flowable]:
    if not report.received_at:
        return [heading("Received"), words("Not received yet, as far as is recorded.")]
    blocks: list[Flowable] = [
        heading("Received"),
        words(
            f"{report.received_at} by {report.received_by}, receipt {report.receipt};"
            f" bars as received: {number(report.as_received_g, 'g')}."
        ),
    ]
    if report.melts:
        blocks.append(
            table(
                ("Melt", "Mass after melting, g", "Gold, ‰", "Whose assay", "Report"),
                [
                    (
                        e.melt,
                        number(e.after_melt_g),
                        number(e.gold_permille),
                        e.standing,
                        e.report,
                    )
                    for e in report.melts
                ],
                shares(2, 2.4, 1.5, 1.8, 3),
            )
        )
    return blocks
