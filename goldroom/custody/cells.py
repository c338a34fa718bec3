"""Records of electrowinning: a cell's load between two cleanups, and its runs.

The load as metal is an item of sort `cell_load`: all that was put in, less the barren
drawn off. These records stand beside it and say what current passed, so that what was
plated can be held against what the current could plate at most.
"""

from dataclasses import dataclass
from decimal import Decimal

from goldroom.custody.record import Record


@dataclass(frozen=True, kw_only=True)
class CellLoad(Record):
    """A cell's load: the entries of its runs in order, and its cleanup ("" before).

    `sludges` are the items that the cleanup made, `heel` what it left on the cathodes
    ("" if nothing).
    """

    table = "cell_load"
    key_of = "{load}"
    load: str
    cell: str
    runs: tuple[str, ...]
    started_at: str
    cleaned_at: str = ""
    cleaned_in: str = ""
    cathodes: int = 0
    sludges: tuple[str, ...] = ()
    heel: str = ""

    @property
    def status(self) -> str:
        """Return cleaned, or open while the load is still in its cell."""
        return "cleaned" if self.cleaned_in else "open"


@dataclass(frozen=True, kw_only=True)
class CellRun(Record):
    """A version of what one run's current came to; `run` is the entry that said it.

    `charge_ah` is None where nobody read amperes or a meter; `charge_by` is meter or
    amperes. Litres are those put in and drawn off.
    """

    table = "cell_run"
    key_of = "{run}/{version:03d}"
    run: str
    version: int
    load: str
    cell: str
    from_at: str
    until_at: str
    charge_ah: Decimal | None
    charge_by: str
    litres_in: Decimal
    litres_out: Decimal
    at: str
    entry: str
    known_at: str
