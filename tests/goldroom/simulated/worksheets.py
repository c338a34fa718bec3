"""A pour's fire assay as a worksheet: what the balance shows, right and put right."""

from decimal import Decimal
from typing import Any

from goldroom.statements.fire_assay import FireAssayReported
from tests.goldroom.simulated.assays import unassayed
from tests.goldroom.simulated.metal import content
from tests.goldroom.simulated.walk import Walk

SURCHARGE_MG = ("0.00", "0.06", "0.11")
"""What gold gains in the furnace that day, of proofs and portions alike."""


def report_worksheet(walk: Walk) -> bool:
    """Report the bars of a pour by two portions of its dip sample and two proofs."""
    waiting = unassayed(walk)
    dips = [
        name for name in walk.truth
        if walk.item(name).sort == "sample" and walk.item(name).status != "void"
        and not walk.item(name).drawn_from
    ]  # fmt: skip
    if not waiting or not dips:
        return False
    dip = walk.random.choice(dips)
    gold, silver = _fineness(walk, dip)
    of_the_pour = [
        name for name in waiting
        if walk.item(name).parents == walk.item(dip).parents
        and walk.item(name).sort in ("bar", "sample")
        and _fineness(walk, name) == (gold, silver)
    ]  # fmt: skip
    if not of_the_pour or max(-gold.as_tuple().exponent, 0) > 3:
        return False
    values = _worksheet(walk, dip, of_the_pour)
    spoiled = _with_cornet(values, Decimal("1.00")) if walk.chance(0.2) else None
    walk.say(FireAssayReported, values, wrong=spoiled)
    return True


def _fineness(walk: Walk, name: str) -> tuple[Decimal, Decimal]:
    """Return what an item truly holds, in parts per thousand."""
    metal = walk.truth[name]
    gold, silver = (
        Decimal(content(each, metal.dry, "permille")).normalize()
        for each in (metal.gold, metal.silver)
    )
    return gold, silver


def _worksheet(walk: Walk, dip: str, items: list[str]) -> dict[str, Any]:
    gold, silver = _fineness(walk, dip)
    gain = Decimal(walk.random.choice(SURCHARGE_MG))
    portions = [
        {
            "portion_mg": mass,
            "cornet_mg": format(gold * Decimal(mass) / 1000 + gain, "f"),
        }
        for mass in ("250.00", "200.00")
    ]
    taken = max(gold / 4, Decimal(1))
    proof = {
        "gold_taken_mg": format(taken, "f"),
        "gold_found_mg": format(taken + gain, "f"),
    }
    row = {
        "sample": dip, "items": items, "unit": "permille", "portions": portions,
        "silver": format(silver, "f"),
    }  # fmt: skip
    return {
        "laboratory": "lab", "standing": "final", "sampler": "ladle",
        "samples": [row], "proofs": [proof, proof],
    }  # fmt: skip


def _with_cornet(values: dict[str, Any], cornet_mg: Decimal) -> dict[str, Any]:
    """Return the worksheet with every cornet misread as so much."""
    row = values["samples"][0]
    misread = [{**each, "cornet_mg": str(cornet_mg)} for each in row["portions"]]
    return {**values, "samples": [{**row, "portions": misread}]}
