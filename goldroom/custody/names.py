"""Names as people write them, and sorts of things as people say them."""

from collections.abc import Sequence

SORT_WORDS = {"other": "other metal"}
UNCOUNTED = (
    "concentrate", "magnetics", "middlings", "other", "residue", "slag", "sludge",
    "sweepings", "tails", "hopper_cells",
)  # fmt: skip
"""Sorts that are said without an article: "TAI-1 is tails"."""


def plain_name(name: str) -> str:
    """Return a name for comparing: case and spacing do not make another person."""
    return " ".join(name.split()).casefold()


def a_sort(sort: str) -> str:
    """Return a sort with its article: "a leach batch", "an oven", "tails"."""
    words = sort_words(sort)
    if sort in UNCOUNTED:
        return words
    return f"an {words}" if words[0] in "aeiou" else f"a {words}"


def any_of(sorts: Sequence[str]) -> str:
    """Return sorts as a choice read aloud: "a bar", "lot, tails or other metal"."""
    if len(sorts) == 1:
        return a_sort(sorts[0])
    words = [sort_words(each) for each in sorts]
    return f"{', '.join(words[:-1])} or {words[-1]}"


def sort_words(sort: str) -> str:
    """Return a sort as it is said, without an article."""
    return SORT_WORDS.get(sort, sort.replace("_", " "))
