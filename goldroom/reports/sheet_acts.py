"""The entries that a sheet of one thing's work is drawn from, and what stands of them.

A sheet shows what was signed. Entries taken back are left out; a correction's entry
is cited beside the entry that it corrects.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import TypeVar

from goldroom.custody.records import Mass, Said
from goldroom.reconcile.amounts import decimal_text, shown_u, shown_value
from goldroom.reports import rows
from goldroom.reports.entry import EntryTold, entries_told
from goldroom.reports.journal import (
    LINES_AT_MOST,
    Wanted,
    journal,
    seqs_mentioning,
)
from goldroom.statements.fields import parse
from goldroom.statements.kind import Statement

S = TypeVar("S", bound=Statement)


@dataclass(frozen=True, kw_only=True)
class SheetAct:
    """One signed act of a sheet: its entry's number, and who signed it.

    `at` is the site's wall clock. `signers` are names, `corrected_by` entry numbers.
    """

    seq: int
    kind: str
    title: str
    at: str
    signers: tuple[str, ...]
    corrected_by: tuple[int, ...]


def acts_of(
    ledger_id: int, kinds: Iterable[str], items: Iterable[str]
) -> tuple[EntryTold, ...]:
    """Return the entries of these kinds that speak of these items and still stand."""
    wanted = frozenset(kinds)
    seqs = {seq for _, seq in seqs_mentioning(ledger_id, "item", items)}
    told = entries_told(ledger_id, seqs).values()
    return _standing(ledger_id, [each for each in told if each.kind in wanted])


def acts_saying(
    ledger_id: int, kinds: Iterable[str], field: str, value: str
) -> tuple[EntryTold, ...]:
    """Return the entries of these kinds with this value in a field, that stand.

    Reads every entry of the kinds: for kinds of which there are few.
    """
    wanted, seqs, before = Wanted(kinds=tuple(kinds)), set[int](), None
    while True:
        page = journal(ledger_id, wanted, before=before, most=LINES_AT_MOST)
        seqs |= {line.seq for line in page.lines}
        before = page.before
        if before is None:
            break
    told = entries_told(ledger_id, seqs).values()
    return _standing(ledger_id, [e for e in told if e.data.get(field) == value])


def _standing(ledger_id: int, told: list[EntryTold]) -> tuple[EntryTold, ...]:
    """Return the entries that were not taken back, in the order of their numbers."""
    found = sorted(told, key=lambda each: each.seq)
    said = rows.by_keys(ledger_id, Said, (each.entry_id for each in found))
    return tuple(
        each
        for each in found
        if each.entry_id not in said or not said[each.entry_id].voided_by
    )


def act_of(entry: EntryTold) -> SheetAct:
    """Return an entry as an act of a sheet."""
    return SheetAct(
        seq=entry.seq,
        kind=entry.kind,
        title=entry.title,
        at=entry.occurred_wall,
        signers=tuple(each.name for each in entry.signers),
        corrected_by=entry.corrected_by,
    )


def cited_seqs(entries: Iterable[EntryTold]) -> tuple[int, ...]:
    """Return the numbers of the entries and of those that correct them, in order."""
    found: set[int] = set()
    for each in entries:
        found |= {each.seq, *each.corrected_by}
    return tuple(sorted(found))


def said_in(entry: EntryTold, cls: type[S]) -> S:
    """Return what an entry said, in its kind's own values. Raises BadField."""
    return parse(cls, entry.data)


def masses_of(ledger_id: int, items: Iterable[str]) -> dict[str, Mass]:
    """Return the newest mass of each item that has one, by item."""
    wanted = set(items)
    found: dict[str, Mass] = {}
    for each in rows.every(ledger_id, Mass):
        if each.item in wanted:
            before = found.get(each.item)
            if before is None or each.version > before.version:
                found[each.item] = each
    return found


def of_kind(entries: Sequence[EntryTold], *kinds: str) -> list[EntryTold]:
    """Return those of the entries that are of these kinds, in their order."""
    return [each for each in entries if each.kind in kinds]


@dataclass(frozen=True, kw_only=True)
class Permille:
    """A fineness in parts per thousand with its standard uncertainty, as shown."""

    permille: str
    u_permille: str

    def __str__(self) -> str:
        """Return the fineness as shown: "812.4 ± 1.1 ‰"."""
        return f"{self.permille} ± {self.u_permille} ‰"


def permille(value: float, u: float) -> Permille:
    """Return a fineness to the digits that its uncertainty justifies."""
    return Permille(
        permille=shown_value(Decimal(decimal_text(value)), u),
        u_permille=shown_u(u),
    )
