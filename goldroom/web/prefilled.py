"""Forms that begin with what the record already asks for.

A cleanup sheet begins with the flushes that the plant has counted since the last
one, each exception as a row that waits for its answer. Statements whose values are
drawn up whole by a report (a period's figures) are not typed at all.
"""

from collections.abc import Callable, Mapping

from goldroom.reports.expected import expected_flushes

WHOLE = frozenset({"period.closed", "period.restated", "policy.set", "period.trued_up"})
"""Kinds whose values a report draws up as a whole; people read and sign them."""
WHOLE_BOX = "@whole"


def values(ledger_id: int, kind: str) -> Mapping[str, str]:
    """Return the boxes that a new form of this kind begins with."""
    fill = _FILLED.get(kind)
    return {} if fill is None else fill(ledger_id)


def _cleanup(ledger_id: int) -> dict[str, str]:
    filled: dict[str, str] = {}
    row = 0
    for n, unit in enumerate(expected_flushes(ledger_id)):
        filled |= {
            f"flushes[{n}].unit": unit.unit,
            f"flushes[{n}].counter_epoch": str(unit.counter_epoch),
            f"flushes[{n}].first": str(unit.first),
            f"flushes[{n}].last": str(unit.last),
        }
        if unit.hopper:
            filled["hopper"] = unit.hopper
        for odd in unit.odd:
            filled |= {
                f"exceptions[{row}].unit": unit.unit,
                f"exceptions[{row}].flush": str(odd.number),
                f"exceptions[{row}].what": odd.what,
            }
            row += 1
    return filled


_FILLED: Mapping[str, Callable[[int], dict[str, str]]] = {"cleanup.recorded": _cleanup}
