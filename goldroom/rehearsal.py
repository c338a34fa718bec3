"""A rehearsal: sayings checked and folded in memory, nothing signed or written."""

from dataclasses import dataclass, replace
from datetime import UTC, datetime
from functools import partial
from typing import Any

from goldroom import tables
from goldroom.custody.act import act_of
from goldroom.custody.state import State
from goldroom.errors import Refusal
from goldroom.keys import Keys
from goldroom.sayings import Saying
from goldroom.statements import fold
from goldroom.writing import (
    already_said,
    check_simulated,
    moment_of,
    standpoint,
    statement_of,
    unlocked,
)
from ledger.core.changes import step
from ledger.core.errors import LedgerRefusal
from ledger.errors import EntryIdUsed


@dataclass(frozen=True)
class Wrong:
    """Why a saying cannot be accepted, whichever package refused it."""

    code: str
    field: str
    message: str


class Rehearsal:
    """What a ledger would come to if the sayings so far were entries."""

    def __init__(self, ledger_id: int | None, keys: Keys) -> None:
        """Start from the ledger as it is, or from nothing."""
        self._ledger_id = ledger_id
        self._keys = keys
        self._ids: set[str] = set()
        self._here = standpoint(ledger_id)
        self._size = self._here.ring.size
        self._state = State()
        if ledger_id is not None:
            self._state = State(partial(tables.read_value, ledger_id))

    def refusal_of(self, saying: Saying) -> Wrong | None:
        """Return why the saying would be refused; fold it if it would not be."""
        try:
            self._take(saying)
        except (Refusal, LedgerRefusal) as refusal:
            return Wrong(
                code=refusal.code, field=refusal.field, message=refusal.message
            )
        return None

    def _take(self, saying: Saying) -> None:
        if self._ledger_id is not None and already_said(self._ledger_id, saying):
            return
        if saying.entry_id in self._ids:
            raise EntryIdUsed(
                f"entry_id: {saying.entry_id} stands twice in this file. Give each"
                " statement its own id.",
                field="entry_id",
            )
        statement = statement_of(self._here, saying, self._keys)
        for each in saying.signers:
            unlocked(self._keys, each.person)
        if saying.received_at:
            check_simulated(self._is_demo(statement))
        said = fold.read_values(saying.kind, statement["data"])
        act = act_of(statement, _received_at(saying))
        fold.check(said, act, self._state)
        ring = self._here.ring
        if not saying.withdrawn:
            ring = step(ring, statement, self._size)
            fold.fold(said, act, self._state)
            self._state.settle()
        self._size += 1
        self._here = replace(
            self._here, ring=ring, leaf_hash_of=self._leaf_hash_or_placeholder
        )
        if saying.entry_id:
            self._ids.add(saying.entry_id)

    def _is_demo(self, statement: dict[str, Any]) -> bool:
        """Tell whether this is a demo ledger, or will be one."""
        opening = self._here.ring.opening
        return opening.demo if opening else statement["data"]["demo"] is True

    def _leaf_hash_or_placeholder(self, entry_id: str) -> bytes | None:
        """Return a leaf hash; one of zeros for an entry still to come from the file."""
        if entry_id in self._ids:
            return bytes(32)
        return standpoint(self._ledger_id).leaf_hash_of(entry_id)


def _received_at(saying: Saying) -> datetime:
    if saying.received_at:
        return moment_of(saying.received_at, "received_at")
    return datetime.now(UTC)
