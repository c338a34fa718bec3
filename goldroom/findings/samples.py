"""Findings about samples: metal lent to a laboratory and never heard of again."""

from collections.abc import Iterable, Mapping
from datetime import datetime

from goldroom.custody.records import Item
from goldroom.custody.sampled import Sample
from goldroom.findings.found import NOTICE, Found, Threshold, due_text, is_overdue
from goldroom.findings.runs import counted

ACCOUNTED_WITHIN = "sample_open_d"


def samples_open(
    held: Iterable[Item],
    told: Mapping[str, Sample],
    *,
    within: Threshold,
    now: datetime,
) -> list[Found]:
    """Return the samples neither used up nor back from the laboratory in time.

    An umpire's or reserve portion is kept on purpose, what a laboratory gave back
    waits for a charge: neither is meant. One finding for each day of sampling.
    `within` is the limit `sample_open_d`.
    """
    groups: dict[str, list[Item]] = {}
    for item in held:
        known = told.get(item.item)
        is_open = item.sort == "sample" and (known is None or known.status == "open")
        if is_open and is_overdue(item.held_from, within, now):
            groups.setdefault(item.held_from[:10], []).append(item)
    return [
        Found(
            code="sample_open_long",
            level=NOTICE,
            item=min(each.item for each in left),
            found=f"{counted((each.item for each in left), 'sample')} taken {day},"
            " neither used up nor back",
            expected=f"accounted for within {within}",
            message="samples are metal: ask the laboratory what became of them",
            at=due_text(min(each.held_from for each in left), within),
        )
        for day, left in sorted(groups.items())
    ]
