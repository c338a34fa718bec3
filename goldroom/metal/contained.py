"""Contained metal with its uncertainty: what a balance is made of.

The same products as in `assay`, for measured numbers: solids, solution, bar.
Sensitivities follow the product rule, so an error shared by a mass and a grade
(there should be none) or by two parcels (there usually is) is kept.
"""

from __future__ import annotations

from goldroom.metal.uncertainty import Measured


def solids_metal_g(*, dry_mass_kg: Measured, grade_gpt: Measured) -> Measured:
    """Return the metal in dry solids, grams: kg times g/t over 1000."""
    return dry_mass_kg * grade_gpt / 1000


def solution_metal_g(*, volume_m3: Measured, grade_g_m3: Measured) -> Measured:
    """Return the metal in a solution, grams; 1 mg/L is 1 g/m3."""
    return volume_m3 * grade_g_m3


def bar_metal_g(*, mass_g: Measured, fineness_permille: Measured) -> Measured:
    """Return the fine metal in a bar, grams."""
    return mass_g * fineness_permille / 1000
