"""What a new form may take over from the last act of its kind, and what never.

Units, vessels, places and instruments are carried over; so is who signed. A mass, a
seal's number or a stamped number never is: those are read afresh. A new id is
proposed by counting on from the last one.
"""

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from goldroom.models import JournalLine
from goldroom.reports.rows import readable
from goldroom.statements.fields import Spec, specs
from goldroom.statements.kind import Statement
from goldroom.statements.registry import kind_named
from ledger import read

CARRIED_TABLES = frozenset({"vessel", "instrument", "place", "concentrator"})
READ_OFF = frozenset({"stamped", "seal", "form"})
"""Fields that hold a number read off a thing: never proposed."""
LAST_NUMBER = re.compile(r"^(.*?)(\d+)(\D*)$")


@dataclass(frozen=True, kw_only=True)
class Carried:
    """Values by path, as typed in a form, and the signers of the act before."""

    values: Mapping[str, str]
    signers: tuple[tuple[str, str], ...]


NOTHING = Carried(values={}, signers=())


def carried(ledger_id: int, kind: str, person: str) -> Carried:
    """Return what a new form of this kind takes over; of the person's own last act.

    Where they have none of the kind, of anybody's.
    """
    cls = kind_named(kind)
    with readable():
        lines = JournalLine.objects.filter(ledger_id=ledger_id, kind=kind)
        found = list(lines.order_by("-seq").values_list("seq", "people")[:20])
    if not found:
        return NOTHING
    own = next((seq for seq, people in found if person in people.split()), None)
    newest = read.entry(ledger_id, found[0][0])
    last = newest if own is None else read.entry(ledger_id, own)
    values = dict(_taken_over(cls, last.data))
    values |= dict(_next_ids(cls, newest.data))
    signers = tuple(
        (each["person"], each["role"]) for each in last.statement["signers"]
    )
    return Carried(values=values, signers=signers)


def _taken_over(
    cls: type[Statement], data: Mapping[str, Any]
) -> Iterator[tuple[str, str]]:
    for name, spec in specs(cls).items():
        value = data.get(name)
        if spec.sort == "code" and spec.table in CARRIED_TABLES and value:
            yield name, value
        elif spec.sort == "reading" and isinstance(value, Mapping):
            yield f"{name}.instrument", value["instrument"]


def _next_ids(
    cls: type[Statement], data: Mapping[str, Any]
) -> Iterator[tuple[str, str]]:
    for name, spec in specs(cls).items():
        if _is_new_id(name, spec) and isinstance(data.get(name), str):
            following = next_id(data[name])
            if following:
                yield name, following


def _is_new_id(name: str, spec: Spec) -> bool:
    return (
        spec.sort == "code"
        and not spec.table
        and not spec.optional
        and name not in READ_OFF
        and "new id" in spec.help.lower()
    )


def next_id(last: str) -> str:
    """Return the id that follows: "LD-1031-2" after "LD-1031-1"; "" if none does."""
    found = LAST_NUMBER.match(last)
    if found is None or found[3]:
        return ""
    width = len(found[2])
    return f"{found[1]}{int(found[2]) + 1:0{width}d}"
