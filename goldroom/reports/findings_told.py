"""Findings in words: what was found and expected, by which limit, where to look."""

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from goldroom.custody.records import Item
from goldroom.reports import rows
from goldroom.reports.aloud import Aloud, aloud
from goldroom.reports.attention import Concern
from goldroom.reports.journal import Line, lines_of
from goldroom.reports.limits_told import LimitNow, limits_told

LIMIT_NAMED = re.compile(r"\(limit ([a-z0-9_]+)\)")


@dataclass(frozen=True, kw_only=True)
class FindingTold:
    """A finding in words; times are the site's.

    `limit` is the threshold it was held against, None where it has none. `seq` is the
    entry that shows it, `item` an item to look at ("" if it is about something else).
    `asks` are the values that a review of it begins with.
    """

    concern: Concern
    rule: str
    message: str
    found: str
    expected: str
    at: str
    limit: LimitNow | None
    seq: int | None
    item: str
    about: str
    review: str
    review_seq: int | None
    asks: Mapping[str, str]


def findings_told(
    ledger_id: int, concerns: Iterable[Concern]
) -> tuple[FindingTold, ...]:
    """Return findings in words, in their order."""
    known = list(concerns)
    texts = [text for each in known for text in _texts(each)]
    spoken, limits = aloud(ledger_id, texts), limits_told(ledger_id)
    entries = [entry for each in known for entry in _entries(each)]
    lines = lines_of(ledger_id, entries)
    items = rows.by_keys(ledger_id, Item, {each.item for each in known})
    return tuple(_told(each, spoken, limits, lines, items) for each in known)


def _texts(concern: Concern) -> tuple[str, ...]:
    said = "" if concern.review is None else concern.review.words
    return concern.message, concern.found, concern.expected, concern.item, said


def _entries(concern: Concern) -> tuple[str, ...]:
    return (
        concern.entry,
        concern.item,
        "" if concern.review is None else concern.review.entry,
    )


def _told(
    concern: Concern,
    spoken: Aloud,
    limits: Mapping[str, LimitNow],
    lines: Mapping[str, Line],
    items: Mapping[str, Item],
) -> FindingTold:
    named = LIMIT_NAMED.search(concern.expected)
    line = lines.get(concern.entry or concern.item)
    review = concern.review
    reviewed = None if review is None else lines.get(review.entry)
    return FindingTold(
        concern=concern,
        rule=concern.rule,
        message=spoken.sentence(concern.message),
        found=spoken.words(concern.found),
        expected=spoken.words(LIMIT_NAMED.sub("", concern.expected).strip()),
        at=spoken.clock.wall_text(concern.at),
        limit=limits.get(named[1]) if named else None,
        seq=None if line is None else line.seq,
        item=concern.item if concern.item in items else "",
        about=spoken.words(concern.item),
        review=""
        if review is None
        else f"{review.outcome.replace('_', ' ')}: {spoken.words(review.words)}",
        review_seq=None if reviewed is None else reviewed.seq,
        asks=_asks(concern),
    )


def _asks(concern: Concern) -> dict[str, str]:
    """Return the values by which a review names a finding."""
    if not concern.entry:
        return {"code": concern.code, "item": concern.item}
    entry, _, number = concern.finding.rpartition("/")
    return {"entry": entry, "number": str(int(number))}
