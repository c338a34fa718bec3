"""Estimates of metal in a statement: grams, by how much they may be out, and how."""

from decimal import Decimal
from typing import Protocol

from goldroom.custody.figures import Metal
from goldroom.errors import OutOfRange


class Estimated(Protocol):
    """Fields of an estimate: grams of gold and silver with their uncertainties."""

    @property
    def gold_g(self) -> Decimal:
        """Return the gold in grams."""

    @property
    def gold_u_g(self) -> Decimal:
        """Return the gold's standard uncertainty in grams."""

    @property
    def silver_g(self) -> Decimal:
        """Return the silver in grams."""

    @property
    def silver_u_g(self) -> Decimal:
        """Return the silver's standard uncertainty in grams."""


def metal_of(said: Estimated) -> Metal:
    """Return the metal that an estimate tells of."""
    return Metal(
        gold_g=said.gold_g,
        gold_u_g=said.gold_u_g,
        silver_g=said.silver_g,
        silver_u_g=said.silver_u_g,
    )


def check_never_exact(said: Estimated, field: str = "") -> None:
    """Refuse an estimate without uncertainty; `field` comes before `gold_u_g`."""
    for name, value_g, u_g in (
        ("gold", said.gold_g, said.gold_u_g),
        ("silver", said.silver_g, said.silver_u_g),
    ):
        if value_g > 0 and u_g == 0:
            raise OutOfRange(
                f"{field}{name}_u_g: the estimate is {value_g} g with no uncertainty,"
                " but an estimate is never exact. Write by how much it may be out"
                " (one standard uncertainty).",
                field=f"{field}{name}_u_g",
            )
