"""Closed periods as pages show them: rows, restatements, postings, their entries."""

from dataclasses import dataclass

from goldroom.reports.aloud import Aloud, aloud
from goldroom.reports.closed import ClosedReport, changed, closed_periods
from goldroom.reports.closed_words import row_of
from goldroom.reports.journal import lines_of


@dataclass(frozen=True, kw_only=True)
class Posting:
    """A restatement or a true-up in words, with the number of its entry."""

    words: str
    at: str
    seq: int | None


@dataclass(frozen=True, kw_only=True)
class ClosedTold:
    """A closed period in words; times are the site's. `changed` are rows of texts."""

    report: ClosedReport
    closed_at: str
    known_at: str
    now_known_at: str
    seq: int | None
    changed: tuple[tuple[str, ...], ...]
    restated: tuple[Posting, ...]
    trued_up: tuple[Posting, ...]
    left: tuple[str, ...]


def closed_told(ledger_id: int) -> tuple[ClosedTold, ...]:
    """Return every closed period, the newest first."""
    reports = closed_periods(ledger_id)
    entries = {
        entry
        for each in reports
        for entry in (
            each.period.entry,
            *(one.entry for one in each.restatements),
            *(one.entry for one in each.true_ups),
        )
    }
    seqs = {key: line.seq for key, line in lines_of(ledger_id, entries).items()}
    reasons = [one.reason for each in reports for one in each.restatements]
    reasons += [one.reason for each in reports for one in each.true_ups]
    spoken = aloud(ledger_id, reasons)
    return tuple(_told(each, seqs, spoken) for each in reversed(reports))


def _told(report: ClosedReport, seqs: dict[str, int], spoken: Aloud) -> ClosedTold:
    wall = spoken.clock.wall_text
    return ClosedTold(
        report=report,
        closed_at=wall(report.period.at),
        known_at=wall(report.period.reported.as_known_at),
        now_known_at=wall(report.known_at),
        seq=seqs.get(report.period.entry),
        changed=tuple(row_of(each) for each in changed(report.figures)),
        restated=tuple(
            Posting(
                words=spoken.sentence(f"{each.reported.standing}: {each.reason}"),
                at=wall(each.at),
                seq=seqs.get(each.entry),
            )
            for each in report.restatements
        ),
        trued_up=tuple(
            Posting(
                words=spoken.sentence(
                    f"{each.amount_g:+f} g of {each.metal} at {_step(each.step)},"
                    f" {each.cause.replace('_', ' ')}: {each.reason}"
                ),
                at=wall(each.at),
                seq=seqs.get(each.entry),
            )
            for each in report.true_ups
        ),
        left=tuple(
            f"{amount:+f} g of {metal} unaccounted at {_step(step)}"
            for (step, metal), amount in report.left_to_post().items()
        ),
    )


def _step(step: str) -> str:
    return "all steps" if step == "all" else step.replace("+", " and ")
