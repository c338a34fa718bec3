"""Today: what needs the reader's hand, and what they began."""

from dataclasses import dataclass

from django.http import HttpRequest, HttpResponse
from django.utils.translation import gettext as _

from goldroom.faces import acts, drafts, reading
from goldroom.faces.clock import now
from goldroom.faces.offered import may_say
from goldroom.faces.reader import Reader
from goldroom.reports.aloud import aloud, rows_aloud
from goldroom.reports.attention import Concern
from goldroom.reports.expected import ExpectedFlushes, expected_flushes
from goldroom.reports.journal import lines_of
from goldroom.reports.metal import site_clock
from goldroom.reports.told import ToldRow, told_rows
from goldroom.statements.registry import kind_named
from goldroom.web.drafting import AT
from goldroom.web.page import page, reader_in, signed_in
from goldroom.web.signplaces import Place, places
from ledger.proposal import Proposal

FINDINGS_SHOWN = 5
ROWS_SHOWN = 4


@dataclass(frozen=True, kw_only=True)
class Waiting:
    """A statement that waits: what it says in short, and whose hands it wants."""

    entry_id: str
    title: str
    since: str
    rows: tuple[ToldRow, ...]
    places: tuple[Place, ...]
    is_mine: bool


@signed_in
def today(request: HttpRequest) -> HttpResponse:
    """Show what waits for the reader's hand, what was noticed, what to log next."""
    reader = reader_in(request)
    waiting = [_waiting(reader, each) for each in acts.all_waiting(reader)]
    noticed = reading.attention(reader, now=now(reader.ledger_id), only_open=True)
    mine = may_say(reader)
    values = {
        "title": _("Today"),
        "for_me": [each for each in waiting if each.is_mine],
        "for_others": [each for each in waiting if not each.is_mine],
        "drafts": [
            (each, _title(each.kind), each.boxes.get(AT, "").replace("T", " "))
            for each in drafts.kept_by(reader)
        ],
        "noticed": _noticed(reader, noticed[:FINDINGS_SHOWN]),
        "noticed_more": max(0, len(noticed) - FINDINGS_SHOWN),
        "open_steps": [each for each in reading.steps(reader) if each.open],
        "expected": _expected(reader) if "cleanup.recorded" in mine else (),
    }
    return page(request, "today", values)


def _waiting(reader: Reader, proposal: Proposal) -> Waiting:
    said = proposal.statement
    rows = told_rows(said["kind"], said["v"], said["data"])
    clock = site_clock(reader.ledger_id)
    return Waiting(
        entry_id=proposal.entry_id,
        title=_title(said["kind"]),
        since=clock.wall_text(proposal.created_at[:19] + "Z"),
        rows=rows_aloud(
            reader.ledger_id, [row for row in rows if row.value][:ROWS_SHOWN]
        ),
        places=places(reader.ledger_id, said, proposal.signed),
        is_mine=reader.person in proposal.missing,
    )


def _noticed(
    reader: Reader, concerns: tuple[Concern, ...]
) -> list[tuple[Concern, str, int | None]]:
    """Return each concern with its words and the number of the entry that shows it."""
    spoken = aloud(reader.ledger_id, (each.message for each in concerns))
    lines = lines_of(reader.ledger_id, (each.entry for each in concerns if each.entry))
    return [
        (
            each,
            spoken.sentence(each.message),
            lines[each.entry].seq if each.entry in lines else None,
        )
        for each in concerns
    ]


def _expected(reader: Reader) -> tuple[ExpectedFlushes, ...]:
    return expected_flushes(reader.ledger_id)


def _title(kind: str) -> str:
    return _(kind_named(kind).title)
