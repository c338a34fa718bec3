"""The journal: entries read aloud, the newest first, page by page.

A page is asked for by the number of the entry before which it starts, so that
entries appended meanwhile move nothing.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

from django.db.models import Q, QuerySet

from goldroom.custody.room import Incident
from goldroom.errors import OutOfRange
from goldroom.models import JournalLine, Mention
from goldroom.reports import rows
from goldroom.reports.rows import in_pieces, readable
from goldroom.statements.registry import kinds

LINES_AT_MOST = 500
COLUMNS = (
    "seq",
    "entry_id",
    "kind",
    "signing_class",
    "occurred_at",
    "received_at",
    "people",
    "sentence",
)


@dataclass(frozen=True, kw_only=True)
class Line:
    """An entry in words. Times are UTC texts; `people` are ids in signing order."""

    seq: int
    entry_id: str
    kind: str
    title: str
    signing_class: str
    occurred_at: str
    received_at: str
    people: tuple[str, ...]
    sentence: str


@dataclass(frozen=True, kw_only=True)
class Wanted:
    """Which lines are wanted; what is empty does not matter.

    `kind` is a kind, or a family with its dot ("hopper."); `kinds` are several.
    `record` and `thing` name what the entry must speak of: an item unless `record`
    says vessel, seal, instrument, concentrator or place. `about` is the id of an
    entry: itself, and what names it. Times are UTC texts, [from_at, to_at) of when it
    happened. `hidden_kinds` and `hidden_entries` (ids) are left out unless
    `signed_by` signed them.
    """

    kind: str = ""
    kinds: tuple[str, ...] = ()
    about: str = ""
    person: str = ""
    thing: str = ""
    record: str = "item"
    from_at: str = ""
    to_at: str = ""
    hidden_kinds: tuple[str, ...] = ()
    hidden_entries: tuple[str, ...] = ()
    signed_by: str = ""


@dataclass(frozen=True, kw_only=True)
class JournalPage:
    """Lines, the newest first; `before` asks for the next page (None at the end)."""

    lines: tuple[Line, ...]
    before: int | None


EVERYTHING = Wanted()


def journal(
    ledger_id: int,
    wanted: Wanted = EVERYTHING,
    *,
    before: int | None = None,
    after: int | None = None,
    most: int = 50,
) -> JournalPage:
    """Return up to `most` lines of entries older than number `before` (the newest).

    With `after`, instead the page that ends just above that number. Raises
    OutOfRange when more than 500 lines are asked for at once, or none.
    """
    if not 1 <= most <= LINES_AT_MOST:
        raise OutOfRange(
            f"most: found {most}, expected 1 to {LINES_AT_MOST} lines a page.",
            field="most",
        )
    found = _matching(ledger_id, wanted)
    if after is not None:
        above = found.filter(seq__gt=after).order_by("seq")
        newest = list(above.values_list("seq", flat=True)[:most])
        before = newest[-1] + 1 if newest else None
    if before is not None:
        found = found.filter(seq__lt=before)
    lines = _lines(found.order_by("-seq")[: most + 1])
    is_more = len(lines) > most
    return JournalPage(
        lines=tuple(lines[:most]), before=lines[most - 1].seq if is_more else None
    )


def lines_of(ledger_id: int, entry_ids: Iterable[str]) -> dict[str, Line]:
    """Return the lines of these entries, by entry id; unknown ids are left out."""
    found: dict[str, Line] = {}
    for some in in_pieces(sorted(set(entry_ids))):
        lines = _lines(
            JournalLine.objects.filter(ledger_id=ledger_id, entry_id__in=some)
        )
        found.update({line.entry_id: line for line in lines})
    return found


def lines_at(ledger_id: int, seqs: Iterable[int]) -> dict[int, Line]:
    """Return the lines of the entries with these numbers, by number."""
    found: dict[int, Line] = {}
    for some in in_pieces(sorted(set(seqs))):
        lines = _lines(JournalLine.objects.filter(ledger_id=ledger_id, seq__in=some))
        found.update({line.seq: line for line in lines})
    return found


def seqs_mentioning(
    ledger_id: int, record: str, keys: Iterable[str]
) -> list[tuple[str, int]]:
    """Return (key, entry number) wherever an entry speaks of one of these things."""
    found: list[tuple[str, int]] = []
    for some in in_pieces(sorted(set(keys))):
        with readable():
            found += Mention.objects.filter(
                ledger_id=ledger_id, record=record, key__in=some
            ).values_list("key", "seq")
    return sorted(found)


def _matching(ledger_id: int, wanted: Wanted) -> QuerySet[JournalLine]:
    asked = Q(ledger_id=ledger_id)
    if wanted.kind.endswith("."):
        asked &= Q(kind__startswith=wanted.kind)
    elif wanted.kind:
        asked &= Q(kind=wanted.kind)
    if wanted.kinds:
        asked &= Q(kind__in=wanted.kinds)
    if wanted.about:
        asked &= _naming(ledger_id, wanted.about)
    if wanted.person:
        asked &= _mentions(ledger_id, "person", wanted.person)
    if wanted.thing:
        asked &= _mentions(ledger_id, wanted.record, wanted.thing)
    if wanted.from_at:
        asked &= Q(occurred_at__gte=wanted.from_at)
    if wanted.to_at:
        asked &= Q(occurred_at__lt=wanted.to_at)
    if wanted.hidden_kinds or wanted.hidden_entries:
        hidden = Q(kind__in=wanted.hidden_kinds)
        hidden |= Q(entry_id__in=wanted.hidden_entries)
        asked &= ~hidden | _mentions(ledger_id, "person", wanted.signed_by)
    return JournalLine.objects.filter(asked)


def _naming(ledger_id: int, entry_id: str) -> Q:
    """Return what asks for an entry and all that name it, incidents among them."""
    incidents = rows.containing(ledger_id, Incident, f'"{entry_id}"')
    named_by = [each.entry for each in incidents if entry_id in each.entries]
    return Q(entry_id__in=[entry_id, *named_by]) | Q(sentence__contains=entry_id)


def _mentions(ledger_id: int, record: str, key: str) -> Q:
    found = Mention.objects.filter(ledger_id=ledger_id, record=record, key=key)
    return Q(seq__in=found.values("seq"))


def _lines(found: QuerySet[JournalLine]) -> list[Line]:
    with readable():
        return [_line(row) for row in found.values(*COLUMNS)]


def _line(row: dict[str, Any]) -> Line:
    known = kinds().get(row["kind"])
    return Line(
        **{**row, "people": tuple(row["people"].split())},
        title=row["kind"] if known is None else known.title,
    )
