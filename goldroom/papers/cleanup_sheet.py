"""The cleanup sheet on paper: flushes, exceptions, seals, what the hopper weighed."""

from collections.abc import Sequence

from reportlab.platypus import Flowable

from goldroom.papers.frame import (
    Paper,
    code_of,
    drawn,
    heading,
    table,
    words,
)
from goldroom.papers.sheet_parts import each_signed, number, shares, work_cautions
from goldroom.reports.cleanup_sheet import CleanupSheet
from goldroom.reports.entry import EntryTold, Mark


def cleanup_paper(
    report: CleanupSheet, mark: Mark, entries: Sequence[EntryTold]
) -> bytes:
    """Return a cleanup sheet as PDF; `entries` are those of the report's `seqs`."""
    entry = next(each for each in entries if each.seq == report.seq)
    return drawn(
        Paper(
            title="Cleanup sheet",
            about=f"Entry {report.seq}, {report.occurred_at}",
            mark=mark,
            code=code_of(entry),
            figures=report,
        ),
        [
            heading("Units and their counters"),
            table(
                ("Unit", "Name", "Counter epoch", "First", "Last", "Flushes"),
                [
                    (
                        each.unit,
                        each.name,
                        str(each.counter_epoch),
                        str(each.first),
                        str(each.last),
                        str(each.flushes),
                    )
                    for each in report.spans
                ],
                shares(2, 4, 2, 1.5, 1.5, 1.5),
            ),
            *_flushes(report),
            *_exceptions(report),
            *_hopper(report),
            *each_signed(entries),
            *work_cautions(("cleanup.recorded", "hopper.weighed")),
        ],
    )


def _flushes(report: CleanupSheet) -> list[Flowable]:
    told = f"{len(report.flushes)} flushes, {number(report.feed_t)} t of feed counted"
    if report.not_counted:
        told += f"; the plant has not counted {report.not_counted} of them"
    return [
        heading("Flushes on this sheet"),
        table(
            ("Flush", "Began", "Ended", "Feed, dry t", "Plant's count"),
            [
                (
                    each.flush,
                    each.started_at or "not counted",
                    each.ended_at or "not counted",
                    number(each.feed_t),
                    each.said or "not counted",
                )
                for each in report.flushes
            ],
            shares(2.4, 3, 3, 1.8, 2.6),
        ),
        words(told + "."),
    ]


def _exceptions(report: CleanupSheet) -> list[Flowable]:
    if not report.exceptions:
        return [words("No exception was written on this sheet.")]
    return [
        heading("Exceptions and their answers"),
        table(
            ("Unit", "Flush", "What", "Answer"),
            [
                (each.unit, str(each.flush), each.what, each.answer)
                for each in report.exceptions
            ],
            shares(1.5, 1.5, 1.5, 7),
        ),
    ]


def _hopper(report: CleanupSheet) -> list[Flowable]:
    blocks: list[Flowable] = [
        words(f"The flushes went into {report.hopper} {report.hopper_name}."),
        heading("Hopper: seals seen"),
    ]
    if report.seals_seen:
        blocks.append(
            table(
                ("Point", "Seal", "Signs of tampering"),
                [(s.point, s.seal, s.tamper_signs) for s in report.seals_seen],
                shares(1, 1, 1),
            )
        )
    else:
        blocks.append(words("No seal was written as seen."))
    blocks.append(heading("Hopper: weighed after"))
    if not report.loads:
        return [*blocks, words("The hopper was not weighed since.")]
    return [
        *blocks,
        table(
            ("Load", "At", "Mark", "Gross, as displayed", "Load, dry solids", "Entry"),
            [
                (
                    each.load,
                    each.at,
                    each.mark,
                    each.gross or f"settled {number(each.settled_kg_m3, 'kg/m3')}",
                    number(each.rise_g, "g"),
                    str(each.seq),
                )
                for each in report.loads
            ],
            shares(2.2, 2.8, 1, 2.4, 2.4, 1),
        ),
    ]
