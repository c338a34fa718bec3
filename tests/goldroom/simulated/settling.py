"""Melts settled: assays exchanged, an umpire called, the refinery's statement."""

from collections.abc import Mapping
from decimal import Decimal
from typing import Any

from goldroom.custody.dealings import Contract, Exchanged, Outturn
from goldroom.statements.contracts import RefiningContractSet
from goldroom.statements.exchange import AssayExchanged
from goldroom.statements.settling import MeltSettled
from goldroom.statements.umpire import UmpireReported
from tests.goldroom.simulated.metal import content, grams
from tests.goldroom.simulated.walk import START, Walk

TERMS: Mapping[str, Any] = {
    "refinery": "refinery", "reference": "RC-7, contract.pdf",
    "effective_from": START.isoformat(), "basis": "exchange", "exchange_d": 10,
    "gold_splitting": {"limit": "0.05", "unit": "points"},
    "silver_splitting": {"limit": "0.05", "unit": "points"},
    "umpire_rule": "middle_of_three", "umpire_paid_by": "further",
    "payable_gold_percent": "99.9", "payable_silver_percent": "98",
    "melt_loss_percent": "0.1",
}  # fmt: skip
NEAR, FAR, MISREAD = Decimal("0.1"), Decimal("3"), Decimal("0.05")
"""Permille: within half the splitting limit, far beyond it, and an error within it."""


def _melts(walk: Walk) -> list[Outturn]:
    held = walk.state.all_held().values()
    return [each for each in held if isinstance(each, Outturn)]


def _fineness(walk: Walk, melt: str) -> tuple[Decimal, Decimal]:
    metal = walk.truth[melt]
    gold, silver = (
        Decimal(content(each, metal.dry, "permille"))
        for each in (metal.gold, metal.silver)
    )
    return gold, silver


def deal(walk: Walk) -> bool:
    """Say the next thing of a melt between mine and refinery; first the contract."""
    held = walk.state.all_held().values()
    if not any(isinstance(each, Contract) for each in held):
        walk.say(RefiningContractSet, TERMS)
        return True
    for outturn in _melts(walk):
        exchanged = walk.state.get(Exchanged, outturn.melt)
        if exchanged is None:
            return exchange(walk, outturn.melt)
        decided = (exchanged.gold.settled, exchanged.silver.settled)
        if None in decided:
            return umpire(walk, exchanged)
        waits = any(each.entry == exchanged.entry for each in walk.wrong)
        if not outturn.settled_by and not waits and walk.chance(0.5):
            return settle(walk, outturn)
    return False


def end_disputes(walk: Walk) -> None:
    """Let the umpire report on every metal that the two parties are apart on."""
    for outturn in _melts(walk):
        exchanged = walk.state.get(Exchanged, outturn.melt)
        while exchanged is not None and None in (
            exchanged.gold.settled,
            exchanged.silver.settled,
        ):
            umpire(walk, exchanged)
            exchanged = walk.state.get(Exchanged, outturn.melt)


def exchange(walk: Walk, melt: str) -> bool:
    """Exchange two results whose mean is right, near to each other or far apart."""
    gold, silver = _fineness(walk, melt)
    by = walk.random.choice((NEAR, NEAR, FAR))
    if not by < min(gold, silver) or max(gold, silver) + by > 990:
        by = Decimal(0)
    mine = {
        "gold": str(gold + by), "silver": str(silver - by), "method": "fire_assay",
        "sample": walk.new("EM"), "report": "A-31",
    }  # fmt: skip
    refiner = {
        "gold": str(gold - by), "silver": str(silver + by), "method": "fire_assay",
        "sample": walk.new("ER"), "report": "R-31",
    }  # fmt: skip
    values: dict[str, Any] = {
        "melt": melt, "laboratory": "lab", "sampler": "ladle", "unit": "permille",
        "mine": mine, "refiner": refiner,
    }  # fmt: skip
    wrong = None
    if by != FAR and walk.chance(0.3):
        wrong = {**values, "mine": {**mine, "gold": str(gold + by + MISREAD)}}
    walk.say(AssayExchanged, values, wrong=wrong)
    return True


def umpire(walk: Walk, exchanged: Exchanged) -> bool:
    """Report the umpire's result, for both metals at once or one alone."""
    gold, silver = _fineness(walk, exchanged.melt)
    wanted = {
        metal: str(right)
        for metal, right in (("gold", gold), ("silver", silver))
        if exchanged.decision(metal).settled is None
    }
    if len(wanted) == 2 and walk.chance(0.4):
        wanted.pop(walk.random.choice(("gold", "silver")))
    values = {
        "melt": exchanged.melt, "laboratory": "umpire_lab", "method": "fire_assay",
        "unit": "permille", "report": "U-4", **wanted,
    }  # fmt: skip
    walk.say(UmpireReported, values)
    return True


def settle(walk: Walk, outturn: Outturn) -> bool:
    """Take the refinery's settlement down."""
    gold, silver = _fineness(walk, outturn.melt)
    metal = walk.truth[outturn.melt]
    values = {
        "melt": outturn.melt, "statement": "S-88", "credited_unit": "g",
        "settlement_mass_g": grams(metal.dry), "gold_permille": str(gold),
        "silver_permille": str(silver), "credited_gold": grams(metal.gold),
        "credited_silver": grams(metal.silver),
    }  # fmt: skip
    walk.say(MeltSettled, values)
    return True
