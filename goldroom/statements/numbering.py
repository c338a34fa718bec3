"""Numbers printed beforehand, handed out as a range: seals, paper forms.

A number is its series and a counter of fixed width (`S-0041`).
"""

from goldroom.statements.fields import BadField

MOST_AT_ONCE = 1000
USUAL_DIGITS = 4


def check_range(first: int, last: int, things: str) -> None:
    """Refuse a range that is upside down or too long. Raises BadField."""
    if not first <= last < first + MOST_AT_ONCE:
        raise BadField(
            f"last: found {first} to {last}, expected a range upwards of at most"
            f" {MOST_AT_ONCE} {things}.",
            field="last",
        )


def numbers_of(series: str, first: int, last: int, digits: int | None) -> list[str]:
    """Return every number of the range, as printed; four digits if not said."""
    width = digits or USUAL_DIGITS
    return [f"{series}-{n:0{width}d}" for n in range(first, last + 1)]
