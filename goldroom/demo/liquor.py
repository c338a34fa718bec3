"""What is really there in solutions: a leach, its washing, and the cells after it.

Nobody in the mine sees these figures; metal is conserved to the last digit of a
float, as in `goldroom.demo.truth`.
"""

from dataclasses import dataclass

from goldroom.demo.chance import Chance
from goldroom.demo.truth import Matter

SLUDGE_METAL = 0.71
"""Share of dried cathode sludge that is gold and silver."""

CALCINED = 0.94
"""Dry mass that a calcine keeps of its sludge: carbon and water of salts go."""


@dataclass(frozen=True)
class Liquor:
    """Litres of solution with the gold and silver in it, in grams."""

    litres: float
    gold_g: float
    silver_g: float

    def mg_l(self, metal: str) -> float:
        """Return milligrams of gold or silver in a litre."""
        grams = self.gold_g if metal == "gold" else self.silver_g
        return 1000 * grams / self.litres

    def part(self, litres: float) -> "Liquor":
        """Return so many litres of it."""
        share = litres / self.litres
        return Liquor(litres, self.gold_g * share, self.silver_g * share)

    def without(self, other: "Liquor") -> "Liquor":
        """Return what is left when another part has been taken out."""
        return Liquor(
            self.litres - other.litres,
            self.gold_g - other.gold_g,
            self.silver_g - other.silver_g,
        )


@dataclass(frozen=True)
class Leached:
    """What a batch gives: pregnant and wash solution, and the residue."""

    pregnant: Liquor
    wash: Liquor
    residue: Matter


def leach(
    chance: Chance, name: str, solids: Matter, *, litres: float, wash_l: float
) -> Leached:
    """Return what comes of solids leached, drained, washed and drained again.

    A tenth of the solution stays between the solids; the wash takes most of it.
    """
    gold_g = solids.gold_g * chance.uniform(f"dissolved gold/{name}", 0.955, 0.972)
    silver_g = solids.silver_g * chance.uniform(f"dissolved silver/{name}", 0.90, 0.94)
    whole = Liquor(litres, gold_g, silver_g)
    pregnant = whole.part(litres * chance.uniform(f"drained/{name}", 0.89, 0.92))
    held = whole.without(pregnant)
    thinned = Liquor(held.litres + wash_l, held.gold_g, held.silver_g)
    wash = thinned.part(wash_l * chance.uniform(f"washed/{name}", 0.97, 1.03))
    kept = thinned.without(wash)
    residue = Matter(
        solids.dry_g * chance.uniform(f"residue mass/{name}", 0.982, 0.990),
        solids.gold_g - gold_g + kept.gold_g,
        solids.silver_g - silver_g + kept.silver_g,
    )
    return Leached(pregnant, wash, residue)


def electrowin(chance: Chance, name: str, pregnant: Liquor) -> tuple[Liquor, Matter]:
    """Return the barren solution of a run, and what was plated."""
    litres = pregnant.litres * chance.uniform(f"evaporated/{name}", 0.985, 0.995)
    barren = Liquor(
        litres,
        litres * chance.uniform(f"barren gold/{name}", 0.004, 0.007),
        litres * chance.uniform(f"barren silver/{name}", 0.001, 0.003),
    )
    gold_g = pregnant.gold_g - barren.gold_g
    silver_g = pregnant.silver_g - barren.silver_g
    return barren, Matter(0.0, gold_g, silver_g)


def wash_cathodes(chance: Chance, name: str, plated: Matter) -> tuple[Matter, Matter]:
    """Return the sludge that comes off the cathodes, dry, and what stays on them."""
    share = chance.uniform(f"heel/{name}", 0.012, 0.020)
    heel = Matter(0.0, plated.gold_g * share, plated.silver_g * share)
    gold_g = plated.gold_g - heel.gold_g
    silver_g = plated.silver_g - heel.silver_g
    return Matter((gold_g + silver_g) / SLUDGE_METAL, gold_g, silver_g), heel
