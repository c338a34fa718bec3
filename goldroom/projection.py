"""Entries to read tables: live under the append lock, or all over again.

Both ways go through the same fold. Live, a `Folding` reads the few rows an act
touches and writes back what changed, in the append's own transaction; a rebuild
folds from the first entry over nothing. `compare` does the latter and reports
every row that is not what the entries come to.
"""

from collections.abc import Iterable, Iterator
from datetime import datetime
from functools import partial
from itertools import takewhile
from typing import Any, NamedTuple

from django.db import DatabaseError, transaction

from goldroom import tables
from goldroom.custody.act import Act, act_of
from goldroom.custody.records import Record
from goldroom.custody.state import State
from goldroom.statements import fold
from goldroom.statements.fields import named_in
from goldroom.statements.kind import Statement
from goldroom.tables import LineOf, MentionOf
from ledger import read
from ledger.core.entry import Entry
from ledger.core.verify import Finding
from ledger.models import Head
from ledger.moment import one_moment

MENTIONED = (
    "item", "vessel", "seal", "instrument", "concentrator", "place", "person",
)  # fmt: skip
"""What the journal can be asked for: an entry that changes or names one mentions it."""


class Derived(NamedTuple):
    """What one entry puts into the read tables."""

    changed: dict[tuple[str, str], Record | None]
    line: LineOf
    mentions: list[MentionOf]


def derive(state: State, entry: Entry) -> Derived:
    """Fold an entry into the state; return what it puts into the read tables."""
    statement = entry.statement
    received_at = datetime.fromisoformat(entry.at)
    act = act_of(statement, received_at)
    said = fold.fold_entry(entry.kind, statement["v"], entry.data, act, state)
    changed = state.changed()
    state.settle()
    line = _line(entry, act, said)
    touched = {at for at in (*changed, *named_in(said)) if at[0] in MENTIONED}
    touched |= {("person", person) for person in act.people}
    mentions = [MentionOf(*at, entry.seq) for at in sorted(touched)]
    return Derived(changed=changed, line=line, mentions=mentions)


def _line(entry: Entry, act: Act, said: Statement) -> LineOf:
    return LineOf(
        seq=entry.seq,
        entry_id=entry.entry_id,
        kind=entry.kind,
        signing_class=act.klass,
        occurred_at=act.at,
        received_at=entry.at,
        people=" ".join(act.people),
        sentence=said.sentence(),
    )


class Folding:
    """A state over the read tables of one ledger, kept for one transaction."""

    def __init__(self, ledger_id: int) -> None:
        """Start over what the tables hold now."""
        self.ledger_id = ledger_id
        self.state = State(partial(tables.read_value, ledger_id))

    def check(self, statement: dict[str, Any], received_at: datetime) -> None:
        """Raise a refusal if the statement cannot be accepted now."""
        said = fold.read_values(statement["kind"], statement["data"], v=statement["v"])
        fold.check(said, act_of(statement, received_at), self.state)

    def project(self, entry: Entry) -> None:
        """Fold the entry and write what it changes."""
        _write(self.ledger_id, [derive(self.state, entry)])


def _write(ledger_id: int, folded: Iterable[Derived]) -> None:
    for derived in folded:
        seq = derived.line.seq
        kept = [
            tables.row_of(record, seq)
            for record in derived.changed.values()
            if record is not None
        ]
        tables.write(ledger_id, "goldroom_row", kept)
        for (record, key), value in derived.changed.items():
            if value is None:
                tables.delete_record(ledger_id, record, key)
        tables.write(ledger_id, "goldroom_journal", [derived.line])
        tables.write(ledger_id, "goldroom_mention", derived.mentions)


def folded_entries(ledger_id: int) -> Iterator[Derived]:
    """Yield what each entry of a ledger comes to, from the first on."""
    state = State()
    for entry in read.entries(ledger_id):
        yield derive(state, entry)


def rebuild(ledger_id: int) -> int:
    """Throw the read tables of a ledger away and fold them again; return entries.

    The ledger's head stays locked meanwhile: nothing is appended beside it.
    """
    folded = 0
    with transaction.atomic():
        Head.objects.select_for_update().get(ledger_id=ledger_id)
        tables.clear(ledger_id)
        for derived in folded_entries(ledger_id):
            _write(ledger_id, [derived])
            folded += 1
    return folded


def expected_tables(ledger_id: int) -> dict[str, dict[tuple[Any, ...], NamedTuple]]:
    """Return the rows that the entries come to, by table and key."""
    kept: dict[tuple[Any, ...], tuple[Record, int]] = {}
    lines: dict[tuple[Any, ...], NamedTuple] = {}
    mentions: dict[tuple[Any, ...], NamedTuple] = {}
    for derived in folded_entries(ledger_id):
        seq = derived.line.seq
        for at, record in derived.changed.items():
            if record is None:
                kept.pop(at, None)
            else:
                kept[at] = (record, seq)
        lines[(seq,)] = derived.line
        mentions.update({tuple(each): each for each in derived.mentions})
    return {
        "goldroom_row": {at: tables.row_of(*last) for at, last in kept.items()},
        "goldroom_journal": lines,
        "goldroom_mention": mentions,
    }


def compare(ledger_id: int) -> list[Finding]:
    """Return every difference between the read tables and a fresh fold.

    Entries and tables are read as they were at one moment, so acts taken down
    meanwhile are no difference. Nothing that stands in the tables or entries stops
    the comparison: what cannot be read is a finding.
    """
    with one_moment():
        try:
            expected = expected_tables(ledger_id)
        except Exception as broken:  # whatever a spoiled entry makes the fold raise
            return [
                _finding(
                    "entries_not_foldable",
                    "goldroom_row",
                    "all",
                    expected="entries that fold",
                    found=f"{type(broken).__name__}: {broken}",
                )
            ]
        found: list[Finding] = []
        for table, rows in expected.items():
            try:
                found += _compare_table(ledger_id, table, rows)
            except DatabaseError as broken:
                found.append(_unreadable(table, broken))
                break  # a failed statement ends the transaction on PostgreSQL
        return found


def _compare_table(
    ledger_id: int, table: str, expected: dict[tuple[Any, ...], NamedTuple]
) -> list[Finding]:
    found: list[Finding] = []
    keys = _key_places(table)
    left = dict(expected)
    for row in tables.read_all(ledger_id, table):
        wanted = left.pop(tuple(row[n] for n in keys), None)
        if wanted is None:
            found.append(
                _finding(
                    "row_without_entry",
                    table,
                    _name(row, keys),
                    expected="no such row",
                    found=_short(tuple(row)),
                )
            )
        else:
            found += _compare_row(table, wanted, row)
    for row in left.values():
        found.append(
            _finding(
                "row_missing",
                table,
                _name(row, keys),
                expected=_short(tuple(row)),
                found="no such row",
            )
        )
    return found + _orphans(table)


def _compare_row(table: str, wanted: NamedTuple, row: NamedTuple) -> list[Finding]:
    return [
        _finding(
            "row_differs",
            table,
            f"{_name(wanted, _key_places(table))}, column {column}",
            expected=_short(want, start),
            found=_short(have, start),
        )
        for column, want, have in zip(wanted._fields, wanted, row, strict=True)
        if type(want) is not type(have) or want != have
        for start in [_first_difference(repr(want), repr(have))]
    ]


def _orphans(table: str) -> list[Finding]:
    return [
        _finding(
            "row_of_no_ledger",
            table,
            f"ledger {orphan}",
            expected="rows of known ledgers",
            found=repr(orphan),
        )
        for orphan in tables.orphan_ledgers(table)
    ]


def _unreadable(table: str, broken: DatabaseError) -> Finding:
    return _finding(
        "table_unreadable",
        table,
        "all",
        expected="a table that can be read",
        found=str(broken).strip(),
    )


def _key_places(table: str) -> list[int]:
    columns = tables.TABLES[table]._fields
    return [columns.index(name) for name in tables.KEY_COLUMNS[table]]


def _name(row: NamedTuple, keys: list[int]) -> str:
    return " ".join(str(row[n]) for n in keys)


def _short(value: Any, start: int = 0) -> str:
    """Return a value as text, cut to what stands around a place in it."""
    text = repr(value)
    first = max(0, start - 40)
    cut = text[first : first + 120]
    before = "..." if first else ""
    return f"{before}{cut}{'...' if first + 120 < len(text) else ''}"


def _first_difference(one: str, other: str) -> int:
    """Return the first place at which two texts differ."""
    same = takewhile(lambda pair: pair[0] == pair[1], zip(one, other, strict=False))
    return sum(1 for _ in same)


def _finding(
    code: str, table: str, where: str, *, expected: str, found: str
) -> Finding:
    return Finding(
        cls="projection",
        code=code,
        seq=None,
        entry_id=None,
        expected=expected,
        found=found,
        message=f"{table}: {where}: the table is not what the entries come to.",
    )
