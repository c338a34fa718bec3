"""True metal of the invented mine: nothing appears or vanishes, and it is plausible.

Plausibility bounds are common practice, no published source: a semi-continuous
concentrator pulls about 1 % of its feed's mass or much less (T1), one unit takes 1
to 150 t/h (T4), a unit flushes 20 to 50 times a day with 10 to 70 kg of dry solids
at 500 to 30 000 g/t and 10 to 500 g of gold a flush.
"""

import math

import pytest

from goldroom.demo import truth
from goldroom.demo.chance import Chance
from goldroom.demo.truth import (
    Matter,
    flush_matter,
    melt_again,
    ore_day,
    pour,
    refinery_melt,
    table_run,
    together,
)

LOT = Matter(800_000.0, 900.0, 126.0)
CHARGE = Matter(13_000.0, 5_500.0, 770.0)


def assert_equal(found: Matter, expected: Matter) -> None:
    for name in ("dry_g", "gold_g", "silver_g"):
        assert math.isclose(getattr(found, name), getattr(expected, name))


@pytest.mark.parametrize("seed", range(5))
def test_table_gives_out_exactly_what_it_takes_in(seed):
    made = table_run(Chance(seed), "RUN-1", LOT)
    whole = (made.concentrate, made.middlings, made.magnetics, made.tails)
    assert_equal(together(whole), LOT)
    assert all(each.dry_g > 0 and each.gold_g > 0 for each in whole)


@pytest.mark.parametrize("seed", range(5))
@pytest.mark.parametrize("bars", [2, 3])
def test_pour_keeps_all_gold_and_silver_of_its_charge(seed, bars):
    made = pour(Chance(seed), "CH-1", CHARGE, bars)
    assert len(made.bars) == bars
    whole = together((*made.bars, *made.samples, made.slag))
    assert math.isclose(whole.gold_g, CHARGE.gold_g)
    assert math.isclose(whole.silver_g, CHARGE.silver_g)
    fineness = {round(each.content("gold"), 9) for each in (*made.bars, *made.samples)}
    assert len(fineness) == 1, "one melt has one fineness"
    assert 0.3 < fineness.pop() < 0.95, "doré, common practice"


@pytest.mark.parametrize("seed", range(5))
def test_metal_melted_again_is_in_the_bar_the_sample_the_slag_or_on_the_floor(seed):
    charge = Matter(2840.0, 2450.0, 340.0)
    made = melt_again(Chance(seed), "RM-1", charge, flux_g=380.0)
    whole = together((made.bar, made.sample, made.slag, made.sweepings))
    assert math.isclose(whole.gold_g, charge.gold_g)
    assert math.isclose(whole.silver_g, charge.silver_g)
    assert math.isclose(made.bar.content("gold"), made.sample.content("gold"))
    assert made.bar.dry_g + made.sample.dry_g < charge.dry_g
    assert 0 < made.slag.gold_g + made.sweepings.gold_g < 0.001 * charge.gold_g


def test_refinery_melt_keeps_its_gold_and_loses_a_little_mass():
    bars = pour(Chance(1), "CH-1", CHARGE, 2).bars
    melt = refinery_melt(Chance(1), "MR-1", bars)
    whole = together(bars)
    assert melt.gold_g == whole.gold_g
    assert 0 < whole.dry_g - melt.dry_g <= 3.0


def test_flush_is_within_what_the_trade_knows():
    ore = ore_day(Chance(1), "2026-10-01")
    for n in range(48):
        flush = flush_matter(Chance(1), ore, f"f{n}", truth.CYCLE_MIN)
        assert 10 <= flush.dry_g / 1000 <= 70
        assert 10 <= flush.gold_g <= 500
        assert 500 <= 1e6 * flush.content("gold") <= 30_000
        fed_g = truth.UNIT_FEED_T_PER_H * 1e6 * truth.CYCLE_MIN / 60
        assert flush.dry_g / fed_g < 0.01
    assert 1 <= truth.UNIT_FEED_T_PER_H <= 150


def test_short_cycle_brings_less_gold_and_less_mass():
    ore = ore_day(Chance(1), "2026-10-01")
    whole = flush_matter(Chance(1), ore, "f", truth.CYCLE_MIN)
    short = flush_matter(Chance(1), ore, "f", truth.CYCLE_MIN / 2)
    assert math.isclose(short.gold_g, whole.gold_g / 2)
    assert short.dry_g < whole.dry_g


def test_units_catch_what_the_circuit_model_says():
    """Steady state of Laplante, Woodcock and Noaparast (1995), written out anew."""
    b, c = truth.SURVIVAL_B, truth.TO_UNDERFLOW_C
    ratio = truth.SATURATION_TAU_MIN / truth.CYCLE_MIN
    rho = truth.RECOVERY_RHO0 * ratio * (1 - math.exp(-1 / ratio))
    running = truth.CYCLE_MIN / (truth.CYCLE_MIN + truth.FLUSH_MIN)
    removed = truth.TREATED_P * rho * running
    expected = b * c * removed / (1 - b * c * (1 - removed))
    assert math.isclose(truth.share_caught(), expected)


def test_same_seed_draws_the_same_and_another_seed_does_not():
    draws = [Chance(seed).normal("n") for seed in (7, 7, 8)]
    assert draws[0] == draws[1] != draws[2]
    assert Chance(7).entry_id("a") == Chance(7).entry_id("a") != Chance(7).entry_id("b")
    assert Chance(7).key_seed("p") != Chance(8).key_seed("p")


def test_errors_are_cut_off_within_two_standard_deviations():
    drawn = [Chance(1).normal(f"n{n}") for n in range(2000)]
    assert max(map(abs, drawn)) == 2.0
    assert abs(sum(drawn) / len(drawn)) < 0.1
