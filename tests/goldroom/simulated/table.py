"""Lots, middlings and tails over the table, and what comes off it."""

from collections.abc import Mapping, Sequence
from typing import Any

from goldroom.statements.table import TableRun
from tests.goldroom.simulated.drying import is_wet
from tests.goldroom.simulated.metal import (
    KG,
    MOISTURES,
    PORTION,
    Metal,
    weight,
)
from tests.goldroom.simulated.walk import Walk


def run_table(walk: Walk) -> bool:
    """Run lots, middlings and tails over the table."""
    feedable = walk.held("lot", "middlings", "tails", "magnetics", "residue", "other")
    feedable = [
        each for each in feedable if walk.truth[each].dry and not is_wet(walk, each)
    ]
    if not feedable:
        return False
    feed = walk.some(feedable, 3)
    fed = walk.total(feed)
    theft = walk.theft_of("table", fed)
    parts = _products(walk, fed - theft)
    if parts is None:
        return False
    drums = ("D1", "D2", "D3", "D4")
    rows = [_product(walk, sort, metal, drums) for sort, metal in parts]
    kept = [row["vessel"] for row in rows if row["goes_to"] == "kept"]
    opened = walk.opened([*walk.where(feed), *kept, *_weighed_in(rows)])
    closed = walk.closed(kept, opened)
    values: dict[str, Any] = {"table": "T1", "feed": feed, "products": rows}
    values |= {"opened": opened} if opened else {}
    values |= {"closed": closed} if closed else {}
    wrong = None
    if walk.chance(0.2):
        shown = rows[0]["gross"]["reading"]
        gross = {**rows[0]["gross"], "reading": f"1{shown.zfill(8)}"}
        row = {**rows[0], "gross": gross}
        wrong = {**values, "products": [row, *rows[1:]]}
    walk.say(
        TableRun, values, wrong=wrong,
        truth={row["item"]: part[1] for row, part in zip(rows, parts, strict=True)},
        theft=("table", theft) if theft != Metal() else None,
    )  # fmt: skip
    return True


def _weighed_in(rows: Sequence[Mapping[str, Any]]) -> list[str]:
    return [row["vessel"] for row in rows if "vessel" in row]


def _products(walk: Walk, fed: Metal) -> list[tuple[str, Metal]] | None:
    """Return the products and what each truly holds; the last takes what is left."""
    draw = walk.random
    metal = fed.gold + fed.silver
    dry = max(fed.dry * draw.randint(2, 9) // 100, 4 * metal) // PORTION * PORTION
    if not PORTION * 5 <= dry <= fed.dry // 2:
        return None
    share = draw.randint(80, 97)
    parts = [
        ("concentrate", Metal(dry, fed.gold * share // 100, fed.silver * share // 100))
    ]
    left = fed - parts[0][1]
    sorts = [s for s in ("magnetics", "middlings", "tails") if walk.chance(0.6)]
    for sort in sorts[:-1]:
        part = draw.randint(10, 40)
        dry = left.dry * part // 100 // PORTION * PORTION
        metal_part = left.gold * part // 90, left.silver * part // 90
        parts.append((sort, Metal(dry, *metal_part)))
        left -= parts[-1][1]
    parts.append(((sorts or ["tails"])[-1], left))
    return parts


def _product(
    walk: Walk, sort: str, metal: Metal, drums: Sequence[str]
) -> dict[str, Any]:
    draw = walk.random
    percent, wet_of_thousand = draw.choice(MOISTURES)
    if percent == "0" and walk.chance(0.5):
        percent = ""
    wet = metal.dry * wet_of_thousand // 1000
    to_mill = sort != "concentrate" and walk.chance(0.6)
    row: dict[str, Any] = {
        "item": walk.new(sort.upper()), "product": sort,
        "goes_to": "mill" if to_mill else "kept",
    }  # fmt: skip
    tare = None
    if not to_mill or walk.chance(0.3):
        row["vessel"] = draw.choice(drums)
        tare = walk.vessel(row["vessel"]).tare_kg
    tare_mg = 0 if tare is None else int(tare * KG)
    if "vessel" in row and (tare is None or walk.chance(0.3)):
        tare_mg = 9 * KG
        row["tare"] = weight(tare_mg)
    row["gross"] = weight(wet + tare_mg)
    if percent:
        row |= {"moisture_percent": percent, "oven": "OV1"}
    return row
