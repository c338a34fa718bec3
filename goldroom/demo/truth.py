"""What is really there: metal in ore, flushes, lots, concentrates and bars.

Nobody in the mine sees these figures. They see readings and assays of them, which
`goldroom.demo.looking` makes. True metal is conserved to the last digit of a float:
what a step takes in, it gives out or keeps.

The gravity circuit follows `goldroom.metal.gravity`, so the estimate a mine would
set from honest tests agrees with what its units catch on average.
"""

from collections.abc import Iterable
from dataclasses import dataclass, replace

from goldroom.demo.chance import Chance
from goldroom.metal.gravity import (
    Circuit,
    availability_fraction,
    mean_recovery,
    recovered_share_of_grg,
)
from goldroom.metal.uncertainty import exact

FEED_T_PER_DAY = 1200.0
HEAD_GPT = 2.6
GRG_FRACTION = 0.45
SURVIVAL_B = 0.98
TO_UNDERFLOW_C = 0.98
TREATED_P = 0.25
RECOVERY_RHO0 = 0.45
SATURATION_TAU_MIN = 90.0
SILVER_TO_GOLD = 0.14
CYCLE_MIN = 58.0
FLUSH_MIN = 2.0
UNIT_FEED_T_PER_H = 62.0
FLUSH_DRY_KG = 18.0


@dataclass(frozen=True)
class Matter:
    """Dry mass with the gold and silver in it, all in grams."""

    dry_g: float
    gold_g: float
    silver_g: float

    def part(self, *, dry: float, gold: float, silver: float | None = None) -> "Matter":
        """Return a part of it: shares of the dry mass, the gold and the silver."""
        share = gold if silver is None else silver
        return Matter(self.dry_g * dry, self.gold_g * gold, self.silver_g * share)

    def without(self, other: "Matter") -> "Matter":
        """Return what is left when another part has been taken out."""
        return Matter(
            self.dry_g - other.dry_g,
            self.gold_g - other.gold_g,
            self.silver_g - other.silver_g,
        )

    def content(self, metal: str) -> float:
        """Return grams of gold or silver per gram."""
        return (self.gold_g if metal == "gold" else self.silver_g) / self.dry_g


def together(parts: Iterable[Matter]) -> Matter:
    """Return the parts put together."""
    listed = list(parts)
    return Matter(
        sum(each.dry_g for each in listed),
        sum(each.gold_g for each in listed),
        sum(each.silver_g for each in listed),
    )


@dataclass(frozen=True)
class OreDay:
    """A production day's ore: dry tonnes milled and true head grades."""

    day: str
    feed_t: float
    gold_gpt: float
    silver_gpt: float

    @property
    def gravity_gold_g(self) -> float:
        """Return the gold that the units catch in a day of full running."""
        return self.feed_t * self.gold_gpt * GRG_FRACTION * share_caught()


def share_caught() -> float:
    """Return the share of the feed's recoverable gold that the units catch."""
    circuit = Circuit(exact(GRG_FRACTION), exact(SURVIVAL_B), exact(TO_UNDERFLOW_C))
    rho = mean_recovery(
        initial_recovery=exact(RECOVERY_RHO0),
        time_constant_min=exact(SATURATION_TAU_MIN),
        cycle_min=CYCLE_MIN,
    )
    running = availability_fraction(cycle_min=CYCLE_MIN, flush_min=FLUSH_MIN)
    removed = exact(TREATED_P) * rho * running
    return recovered_share_of_grg(circuit=circuit, removed_fraction=removed).value


def ore_day(chance: Chance, day: str) -> OreDay:
    """Return the ore of a production day."""
    return OreDay(
        day,
        FEED_T_PER_DAY * chance.spread(f"feed/{day}", 0.03),
        HEAD_GPT * chance.spread(f"head/{day}", 0.06),
        HEAD_GPT * 0.35 * chance.spread(f"head silver/{day}", 0.08),
    )


def flush_matter(chance: Chance, ore: OreDay, flush: str, cycle_min: float) -> Matter:
    """Return what one flush holds: in proportion to the cycle's minutes."""
    flushes_per_day = 2 * 24 * 60 / (CYCLE_MIN + FLUSH_MIN)
    share = cycle_min / CYCLE_MIN / flushes_per_day
    gold_g = ore.gravity_gold_g * share * chance.spread(f"gold/{flush}", 0.06)
    filling = min(1.0, 0.4 + 0.6 * cycle_min / CYCLE_MIN)
    dry_g = 1000 * FLUSH_DRY_KG * filling * chance.spread(f"mass/{flush}", 0.07)
    silver = SILVER_TO_GOLD * chance.spread(f"silver/{flush}", 0.05)
    return Matter(dry_g, gold_g, gold_g * silver)


@dataclass(frozen=True)
class TableProducts:
    """What a shaking table makes of its feed."""

    concentrate: Matter
    middlings: Matter
    magnetics: Matter
    tails: Matter


def table_run(chance: Chance, run: str, feed: Matter) -> TableProducts:
    """Return the products of a table run; the tails are what is left."""
    gold = chance.uniform(f"table gold/{run}", 0.78, 0.84)
    grade = chance.uniform(f"table grade/{run}", 0.40, 0.46)
    concentrate = Matter(
        feed.gold_g * gold / grade, feed.gold_g * gold, feed.silver_g * gold
    )
    middlings = feed.part(
        dry=chance.uniform(f"middlings mass/{run}", 0.010, 0.016),
        gold=chance.uniform(f"middlings gold/{run}", 0.04, 0.06),
    )
    magnetics = feed.part(
        dry=chance.uniform(f"magnetics mass/{run}", 0.004, 0.007),
        gold=chance.uniform(f"magnetics gold/{run}", 0.002, 0.004),
    )
    tails = feed.without(together((concentrate, middlings, magnetics)))
    return TableProducts(concentrate, middlings, magnetics, tails)


@dataclass(frozen=True)
class PourProducts:
    """What a furnace makes of a charge: bars, dip samples, slag."""

    bars: tuple[Matter, ...]
    samples: tuple[Matter, ...]
    slag: Matter


def pour(chance: Chance, name: str, charge: Matter, bar_count: int) -> PourProducts:
    """Return bars of one melt, two dip samples and the slag of a charge.

    The slag's dry mass includes the fluxes; the furnace keeps nothing.
    """
    slag_gold = charge.gold_g * chance.uniform(f"slag gold/{name}", 0.0015, 0.0030)
    slag_silver = charge.silver_g * chance.uniform(f"slag silver/{name}", 0.01, 0.02)
    slag = Matter(charge.dry_g * 1.5, slag_gold, slag_silver)
    gold_g = charge.gold_g - slag_gold
    silver_g = charge.silver_g - slag_silver
    base = chance.uniform(f"base/{name}", 0.012, 0.022)
    melt = Matter((gold_g + silver_g) / (1 - base), gold_g, silver_g)
    masses = [chance.uniform(f"dip/{name}/{n}", 5.0, 8.0) for n in (1, 2)]
    samples = tuple(_of_mass(melt, mass) for mass in masses)
    left = melt.without(together(samples))
    weights = [chance.spread(f"mould/{name}/{n}", 0.04) for n in range(bar_count)]
    bars = tuple(
        _of_mass(left, left.dry_g * weight / sum(weights)) for weight in weights
    )
    return PourProducts(bars, samples, slag)


@dataclass(frozen=True)
class RemeltProducts:
    """What a furnace makes of metal melted again: a bar, a dip sample, what is lost."""

    bar: Matter
    sample: Matter
    slag: Matter
    sweepings: Matter


def melt_again(
    chance: Chance, name: str, charge: Matter, flux_g: float
) -> RemeltProducts:
    """Return a bar of metal melted again under a little flux, nothing of it lost.

    A little goes into the slag and a little more lies about the furnace.
    """
    slag = charge.part(dry=0.0, gold=chance.uniform(f"slag gold/{name}", 1e-4, 3e-4))
    lying = charge.part(dry=0.0, gold=chance.uniform(f"floor gold/{name}", 2e-4, 4e-4))
    lost = slag.gold_g + slag.silver_g + lying.gold_g + lying.silver_g
    melt = replace(charge.without(together((slag, lying))), dry_g=charge.dry_g - lost)
    sample = _of_mass(melt, chance.uniform(f"dip/{name}", 5.0, 8.0))
    return RemeltProducts(
        bar=melt.without(sample),
        sample=sample,
        slag=replace(slag, dry_g=flux_g),
        sweepings=replace(lying, dry_g=chance.uniform(f"floor/{name}", 30.0, 50.0)),
    )


def refinery_melt(chance: Chance, name: str, bars: Iterable[Matter]) -> Matter:
    """Return the metal of bars after a refinery's melt: a little base metal burns."""
    melted = together(bars)
    loss_g = chance.uniform(f"melt loss/{name}", 0.5, 3.0)
    return replace(melted, dry_g=melted.dry_g - loss_g)


def _of_mass(melt: Matter, mass_g: float) -> Matter:
    share = mass_g / melt.dry_g
    return melt.part(dry=share, gold=share)
