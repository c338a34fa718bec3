"""Every limit as people read it: its value, the default, and the entry that set it."""

from dataclasses import dataclass
from decimal import Decimal

from goldroom.custody.records import Limit
from goldroom.reports import rows
from goldroom.reports.journal import lines_of
from goldroom.statements.limits import LIMITS


@dataclass(frozen=True, kw_only=True)
class LimitNow:
    """A limit in force; `set_seq` and `reason` are of the entry that set it.

    `set_seq` is None while the value is the default.
    """

    name: str
    meaning: str
    unit: str
    value: Decimal
    default: Decimal
    set_seq: int | None
    reason: str
    earlier: int

    @property
    def is_default(self) -> bool:
        """Tell whether nobody has set the limit."""
        return self.set_seq is None


def limits_told(ledger_id: int) -> dict[str, LimitNow]:
    """Return every limit, by name, in the order in which they are listed."""
    here = {each.name: each for each in rows.every(ledger_id, Limit)}
    lines = lines_of(ledger_id, (each.set_by for each in here.values()))
    found = {}
    for name, meaning in LIMITS.items():
        limit = here.get(name)
        line = None if limit is None else lines.get(limit.set_by)
        found[name] = LimitNow(
            name=name,
            meaning=meaning.meaning,
            unit=meaning.unit,
            value=meaning.default if limit is None else limit.value,
            default=meaning.default,
            set_seq=None if line is None else line.seq,
            reason="" if limit is None else limit.reason,
            earlier=0 if limit is None else len(limit.earlier),
        )
    return found
