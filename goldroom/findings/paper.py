"""Findings about paper forms: a number passed over while later ones were used."""

from collections.abc import Iterable
from datetime import datetime

from goldroom.custody.paper import PaperForm
from goldroom.findings.found import EXCEPTION, Found, Threshold, due_text, is_overdue
from goldroom.findings.runs import counted

PASSED_OVER_FOR = "paper_form_gap_d"


def forms_left_out(
    forms: Iterable[PaperForm], *, within: Threshold, now: datetime
) -> list[Found]:
    """Return the forms neither written up nor void although a later one was used.

    One finding for each handing-out. What a later form tells of must lie longer back
    than `within`, the limit `paper_form_gap_d`: forms are not always written up in
    the order of their numbers.
    """
    ranges: dict[tuple[str, str], list[PaperForm]] = {}
    for form in forms:
        ranges.setdefault((form.series, form.issued_entry), []).append(form)
    found = []
    for (series, _), issued in sorted(ranges.items()):
        left_out = {
            form: passed_at
            for form, passed_at in _passed_over(issued).items()
            if is_overdue(passed_at, within, now)
        }
        if left_out:
            holder = issued[0].issued_to
            found.append(
                Found(
                    code="form_left_out",
                    level=EXCEPTION,
                    item=min(left_out),
                    found=f"{counted(left_out, 'form')} issued to {holder}, neither"
                    " written up nor void",
                    expected=f"every number before a used one within {within}",
                    message=f"paper forms of series {series} are missing between those"
                    " that were used; ask what was written on them",
                    at=due_text(min(left_out.values()), within),
                )
            )
    return found


def _passed_over(issued: Iterable[PaperForm]) -> dict[str, str]:
    """Return the unused forms of a range before a used one, with when that was."""
    found: dict[str, str] = {}
    first_used_at = ""
    for form in sorted(issued, key=lambda each: each.number, reverse=True):
        if form.status == "used":
            first_used_at = min(form.ended_at, first_used_at or form.ended_at)
        elif form.status == "issued" and first_used_at:
            found[form.form] = first_used_at
    return found
