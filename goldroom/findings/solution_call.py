"""Findings about cell cleanups: sludge that is not what the solution call said.

One call may be out by its own errors; several running that err the same way tell of
something lasting: a meter, a sampler, a dilution, or a hand.
"""

from collections.abc import Iterable, Sequence

from goldroom.findings.found import EXCEPTION, NOTICE, Found, Threshold
from goldroom.metal.rounding import to_milligram
from goldroom.reconcile.solution_call import SolutionCall

CALL_WITHIN = "solution_call_percent"
RUNNING = 4
"""Cleanups of one cell in a row that err the same way before it is noticed."""


def calls_apart(calls: Iterable[SolutionCall], *, within: Threshold) -> list[Found]:
    """Return the cleanups whose gold differs from the call by more than the limit.

    `within` is the limit `solution_call_percent`.
    """
    found = []
    for call in calls:
        missing, percent = call.missing("gold"), call.percent("gold")
        if missing is None or percent is None or abs(percent) <= float(within.value):
            continue
        side = "less" if percent > 0 else "more"
        found.append(
            Found(
                code="solution_call_differs",
                level=EXCEPTION,
                item=call.load.load,
                found=f"{to_milligram(abs(missing.posted_g))} g of gold {side} than"
                f" called ({abs(percent):.1f} %)",
                expected=f"sludge and heel within {within} of the call",
                message=f"the cleanup of {call.load.cell} that ended {call.load.load}"
                f" gave {side} gold than the solution call said",
                at=call.load.cleaned_at,
            )
        )
    return found


def calls_one_way(calls: Iterable[SolutionCall]) -> list[Found]:
    """Return the cells whose last four known cleanups all erred the same way.

    The threshold is four in a row; one finding for each cell.
    """
    by_cell: dict[str, list[SolutionCall]] = {}
    for call in calls:
        if call.missing("gold") is not None:
            by_cell.setdefault(call.load.cell, []).append(call)
    found = []
    for cell, known in sorted(by_cell.items()):
        last = sorted(known, key=lambda each: each.load.cleaned_at)[-RUNNING:]
        signs = {_sign(each) for each in last}
        if len(last) == RUNNING and len(signs) == 1 and signs != {0}:
            found.append(_one_way(cell, last, side="less" if 1 in signs else "more"))
    return found


def _one_way(cell: str, last: Sequence[SolutionCall], *, side: str) -> Found:
    amounts = [each.missing("gold") for each in last]
    whole_g = sum(abs(each.posted_g) for each in amounts if each is not None)
    names = ", ".join(each.load.load for each in last)
    return Found(
        code="solution_calls_one_way",
        level=NOTICE,
        item=cell,
        found=f"{side} gold than called in each of {names}, {whole_g} g together",
        expected=f"now more, now less: not {RUNNING} the same way running",
        message=f"the solution calls of {cell} keep erring the same way",
        at=last[-1].load.cleaned_at,
    )


def _sign(call: SolutionCall) -> int:
    missing = call.missing("gold")
    assert missing is not None
    return (missing.posted_g > 0) - (missing.posted_g < 0)
