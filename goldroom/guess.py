"""Guessing the word that somebody meant, for refusals of a word not known."""

from collections.abc import Iterable
from difflib import get_close_matches

ALIKE = 0.75
"""How alike two words must be, from 0 to 1, before one is offered for the other."""


def meant(found: str, known: Iterable[str]) -> str:
    """Return "Did you mean ...? " with the nearest known word; "" if none is near."""
    near = get_close_matches(found, list(known), n=1, cutoff=ALIKE)
    return f"Did you mean {near[0]}? " if near else ""
