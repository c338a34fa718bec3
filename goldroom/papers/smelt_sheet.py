"""The smelt sheet on paper: sources, fluxes, pour, bars, slag, samples, signers."""

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
from goldroom.papers.sheet_parts import (
    NOT_KNOWN,
    each_signed,
    number,
    shares,
    work_cautions,
)
from goldroom.reports.entry import EntryTold, Mark
from goldroom.reports.smelt_sheet import SmeltSheet


def smelt_paper(report: SmeltSheet, mark: Mark, entries: Sequence[EntryTold]) -> bytes:
    """Return a charge's sheet as PDF; `entries` are those of the report's `seqs`."""
    return drawn(
        Paper(
            title="Smelt sheet",
            about=f"Charge {report.charge}",
            mark=mark,
            code=code_of(entries[0]),
            figures=report,
        ),
        [
            *work_cautions(("charge.made_up", "charge.poured", "slag.weighed")),
            *_charged(report),
            *_poured(report),
            *_came_out(report),
            *each_signed(entries),
        ],
    )


def _charged(report: SmeltSheet) -> list[Flowable]:
    again = f" Bars charged again: {report.reason}." if report.reason else ""
    return [
        heading("Charge"),
        words(
            f"Made up {report.made_up_at} for {report.furnace} {report.furnace_name},"
            f" crucible {report.crucible} ({report.crucible_uses} uses"
            f" before).{again}"
        ),
        table(
            ("Source", "Sort", "Label", "Dry mass, g", "Gold in it"),
            [
                (e.item, e.sort, e.label, number(e.dry_g), str(e.gold))
                for e in report.sources
            ],
            shares(3, 2, 3, 2, 3),
        ),
        words(f"Sources together: {number(report.dry_charged_g, 'g dry')}."),
        table(
            ("Flux", "Mass, kg"),
            [(e.flux, number(e.mass_kg)) for e in report.fluxes],
            shares(5, 2),
        ),
    ]


def _poured(report: SmeltSheet) -> list[Flowable]:
    if not report.poured_at:
        return [heading("Pour"), words("Not poured yet.")]
    return [
        heading("Pour"),
        words(
            f"Signed for {report.poured_at}. Tapped {report.tapped_at or NOT_KNOWN}, at"
            f" {number(report.temperature_c, '°C')}."
        ),
        table(
            ("Bar", "Mould", "Stamped", "Net mass, g", "Gold by its charge"),
            [
                (
                    each.item,
                    each.mould,
                    each.stamped or "no number yet",
                    number(each.mass_g),
                    str(each.estimated_gold or NOT_KNOWN),
                )
                for each in report.bars
            ],
            shares(3, 2, 3, 2, 3),
        ),
        words(f"Bars together: {number(report.bars_g, 'g net')}."),
        words(_gold_told(report)),
    ]


def _gold_told(report: SmeltSheet) -> str:
    told = (
        f"Gold as now known: in with the sources {report.gold_in}; out with bars, slag,"
        f" skull and samples {report.gold_out}."
    )
    if report.no_gold_known:
        told += f" Nothing tells the gold of {', '.join(report.no_gold_known)}."
    if report.provisional:
        waiting = ", ".join(report.provisional)
        told += f" Resting on figures still to come: {waiting}."
    return told


def _came_out(report: SmeltSheet) -> list[Flowable]:
    blocks: list[Flowable] = []
    if report.slags:
        blocks += [
            heading("Slag and skull"),
            table(
                ("Id", "Sort", "Net mass, g", "Gold thought in it, g", "How estimated"),
                [
                    (
                        e.item,
                        e.sort,
                        number(e.mass_g),
                        NOT_KNOWN if e.gold_g is None else f"{e.gold_g} ± {e.gold_u_g}",
                        e.method or NOT_KNOWN,
                    )
                    for e in report.slags
                ],
                shares(2, 1.4, 2, 2.2, 4),
            ),
        ]
    if report.samples:
        blocks += [
            heading("Samples taken at the pour"),
            table(
                ("Sample", "Way", "Mass, as displayed"),
                [(e.item, e.taken_by, e.mass) for e in report.samples],
                shares(3, 2, 2),
            ),
        ]
    return blocks
