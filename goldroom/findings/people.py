"""Findings about people: who is corrected often, who counts what they operate.

They say where to look first, never that somebody did wrong: whoever does most of the
work is corrected most often.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from decimal import Decimal

from goldroom.findings.found import NOTICE, Found, Threshold

CORRECTED_SHARE = "corrections_percent"
FEWEST_ACTS = 20
FEWEST_CORRECTIONS = 3
"""With fewer statements or corrections than these a share says nothing.

Common practice, no published source.
"""

OPERATORS = frozenset({"officer"})
"""Roles of those who do the work at the bench, and so do not count it."""


@dataclass(frozen=True, kw_only=True)
class Signing:
    """One statement that somebody signed, and whether it was corrected or taken back.

    `corrected_at` is when that was said, as UTC text ("" if it never was).
    """

    person: str
    at: str
    corrected_at: str


def corrected_often(signings: Iterable[Signing], *, at_most: Threshold) -> list[Found]:
    """Return the persons of whose statements too large a share was put right.

    The statements given are those looked at, a month's. Below `FEWEST_ACTS` of them,
    or `FEWEST_CORRECTIONS`, nothing is said. `at_most` is the limit
    `corrections_percent`.
    """
    by_person: dict[str, list[Signing]] = {}
    for each in signings:
        by_person.setdefault(each.person, []).append(each)
    found = []
    for person, theirs in sorted(by_person.items()):
        put_right = [each.corrected_at for each in theirs if each.corrected_at]
        percent = Decimal(100 * len(put_right)) / len(theirs)
        is_few = len(theirs) < FEWEST_ACTS or len(put_right) < FEWEST_CORRECTIONS
        if not is_few and percent > at_most.value:
            found.append(
                Found(
                    code="corrected_often",
                    level=NOTICE,
                    item=person,
                    found=f"{len(put_right)} of {len(theirs)} statements signed by"
                    f" {person} were corrected or taken back ({percent:.0f} %)",
                    expected=f"at most {at_most}",
                    message="one person's statements are put right again and again:"
                    " read what was wrong each time, and help them at the bench",
                    at=max(put_right),
                )
            )
    return found


@dataclass(frozen=True, kw_only=True)
class CountSigned:
    """A count of a vault or of stock: the entry, when, and the roles that signed it."""

    entry: str
    at: str
    roles_of: dict[str, tuple[str, ...]]


def counted_by_operators(counts: Iterable[CountSigned], *, since: str) -> list[Found]:
    """Return the counts signed by somebody who works at the bench.

    The threshold is none: one name is enough. What is older than `since` (UTC text)
    is not found again.
    """
    found = []
    for each in counts:
        names = sorted(
            name for name, roles in each.roles_of.items() if OPERATORS & set(roles)
        )
        if names and each.at >= since:
            found.append(
                Found(
                    code="counted_by_operator",
                    level=NOTICE,
                    item=each.entry,
                    found=f"counted by {', '.join(names)}, who works at the bench",
                    expected="counted by people who do not operate the room",
                    message="whoever works with the metal counted it: have it counted"
                    " again, unannounced, by others",
                    at=each.at,
                )
            )
    return found
