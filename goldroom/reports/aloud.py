"""Texts of the record as people read them: names for ids, the site's clock for UTC.

Sentences and findings are kept in the words of the record: ids of persons and places,
entry ids, times as UTC texts. Whoever reads them at the site wants names, the numbers
of entries and the clock on the wall. What is kept stays as it is; only the reading
changes:

    p-one, lab-two                          a person's or a place's name
    entry 1b165344-c9ea-5026-8599-...       entry 662
    2026-10-30T08:40:00Z                    2026-10-30 10:40

An id in brackets stands beside its name already and is left, and so is a place whose
id is a word of everyday use (mill, vault, laboratory).
"""

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace

from goldroom.reconcile.production_days import SiteClock
from goldroom.reports.journal import lines_of
from goldroom.reports.metal import site_clock
from goldroom.reports.people import names
from goldroom.reports.told import ToldRow
from goldroom.statements.places import PLACE_SORTS

UTC_TEXT = re.compile(r"\b\d{4}-\d\d-\d\dT\d\d:\d\d:\d\dZ")
DOUBLED_STOP = re.compile(r"(?<!\.)\.\.(?=\s|$)")
"""Words that people ended with a full stop, before that of the sentence."""
ENTRY_ID = r"\b[0-9a-f]{8}(?:-[0-9a-f]{4}){3}-[0-9a-f]{12}\b"
ENTRY_IDS = re.compile(
    rf"(?P<said>[Ee]ntr(?:y|ies) )?(?P<ids>{ENTRY_ID}(?:(?:, | and ){ENTRY_ID})*)"
)


@dataclass(frozen=True)
class Aloud:
    """How the texts of a ledger are read: its clock, entry numbers, and names."""

    clock: SiteClock
    numbers: Mapping[str, int]
    names: Mapping[str, str]

    def sentence(self, text: str) -> str:
        """Return a sentence of the journal, beginning with a capital."""
        told = DOUBLED_STOP.sub(".", self.words(text))
        return told[:1].upper() + told[1:]

    def words(self, text: str) -> str:
        """Return a text with names for ids, entry numbers and the site's clock."""
        told = self.message(text)
        if not self.names:
            return told
        ids = "|".join(re.escape(each) for each in sorted(self.names, key=len)[::-1])
        known = rf"(?<![\w.(-])(?<!as place )(?:{ids})(?![\w-])"
        return re.sub(known, lambda found: self.names[found[0]], told)

    def message(self, text: str) -> str:
        """Return a text for whoever writes statements: ids of persons stay as said."""
        clocked = UTC_TEXT.sub(lambda found: self.clock.wall_text(found[0]), text)
        return ENTRY_IDS.sub(self._numbered, clocked)

    def _numbered(self, found: re.Match[str]) -> str:
        """Return entry ids as entry numbers; what is no entry stays as it is."""
        ids = re.findall(ENTRY_ID, found["ids"])
        if not all(each in self.numbers for each in ids):
            return found[0]
        numbered = re.sub(
            ENTRY_ID, lambda each: str(self.numbers[each[0]]), found["ids"]
        )
        word = "entry " if len(ids) == 1 else "entries "
        return f"{found['said'] or word}{numbered}"


def aloud(ledger_id: int, texts: Iterable[str]) -> Aloud:
    """Return how these texts of a ledger are read. Raises NothingRecorded."""
    wanted = {each for text in texts for each in re.findall(ENTRY_ID, text)}
    known = names(ledger_id)
    places = {
        place: name for place, name in known.places.items() if place not in PLACE_SORTS
    }
    return Aloud(
        clock=site_clock(ledger_id),
        numbers={
            entry_id: line.seq for entry_id, line in lines_of(ledger_id, wanted).items()
        },
        names={**places, **known.persons},
    )


def rows_aloud(ledger_id: int, told: Iterable[ToldRow]) -> tuple[ToldRow, ...]:
    """Return the lines of a statement with names for ids, and entries by number."""
    told = tuple(told)
    spoken = aloud(ledger_id, (each.value for each in told))
    return tuple(replace(each, value=spoken.words(each.value)) for each in told)
