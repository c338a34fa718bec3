"""Numbers printed beforehand, handed out as a range: seals, paper forms.

A number is its series and a counter of fixed width (`S-0041`), and a check character
where the series has one.
"""

from goldroom.custody.number_series import Series
from goldroom.custody.numbers import numbered
from goldroom.statements.fields import BadField

MOST_AT_ONCE = 1000
USUAL_DIGITS = 4


def check_range(first: int, last: int, things: str) -> None:
    """Refuse a range that is upside down or too long. Raises BadField."""
    if not first <= last < first + MOST_AT_ONCE:
        raise BadField(
            f"last: found {first} to {last}, expected a range upwards of at most"
            f" {MOST_AT_ONCE} {things}. Read it again, or write it in parts.",
            field="last",
        )


def numbers_of(
    series: str, first: int, last: int, digits: int | None, *, with_check: bool = False
) -> list[str]:
    """Return every number of the range, as printed; four digits if not said."""
    printed = Series(
        prefix=f"{series}-",
        digits=digits or USUAL_DIGITS,
        with_check=with_check,
        from_at="",
    )
    return [numbered(printed, n) for n in range(first, last + 1)]
