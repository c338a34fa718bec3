"""What a leach recovered: calculated head, recovery, accountability.

    calculated head   metal that came out: in solution and in the residue
    recovery          share of the calculated head that went into solution
    accountability    calculated head against the head assayed before

The first leans on what was measured coming out alone; the last shows whether it
agrees with what was measured going in. Common practice.
"""

from __future__ import annotations

from collections.abc import Sequence

from goldroom.errors import OutOfRange
from goldroom.metal.uncertainty import Measured


def calculated_head(*, solution: Measured, residue: Measured) -> Measured:
    """Return the metal that came out of a leach, in the unit given."""
    return solution + residue


def recovery_percent(*, solution: Measured, residue: Measured) -> Measured:
    """Return the share of what came out that is in solution, per cent.

    Raises OutOfRange when nothing came out.
    """
    head = calculated_head(solution=solution, residue=residue)
    if head.value <= 0:
        raise OutOfRange(f"The calculated head is {head.value}; it must be above zero.")
    return 100 * (solution / head)


def accountability_percent(*, calculated: Measured, assayed: Measured) -> Measured:
    """Return the calculated head as a share of the assayed one, per cent.

    Raises OutOfRange when the assayed head is not above zero.
    """
    if assayed.value <= 0:
        raise OutOfRange(f"The assayed head is {assayed.value}; it must be above zero.")
    return 100 * (calculated / assayed)


def staged_recovery_percent(stages_percent: Sequence[float]) -> float:
    """Return the recovery of stages in a row, each of what the one before left.

    Raises OutOfRange for a stage outside 0 to 100 per cent.
    """
    left = 1.0
    for each in stages_percent:
        if not 0 <= each <= 100:
            raise OutOfRange(f"A stage recovers {each} %; expected between 0 and 100.")
        left *= 1 - each / 100
    return 100 * (1 - left)
