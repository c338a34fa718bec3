"""A sample assayed in two screen fractions, where gold is coarse.

The sample is ground and screened; what stays on the screen is assayed whole, the
fines by portions. The grade is that of the fractions by their masses: Beringer, A
Text-Book of Assaying (metallics). The arithmetic of the two is
`goldroom.metal.assay.screen_assay`.
"""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Decimal

from goldroom.errors import PortionOfNothing
from goldroom.metal.assay import screen_assay
from goldroom.metal.determinations import HUNDRED, mean
from goldroom.metal.rounding import exact_arithmetic, quotient


def metallics_grade(
    *,
    coarse_mass: Decimal,
    coarse_grade: Decimal,
    fines_mass: Decimal,
    fines_grades: Sequence[Decimal],
) -> Decimal:
    """Return the grade of the whole sample, to 34 digits; fines by their mean.

    Masses in one unit, grades in one unit. Raises PortionOfNothing for a fraction of
    no mass.
    """
    for name, mass in (("coarse_mass", coarse_mass), ("fines_mass", fines_mass)):
        if mass <= 0:
            raise PortionOfNothing(
                f"The {name.replace('_', ' ')} is {mass}; both fractions must have a"
                " mass above zero. Weigh it again; a sample that all passed the"
                " screen is reported as an ordinary assay.",
                field=name,
            )
    return screen_assay(
        coarse_mass=coarse_mass,
        coarse_grade=coarse_grade,
        fine_mass=fines_mass,
        fine_grade=mean(fines_grades),
    )


def fractions_gap_percent(
    *, sample_mass: Decimal, coarse_mass: Decimal, fines_mass: Decimal
) -> Decimal:
    """Return what the fractions lack of the sample, per cent of it; < 0 if more.

    Raises PortionOfNothing for a sample of no mass.
    """
    if sample_mass <= 0:
        raise PortionOfNothing(
            f"The sample's mass is {sample_mass}; it must be above zero. Weigh it"
            " again.",
            field="sample_mass",
        )
    with exact_arithmetic():
        lacking = (sample_mass - coarse_mass - fines_mass) * HUNDRED
    return quotient(lacking, sample_mass)
