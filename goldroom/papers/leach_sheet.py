"""The leach sheet on paper: charge, doses, readings, solutions, residue, account."""

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
from goldroom.reports.leach_sheet import LeachSheet


def leach_paper(report: LeachSheet, mark: Mark, entries: Sequence[EntryTold]) -> bytes:
    """Return a batch's sheet as PDF; `entries` are those of the report's `seqs`."""
    account = report.account
    return drawn(
        Paper(
            title="Leach sheet",
            about=f"Leach batch {account.batch}",
            mark=mark,
            code=code_of(entries[0]),
            figures=report,
        ),
        [
            *work_cautions(("leach.charged", "leach.discharged", "leach.released")),
            *_charged(report),
            *_run(report),
            *_sampled(report),
            *_out(report),
            *_account(report),
            *each_signed(entries),
        ],
    )


def _charged(report: LeachSheet) -> list[Flowable]:
    parts = report.account.charged
    return [
        heading("Charged"),
        words(
            f"Into {report.account.vessel} {report.vessel_name}, {report.charged_at};"
            f" ended {report.ended_at or 'not yet: it still runs'}."
        ),
        table(
            ("Source", "Sort", "Dry mass", "Gold in it"),
            [(e.item, e.sort, str(e.dry_mass), str(e.gold)) for e in parts],
            shares(3, 2, 3, 3),
        ),
        words(
            f"Dry solids as the vessel showed: {number(report.solids_t, 't')}. Fresh"
            f" water: {number(report.water_l, 'L')}. Target pH:"
            f" {number(report.account.target_ph)}."
        ),
    ]


def _run(report: LeachSheet) -> list[Flowable]:
    return [
        heading("Reagents issued"),
        table(
            ("At", "Reagents", "Water, L", "Reason", "Entry"),
            [
                (
                    e.at,
                    "; ".join(f"{name} {mass} kg" for name, mass in e.reagents)
                    or "none",
                    "none written" if e.water_l is None else number(e.water_l),
                    e.reason,
                    str(e.seq),
                )
                for e in report.doses
            ],
            shares(2.6, 4, 1.6, 3, 1),
        ),
        heading("Readings"),
        table(
            ("At", "pH", "Oxygen, mg/L", "Free cyanide as NaCN, mg/L", "By"),
            [
                (
                    e.at,
                    number(e.ph),
                    number(e.oxygen_mg_l),
                    number(e.cyanide_mg_l),
                    e.cyanide_by or "not read",
                )
                for e in report.readings
            ],
            shares(3, 1, 2, 3, 2),
        ),
    ]


def _sampled(report: LeachSheet) -> list[Flowable]:
    if not report.samples:
        return [words("No sample of the running solution was taken.")]
    return [
        heading("Samples of the running solution"),
        table(
            ("At", "Sample", "Volume, mL", "Taken by", "Gold, mg/L", "Silver, mg/L"),
            [
                (
                    e.at,
                    e.item,
                    number(e.volume_ml),
                    e.taken_by,
                    f"{number(e.gold_mg_l)} {e.standing}".strip(),
                    number(e.silver_mg_l),
                )
                for e in report.samples
            ],
            shares(2.6, 2.4, 1.6, 2.4, 2.2, 2),
        ),
    ]


def _out(report: LeachSheet) -> list[Flowable]:
    return [
        heading("Solutions drained and washed out"),
        table(
            (
                "At",
                "Solution",
                "Volume, L",
                "Wash, L",
                "Gold, mg/L",
                "Silver, mg/L",
                "Samples",
            ),
            [
                (
                    e.at,
                    e.item,
                    f"{number(e.volume_l)} ({e.measured_by.replace('_', ' ')})",
                    "drain" if e.wash_l is None else number(e.wash_l),
                    f"{number(e.gold_mg_l)} {e.standing}".strip(),
                    number(e.silver_mg_l),
                    ", ".join(e.samples) or "none",
                )
                for e in report.drains
            ],
            shares(2.4, 2, 2, 1.3, 2, 1.7, 2.2),
        ),
        heading("Residues"),
        table(
            ("Residue", "Gross", "Tare", "Moisture, %", "Sample", "Let go"),
            [
                (
                    e.item,
                    e.gross,
                    e.tare or "none",
                    number(e.moisture_percent),
                    e.sample or "none",
                    f"{e.released_at or 'not yet'} ({e.goes_to})",
                )
                for e in report.residues
            ],
            shares(2, 2, 2, 1.6, 2, 3),
        ),
    ]


def _account(report: LeachSheet) -> list[Flowable]:
    return [
        heading("Account of this leach batch"),
        table(
            ("Metal", "Charged", "Dissolved", "In residue", "Left", "Leach recovery"),
            [
                (
                    e.metal,
                    str(e.charged),
                    str(e.dissolved),
                    str(e.residue),
                    str(e.left),
                    str(e.recovery or NOT_KNOWN),
                )
                for e in report.account.metals
            ],
            shares(1.2, 2, 2, 2, 2, 2.4),
        ),
        words(
            "Left is what is in the vessel by difference while the batch runs, and"
            " unaccounted metal once its residue is out."
            + (
                f" Provisional: waiting for {', '.join(report.account.waiting)}."
                if report.account.waiting
                else ""
            )
        ),
    ]
