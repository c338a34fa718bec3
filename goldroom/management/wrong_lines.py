"""The report of a file of which nothing was taken: its wrong lines, and why.

A wrong line makes the lines after it wrong that speak of what it would have made.
Those are counted, not told, so that the one thing to mend stands out.
"""

import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from goldroom.commands import Refused
from goldroom.sayings import Saying

TOLD_MOST = 50
"""Wrong lines told one by one; the rest are counted."""
LINES_NAMED_MOST = 8
"""Line numbers written out where many lines share one fault."""


@dataclass(frozen=True)
class WrongLine:
    """Why a line of a file cannot be taken."""

    line: int
    field: str
    code: str
    message: str

    def __str__(self) -> str:
        """Return the line's report: where, which field, what and why."""
        return f"line {self.line}{self.fault}"

    @property
    def fault(self) -> str:
        """Return which field is wrong and why, as it follows the line's number."""
        named = f", {self.field}" if self.field else ""
        said = self.message.removeprefix(f"{self.field}: ")
        return f"{named}: {said} [{self.code}]"


def report(
    file: Path, wrong: Sequence[WrongLine], following: Sequence[int] = ()
) -> str:
    """Return the report of a file of which nothing was taken.

    `following` are the numbers of lines that may be wrong only because others are.
    """
    faults: dict[str, list[int]] = {}
    for each in wrong:
        faults.setdefault(each.fault, []).append(each.line)
    told = [f"{lines_named(lines)}{fault}" for fault, lines in faults.items()]
    shown = "\n".join(f"  {each}" for each in told[:TOLD_MOST])
    if len(told) > TOLD_MOST:
        shown += f"\n  and {len(told) - TOLD_MOST} more"
    count = "1 thing is" if len(told) == 1 else f"{len(told)} things are"
    after = f"\n{_not_judged(following)}" if following else ""
    return (
        f"{file}: {count} wrong, and nothing of the file was taken:\n{shown}{after}\n"
        "Mend the file and give it again."
    )


def lines_named(lines: Sequence[int]) -> str:
    """Return the lines' numbers in words, "line 3" or "lines 3, 5, 9"."""
    numbers = sorted(set(lines))
    if len(numbers) == 1:
        return f"line {numbers[0]}"
    named = ", ".join(str(each) for each in numbers[:LINES_NAMED_MOST])
    rest = len(numbers) - LINES_NAMED_MOST
    return f"lines {named}" + (f" and {rest} more" if rest > 0 else "")


def told_apart(
    refused: Sequence[Refused], sayings: Sequence[Saying]
) -> tuple[list[Refused], list[Refused]]:
    """Return the refusals to tell, and those that may follow from one before them."""
    first: list[Refused] = []
    following: list[Refused] = []
    named: set[str] = set()
    for each in refused:
        data = sayings[each.n].data
        is_late = bool(first) and _may_follow(each, data, named)
        (following if is_late else first).append(each)
        named.update(_texts(data))
    return first, following


def _may_follow(refused: Refused, data: Mapping[str, Any], named: set[str]) -> bool:
    """Tell whether a refusal speaks of what a refused statement would have made."""
    if refused.code == "not_opened":
        return True
    about_a_thing = refused.code.startswith("unknown_")
    if not about_a_thing and refused.code != "not_in_this_state":
        return False
    return _value_at(data, refused.field) in named


def _value_at(data: Mapping[str, Any], path: str) -> Any:
    """Return the text at a field's path, such as results[0].items[1]; else None."""
    found: Any = data
    for part in re.findall(r"[^.\[\]]+", path):
        if isinstance(found, Mapping):
            found = found.get(part)
        elif isinstance(found, list) and part.isdigit() and int(part) < len(found):
            found = found[int(part)]
        else:
            return None
    return found if isinstance(found, str) else None


def _texts(value: Any) -> Iterator[str]:
    """Yield every text in a statement's values."""
    if isinstance(value, str):
        yield value
    elif isinstance(value, Mapping):
        for each in value.values():
            yield from _texts(each)
    elif isinstance(value, list):
        for each in value:
            yield from _texts(each)


def _not_judged(lines: Sequence[int]) -> str:
    what = "It speaks" if len(lines) == 1 else "They speak"
    named = lines_named(lines)
    return (
        f"  {named}: not judged yet. {what} of what the lines above would have made;"
        " mend those first."
    )
