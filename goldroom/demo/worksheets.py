"""What the invented laboratory's balance showed: fire and screen assays, from a result.

A result is drawn by `goldroom.demo.looking`; here it is taken apart into what an
assayer would have written down, each mass with an error of its own, so that the
worksheet comes to that result again within the errors of its portions.
"""

from dataclasses import dataclass
from typing import Any

from goldroom.demo.chance import Chance
from goldroom.demo.looking import shown

PORTION_MG = 250.0
PORTIONS = 2
USED_G = PORTIONS * PORTION_MG / 1000
"""What a fire assay uses of a sample of bullion."""

COARSE_SHARE = 0.03
COARSE_GOLD = 0.38
FINES_PORTION_G = 30.0
SCREEN_UM = 106


@dataclass(frozen=True)
class Cupels:
    """What the cupels of one furnace load did: gold gained, silver lost, in mg."""

    gold_mg: float
    silver_mg: float


def fire_assay(
    chance: Chance, name: str, *, gold: str, silver: str
) -> tuple[list[dict[str, str]], list[dict[str, str]]]:
    """Return portions and proofs that come to a gold and a silver in permille."""
    gold_share, silver_share = float(gold) / 1000, float(silver) / 1000
    cupels = Cupels(
        gold_mg=0.07 + 0.02 * chance.error(f"surcharge/{name}"),
        silver_mg=-4.4 + 0.3 * chance.error(f"silver loss/{name}"),
    )
    added_mg = 10 * round((2.5 * gold_share - silver_share) * PORTION_MG / 10)
    portions, proofs = [], []
    for n in range(1, PORTIONS + 1):
        mass_mg = PORTION_MG + chance.uniform(f"portion/{name}/{n}", -0.6, 0.6)
        own = 1 + 6e-5 * chance.error(f"cornet/{name}/{n}")
        cornet_mg = gold_share * mass_mg * own + cupels.gold_mg
        silver_mg = silver_share * mass_mg
        silver_mg *= 1 + 1e-3 * chance.error(f"bead/{name}/{n}")
        bead_mg = cornet_mg + added_mg + silver_mg + cupels.silver_mg
        portions.append(
            {
                "portion_mg": shown(mass_mg, "0.01"),
                "cornet_mg": shown(cornet_mg, "0.01"),
                "bead_mg": shown(bead_mg, "0.01"),
                "silver_added_mg": shown(added_mg, "0.01"),
            }
        )
        taken_mg = gold_share * PORTION_MG
        taken_mg += chance.uniform(f"proof/{name}/{n}", -0.5, 0.5)
        found_mg = taken_mg + cupels.gold_mg + 0.012 * chance.error(f"found/{name}/{n}")
        made_up_mg = added_mg + silver_share * PORTION_MG
        kept_mg = made_up_mg + cupels.silver_mg
        kept_mg += 0.08 * chance.error(f"kept/{name}/{n}")
        proofs.append(
            {
                "gold_taken_mg": shown(taken_mg, "0.01"),
                "gold_found_mg": shown(found_mg, "0.01"),
                "silver_taken_mg": shown(made_up_mg, "0.01"),
                "silver_found_mg": shown(kept_mg, "0.01"),
            }
        )
    return portions, proofs


@dataclass(frozen=True)
class Screened:
    """A sample in two screen fractions: coarse, and fines by two portions."""

    sample_g: float
    coarse_g: float

    @property
    def fines_g(self) -> float:
        """Return what passed the screen; a little dust is lost on the way."""
        return self.sample_g - self.coarse_g - 0.04

    @property
    def used_g(self) -> float:
        """Return what was fused: all of the coarse, two portions of the fines."""
        return self.coarse_g + 2 * FINES_PORTION_G


def screen(chance: Chance, name: str, sample_g: float) -> Screened:
    """Return a ground sample as the screen divides it."""
    share = COARSE_SHARE * chance.spread(f"coarse/{name}", 0.15)
    return Screened(sample_g, sample_g * share)


def screen_assay(
    chance: Chance, name: str, screened: Screened, *, gold: str, silver: str
) -> dict[str, Any]:
    """Return the figures of a screen assay that come to a gold and a silver in g/t."""
    row: dict[str, Any] = {
        "unit": "gpt",
        "sample_g": shown(screened.sample_g, "0.01"),
        "coarse_g": shown(screened.coarse_g, "0.01"),
        "fines_g": shown(screened.fines_g, "0.01"),
    }
    whole_g = screened.coarse_g + screened.fines_g
    fines: list[dict[str, str]] = [{}, {}]
    for metal, reported in (("gold", gold), ("silver", silver)):
        share = COARSE_GOLD * chance.spread(f"coarse {metal}/{name}", 0.08)
        held = float(reported) * whole_g
        row[f"coarse_{metal}"] = shown(held * share / screened.coarse_g, "1")
        grade = held * (1 - share) / screened.fines_g
        apart = 0.012 * chance.error(f"fines {metal}/{name}")
        fines[0][metal] = shown(grade * (1 + apart), "0.1")
        fines[1][metal] = shown(grade * (1 - apart), "0.1")
    return {**row, "fines": fines}
