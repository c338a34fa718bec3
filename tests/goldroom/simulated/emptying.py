"""A hopper emptied, with or without a heel and a reading after."""

from collections.abc import Mapping
from typing import Any

from goldroom.statements.emptying import HopperEmptied
from tests.goldroom.simulated.hopper import gross_of, weigh_hopper
from tests.goldroom.simulated.metal import (
    KG,
    MOISTURES,
    PORTION,
    STEP,
    Metal,
    estimate,
    kilograms,
    weight,
)
from tests.goldroom.simulated.walk import Walk


def empty_hopper(walk: Walk) -> bool:
    """Empty a hopper into a vessel, with or without a heel and a reading after."""
    hopper = walk.vessel(walk.random.choice(("H1", "H1", "H2")))
    intos = [name for name in ("D1", "D2", "D3", "D4") if not walk.unseal(name)]
    if not hopper.contents or not intos:
        return False
    is_seen = any(walk.item(each).step for each in hopper.contents)
    if is_seen and hopper.pending_flushes:
        return weigh_hopper(walk, hopper.vessel)
    inside = walk.total(hopper.contents)
    heel, heel_name = _heel(walk, inside), walk.new("HEEL")
    theft = walk.theft_of("hopper", inside - heel) if is_seen else Metal()
    lot, name = inside - heel - theft, walk.new("LOT")
    if lot.dry < PORTION:
        return False
    values = _emptied(walk, hopper.vessel, name, lot, walk.random.choice(intos))
    if heel.dry:
        values["heel"] = {
            "item": heel_name, "dry_kg": kilograms(heel.dry), "dry_u_kg": "3",
            **estimate(heel),
        }  # fmt: skip
    if hopper.vessel == "H1" and walk.chance(0.5):
        mark = walk.random.choice(("M1", "M2"))
        values["level_after"] = {"mark": mark, "gross": gross_of(heel.dry, mark)}
    truth = {name: lot, **({heel_name: heel} if heel.dry else {})}
    walk.say(
        HopperEmptied, values, truth=truth,
        wrong=_emptied_wrong(walk, values, heel) if walk.chance(0.25) else None,
        theft=("hopper", theft) if theft != Metal() else None,
    )  # fmt: skip
    walk.even.pop(hopper.vessel, None)
    if walk.chance(0.4) and not heel.dry:
        draw = walk.random
        walk.even[hopper.vessel] = (50 * draw.randint(9, 99), 50 * draw.randint(1, 9))
    return True


def _heel(walk: Walk, inside: Metal) -> Metal:
    if inside.dry < 50 * STEP or not walk.chance(0.4):
        return Metal()
    dry = STEP * walk.random.randint(1, 20)
    return Metal(
        dry, inside.gold * dry // inside.dry, inside.silver * dry // inside.dry
    )


def _emptied(
    walk: Walk, hopper: str, name: str, lot: Metal, into: str
) -> dict[str, Any]:
    percent, wet_of_thousand = walk.random.choice(MOISTURES)
    wet = lot.dry * wet_of_thousand // 1000
    tare = walk.vessel(into).tare_kg
    tare_mg = 12 * KG if tare is None else int(tare * KG)
    values: dict[str, Any] = {
        "hopper": hopper, "lot": name, "into": into, "gross": weight(wet + tare_mg),
        "moisture": {"percent": percent, "oven": "OV1"},
    }  # fmt: skip
    if tare is None or walk.chance(0.3):
        values["tare"] = weight(tare_mg)
    off = walk.unseal(hopper)
    points = [each.point for each in walk.vessel(hopper).points]
    if off:
        values["seals_removed"] = off
    on = walk.fit(hopper, bare=points) if walk.chance(0.7) else []
    if on:
        values["seals_fitted"] = on
    taken = [each["seal"] for each in on]
    lot_seals = walk.fit(into, taken=taken) if walk.chance(0.5) else []
    if lot_seals:
        values["lot_seals"] = lot_seals
    return values


def _emptied_wrong(
    walk: Walk, values: Mapping[str, Any], heel: Metal
) -> Mapping[str, Any]:
    wrong = dict(values)
    which = walk.random.choice(("gross", "heel", "level_after"))
    if which == "heel" and heel.dry:
        off = {"dry_kg": kilograms(heel.dry + 5 * STEP), "gold_g": "7.5"}
        wrong["heel"] = {**values["heel"], **off}
    elif which == "level_after" and "level_after" in values:
        mark = values["level_after"]["mark"]
        gross = gross_of(heel.dry + 7 * STEP, mark)
        wrong["level_after"] = {"mark": mark, "gross": gross}
    else:
        shown = values["gross"]["reading"]
        wrong["gross"] = {**values["gross"], "reading": f"1{shown.zfill(8)}"}
    return wrong
