"""True metal in whole milligrams, and how instruments and laboratories show it."""

from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

KG = 1_000_000
"""Milligrams."""

STEP = 420_000
"""Milligrams: solids in a hopper come in steps of this, which its cells can show."""

PORTION = 20_000
"""Milligrams: products come in steps of this, at any moisture of `MOISTURES`."""

MOISTURES = (("0", 1000), ("20", 1250), ("37.5", 1600), ("50.0", 2000), ("60", 2500))
"""Moisture per cent, and the wet mass of a thousand parts of dry solids."""

PARTS = {"gpt": 1_000_000, "permille": 1000, "percent": 100, "mg_l": 1}


@dataclass(frozen=True)
class Metal:
    """What a thing truly holds, in whole milligrams."""

    dry: int = 0
    gold: int = 0
    silver: int = 0

    def __add__(self, other: "Metal") -> "Metal":
        return Metal(
            self.dry + other.dry, self.gold + other.gold, self.silver + other.silver
        )

    def __sub__(self, other: "Metal") -> "Metal":
        return Metal(
            self.dry - other.dry, self.gold - other.gold, self.silver - other.silver
        )


@dataclass(frozen=True)
class Theft:
    """Metal taken at a step, unseen, while an act was done; below nothing: found."""

    step: str
    at: str
    metal: Metal

    @property
    def is_found(self) -> bool:
        """Return whether it is no theft, but metal missed before and found again."""
        return self.metal.gold < 0


@dataclass(frozen=True)
class Wrong:
    """An entry said with a wrong figure, and the values that put it right."""

    entry: str
    kind: str
    values: Mapping[str, Any]


def grams(milligrams: int) -> str:
    """Return milligrams as grams, in text."""
    return format(Decimal(milligrams).scaleb(-3), "f")


def kilograms(milligrams: int) -> str:
    """Return milligrams as kilograms to the gram, in text."""
    assert milligrams % 1000 == 0, milligrams
    return format(Decimal(milligrams // 1000).scaleb(-3), "f")


def weight(milligrams: int) -> dict[str, str]:
    """Return a reading of the platform scale."""
    return {"reading": kilograms(milligrams), "unit": "kg", "instrument": "PS1"}


def balance(decigrams: int, instrument: str = "BU1") -> dict[str, str]:
    """Return a reading of a balance that shows a tenth of a gram."""
    shown = format(Decimal(decigrams).scaleb(-1), "f")
    return {"reading": shown, "unit": "g", "instrument": instrument}


def content(metal: int, size: int | str, unit: str) -> str:
    """Return a content per dry mass, or litre, in a unit, to twelve decimals."""
    whole = Decimal(size)
    share = Decimal(metal) * PARTS[unit] / whole if whole else Decimal(0)
    return format(share.quantize(Decimal("1e-12")), "f")


def estimate(metal: Metal) -> dict[str, str]:
    """Return an estimate that is right, though it does not know it."""
    return {
        "gold_g": grams(metal.gold), "gold_u_g": "2", "silver_g": grams(metal.silver),
        "silver_u_g": "1", "method": "as the last ones",
    }  # fmt: skip
