"""Lines of the journal as a page shows them: names, the site's clock, what they are."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import timedelta

from goldroom.custody.records import Said
from goldroom.reconcile.production_days import moment
from goldroom.reports import rows
from goldroom.reports.aloud import aloud
from goldroom.reports.journal import Line
from goldroom.reports.people import names
from goldroom.statements.fold import CORRECTION, ENTERED_LATE_H


@dataclass(frozen=True, kw_only=True)
class Tag:
    """A word about a line; a strong one wants to be seen."""

    word: str
    is_strong: bool = False


@dataclass(frozen=True, kw_only=True)
class LineTold:
    """A line: number, when it happened by the site's clock, words, names, tags."""

    seq: int
    entry_id: str
    wall: str
    title: str
    sentence: str
    people: str
    tags: tuple[Tag, ...]


def lines_told(ledger_id: int, lines: Iterable[Line]) -> tuple[LineTold, ...]:
    """Return lines as people read them, in their order."""
    shown = tuple(lines)
    read = aloud(ledger_id, (line.sentence for line in shown))
    known = names(ledger_id)
    said = rows.by_keys(ledger_id, Said, (line.entry_id for line in shown))
    return tuple(
        LineTold(
            seq=line.seq,
            entry_id=line.entry_id,
            wall=read.clock.wall_text(line.occurred_at),
            title=line.title,
            sentence=read.sentence(line.sentence),
            people=known.people(line.people),
            tags=tuple(_tags(line, said.get(line.entry_id))),
        )
        for line in shown
    )


def _tags(line: Line, said: Said | None) -> Iterator[Tag]:
    if line.kind == CORRECTION:
        yield Tag(word="correction", is_strong=True)
    if line.signing_class == "single":
        yield Tag(word="one signature, emergency", is_strong=True)
    if line.signing_class == "machine":
        yield Tag(word="said by a machine")
    if line.signing_class == "server":
        yield Tag(word="written by the program")
    if is_late(line):
        yield Tag(word="entered late")
    if said is not None and said.voided_by:
        yield Tag(word="taken back", is_strong=True)
    elif said is not None and said.corrected_by:
        yield Tag(word="figures put right")


def is_late(line: Line) -> bool:
    """Tell whether an entry was taken down hours after what it speaks of."""
    taken_down = moment(f"{line.received_at[:19]}Z")
    return taken_down - moment(line.occurred_at) > timedelta(hours=ENTERED_LATE_H)
