"""Words that sentences of the journal share."""

from collections.abc import Sequence
from datetime import datetime


def listed(words: Sequence[str]) -> str:
    """Return words as a list read aloud: "a, b and c"."""
    if len(words) < 2:
        return "".join(words)
    return f"{', '.join(words[:-1])} and {words[-1]}"


def wall_clock(moment: datetime) -> str:
    """Return a time as the signers wrote it, to the minute."""
    return moment.strftime("%Y-%m-%d %H:%M")
