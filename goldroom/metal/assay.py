"""Fineness, fine metal, and the arithmetic of the assay office.

Fineness is parts of one metal per thousand parts of bar. A fineness above 1000
is refused; finenesses of one bar that *sum* above 1000 are what people saw, so
they come back as a value with the finding's code. Fine metal is exact.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal

from goldroom.errors import FinenessOver1000, OutOfRange
from goldroom.metal.rounding import EXACT, exact_arithmetic, quotient
from goldroom.metal.units import check_not_negative

THOUSAND = Decimal(1000)
FINENESS_SUM_OVER_1000 = "fineness_sum_over_1000"


def check_fineness(
    fineness_permille: Decimal, field: str = "fineness_permille"
) -> Decimal:
    """Return the fineness if it is 0 to 1000 parts per thousand.

    Raises NegativeFigure or FinenessOver1000.
    """
    check_not_negative(fineness_permille, field)
    if fineness_permille > THOUSAND:
        raise FinenessOver1000(
            f"The fineness is {fineness_permille}; parts per thousand cannot exceed "
            "1000. If it was reported in per cent, multiply by ten.",
            field=field,
        )
    return fineness_permille


@dataclass(frozen=True, slots=True)
class FinenessSum:
    """The finenesses of one bar added up, and whether they exceed the bar."""

    total_permille: Decimal

    @property
    def finding(self) -> str | None:
        """Return the finding's code when the sum exceeds 1000, else None."""
        return FINENESS_SUM_OVER_1000 if self.total_permille > THOUSAND else None


def fineness_sum(finenesses_permille: Mapping[str, Decimal]) -> FinenessSum:
    """Return the sum over one bar's metals, by name.

    Raises NegativeFigure or FinenessOver1000 for a single metal out of range.
    """
    with exact_arithmetic():
        parts = [check_fineness(f, metal) for metal, f in finenesses_permille.items()]
        return FinenessSum(sum(parts, Decimal(0)))


def fine_mass_g(*, mass_g: Decimal, fineness_permille: Decimal) -> Decimal:
    """Return the fine metal in a bar, in grams, exactly (not rounded).

    Raises NegativeFigure or FinenessOver1000.
    """
    check_not_negative(mass_g, "mass_g")
    check_fineness(fineness_permille)
    with exact_arithmetic():
        return mass_g * fineness_permille / THOUSAND


def metal_in_solids_g(*, dry_mass_kg: Decimal, grade_gpt: Decimal) -> Decimal:
    """Return the metal in dry solids, in grams, exactly: 1 g/t is 0.001 g/kg.

    Raises NegativeFigure.
    """
    check_not_negative(dry_mass_kg, "dry_mass_kg")
    check_not_negative(grade_gpt, "grade_gpt")
    with exact_arithmetic():
        return dry_mass_kg * grade_gpt / THOUSAND


def metal_in_solution_g(*, volume_l: Decimal, grade_mg_l: Decimal) -> Decimal:
    """Return the metal in a solution, in grams, exactly. Raises NegativeFigure."""
    check_not_negative(volume_l, "volume_l")
    check_not_negative(grade_mg_l, "grade_mg_l")
    with exact_arithmetic():
        return volume_l * grade_mg_l / THOUSAND


def mean_fineness_permille(bars: Sequence[tuple[Decimal, Decimal]]) -> Decimal:
    """Return the mass-weighted mean fineness of (mass_g, fineness_permille) bars.

    To 34 digits. The simple mean would be wrong unless all masses are equal.
    Raises OutOfRange when the bars have no mass.
    """
    with exact_arithmetic():
        mass_g = sum((mass for mass, _ in bars), Decimal(0))
        fine = (fine_mass_g(mass_g=m, fineness_permille=f) for m, f in bars)
        fine_g = sum(fine, Decimal(0))
    if mass_g <= 0:
        raise OutOfRange("A mean fineness needs bars with a mass above zero.")
    return quotient(EXACT.multiply(fine_g, THOUSAND), mass_g)


def screen_assay(
    *,
    coarse_mass: Decimal,
    coarse_grade: Decimal,
    fine_mass: Decimal,
    fine_grade: Decimal,
) -> Decimal:
    """Return the grade of a sample assayed in two screen fractions, to 34 digits.

    Masses in one unit, grades in one unit; the answer is in the grades' unit.
    Source: Beringer, A Text-Book of Assaying (metallics). Raises OutOfRange when
    the sample has no mass.
    """
    with exact_arithmetic():
        mass = coarse_mass + fine_mass
        metal = coarse_mass * coarse_grade + fine_mass * fine_grade
    if mass <= 0:
        raise OutOfRange("A screen assay needs fractions with a mass above zero.")
    return quotient(metal, mass)
