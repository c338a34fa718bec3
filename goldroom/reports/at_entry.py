"""What was held when an entry was taken down: the fold of all entries up to it.

A read table tells how things stand now, and what was taken back since has left no
row. So the entries are folded again, in memory, by the same fold that writes the
tables. What an earlier question came to is kept, by the leaf hash of the entry up to
which it was folded: that hash stands for all entries before it, so what is kept can
never be of another past.
"""

import threading
from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime
from typing import Any

from django.db import connection

from goldroom.custody.act import act_of, utc_text
from goldroom.custody.moves import HELD
from goldroom.custody.records import Item, Record, Stay
from goldroom.custody.state import State
from goldroom.reconcile.ledger_records import LedgerRecords
from goldroom.reconcile.priors import Quantities
from goldroom.reports.holdings import Holdings, told
from goldroom.statements import fold
from ledger import read
from ledger.core.entry import Entry

FIRST_SPACING = 32
"""How many entries lie between two states kept, in a short ledger."""

KEPT_AT_MOST = 16
"""How many states are kept; when there are more, every second one is let go."""

Held = Mapping[tuple[str, str], Record]


@dataclass(frozen=True)
class _Kept:
    """All records after the entry `seq`, whose leaf hash stands for its past."""

    seq: int
    leaf_hash: bytes
    known_at: str
    held: Held


@dataclass
class _Folds:
    """States of one ledger at some of its entries, in their order.

    `recent` is the one asked for last: the next question is often near it.
    """

    spacing: int = FIRST_SPACING
    kept: list[_Kept] = field(default_factory=list)
    recent: _Kept | None = None

    def upto(self, seq: int) -> list[_Kept]:
        """Return the states at entries not after this one, the latest first."""
        known = self.kept if self.recent is None else [*self.kept, self.recent]
        found = [each for each in known if each.seq <= seq]
        return sorted(found, key=lambda each: each.seq, reverse=True)

    def keep(self, found: _Kept) -> None:
        """Keep a state that stands at the spacing; let others go if too many."""
        self.kept.append(found)
        if len(self.kept) > KEPT_AT_MOST:
            self.spacing *= 2
            self.kept = [each for each in self.kept if not each.seq % self.spacing]


_FOLDS: dict[tuple[Any, ...], _Folds] = {}
_FOLDING = threading.Lock()


def holdings_at(ledger_id: int, seq: int) -> Holdings:
    """Return what was held after the entry of this number. Raises NoSuchEntry."""
    found = _folded(ledger_id, read.entry(ledger_id, seq))
    items = [each for each in found.held.values() if isinstance(each, Item)]
    held = sorted(
        (each for each in items if each.status in HELD), key=lambda each: each.item
    )
    stays = [found.held.get((Stay.table, _last_stay(each))) for each in held]
    return told(
        held,
        Quantities(LedgerRecords.from_held(found.held)),
        {each.item: each for each in stays if isinstance(each, Stay)},
        known_at=found.known_at,
    )


def _last_stay(item: Item) -> str:
    return f"{item.item}/{item.stays:04d}"


def _folded(ledger_id: int, last: Entry) -> _Kept:
    """Return all records after an entry, folded on from the nearest state kept."""
    with _FOLDING:
        folds = _FOLDS.setdefault(_key(ledger_id), _Folds())
        start = _nearest(ledger_id, folds, last)
        if start is not None and start.seq == last.seq:
            return start
        state = State()
        for record in () if start is None else start.held.values():
            state.put(record)
        state.settle()
        first = 0 if start is None else start.seq + 1
        for entry in read.entries(ledger_id, first, last.seq + 1):
            _fold_in(state, entry)
            is_new = not folds.kept or folds.kept[-1].seq < entry.seq
            if is_new and not entry.seq % folds.spacing:
                folds.keep(_kept(state, entry))
        folds.recent = _kept(state, last)
        return folds.recent


def _nearest(ledger_id: int, folds: _Folds, last: Entry) -> _Kept | None:
    """Return the latest state kept, not after the entry, that is of this past."""
    for each in folds.upto(last.seq):
        if read.entry(ledger_id, each.seq).leaf_hash == each.leaf_hash:
            return each
        # another ledger took the place of the one folded
        folds.kept, folds.recent = [], None
        break
    return None


def _fold_in(state: State, entry: Entry) -> None:
    act = act_of(entry.statement, datetime.fromisoformat(entry.at))
    fold.fold_entry(entry.kind, entry.statement["v"], entry.data, act, state)
    state.settle()


def _kept(state: State, entry: Entry) -> _Kept:
    return _Kept(
        seq=entry.seq,
        leaf_hash=entry.leaf_hash,
        known_at=utc_text(datetime.fromisoformat(entry.at)),
        held=state.all_held(),
    )


def _key(ledger_id: int) -> tuple[Any, ...]:
    """Name a ledger within this process: another database is another ledger."""
    settings = connection.settings_dict
    names = (settings[name] for name in ("HOST", "PORT", "NAME"))
    return (connection.vendor, *map(str, names), ledger_id)
