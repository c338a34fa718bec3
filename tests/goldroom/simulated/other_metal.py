"""Metal from elsewhere in the plant, and sweepings found again inside the room."""

from typing import Any

from goldroom.statements.other_metal import OtherMetalReceived
from goldroom.statements.sweepings import SweepingsCollected
from tests.goldroom.simulated.metal import (
    KG,
    MOISTURES,
    PORTION,
    Metal,
    estimate,
    weight,
)
from tests.goldroom.simulated.walk import Walk

ORIGINS = (
    ("elution_sludge", ("smelt",)),
    ("elution_solution", ("leach", "electrowinning", "electrowinning")),
    ("sump", ("table", "leach", "smelt")),
    ("gravity_circuit_cleanout", ("table", "leach", "smelt")),
)


def receive(walk: Walk) -> bool:
    """Take metal in: a solution, or solids weighed dry, wet, or not at all."""
    draw = walk.random
    origin, steps = draw.choice(ORIGINS)
    name = walk.new("OM")
    values: dict[str, Any] = {
        "item": name, "origin": origin, "from_where": "the plant",
        "handed_over_name": "Rell Ambos", "goes_to": draw.choice(steps),
        "place": "gold_room",
    }  # fmt: skip
    metal = Metal(0, draw.randint(5000, 90_000), draw.randint(500, 9000))
    if origin == "elution_solution":
        values |= {"volume_l": str(draw.randint(100, 900)), "sample": walk.new("E")}
        values["vessel"] = draw.choice(("TK1", "TK2"))
        walk.litres[name] = values["volume_l"]
    else:
        metal = Metal(draw.randint(40, 400) * PORTION, metal.gold, metal.silver)
        values |= _solids(walk, metal)
    if "vessel" in values:
        opened = walk.opened([values["vessel"]])
        closed = walk.closed([values["vessel"]], opened)
        values |= {"opened": opened} if opened else {}
        values |= {"closed": closed} if closed else {}
    wrong = None
    if "gross" in values and walk.chance(0.2):
        heavy = weight(metal.dry * 3 + 77 * KG)
        wrong = {**values, "gross": heavy}
    elif "estimate" in values and walk.chance(0.3):
        wrong = {**values, "estimate": {**values["estimate"], "gold_g": "1.5"}}
    walk.say(OtherMetalReceived, values, truth={name: metal}, wrong=wrong)
    return True


def _solids(walk: Walk, metal: Metal) -> dict[str, Any]:
    """Return the solids' weighing, dry or wet, or an estimate in its place."""
    draw = walk.random
    manner = draw.choice(("dry", "wet", "unknown", "unknown", "not weighed"))
    values: dict[str, Any] = {}
    if manner == "not weighed" or (manner == "unknown" and walk.chance(0.5)):
        values["estimate"] = estimate(metal)
    if manner == "not weighed":
        return values
    percent, wet_of_thousand = draw.choice(MOISTURES)
    if manner == "dry":
        wet_of_thousand = 1000
    values |= {
        "gross": weight(metal.dry * wet_of_thousand // 1000 + 4 * KG),
        "tare": weight(4 * KG), "condition": "dry" if manner == "dry" else "wet",
        "vessel": draw.choice(("D1", "D3", "D4")), "sample": walk.new("E"),
    }  # fmt: skip
    if manner == "wet":
        values |= {"moisture_percent": percent, "oven": "OV1"}
    return values


def sweep(walk: Walk) -> bool:
    """Collect sweepings of pours: missing then, found now."""
    draw = walk.random
    poured = [
        each for each in walk.truth_of("charge") if walk.item(each).status == "consumed"
    ]
    name = walk.new("SWP")
    metal = Metal(draw.randint(5, 90) * PORTION, draw.randint(10, 900), 7)
    values: dict[str, Any] = {
        "item": name, "what": draw.choice(("floor_sweepings", "tool_scrapings")),
        "place": "gold_room", "gross": weight(metal.dry), "estimate": estimate(metal),
    }  # fmt: skip
    if poured and walk.chance(0.8):
        values["charges"] = walk.some(poured, 2)
    else:
        values["source"] = draw.choice(("gravity", "other"))
    wrong = None
    if walk.chance(0.3):
        wrong = {**values, "estimate": {**values["estimate"], "gold_g": "12.5"}}
    found = Metal() - metal
    walk.say(
        SweepingsCollected, values, truth={name: metal}, wrong=wrong,
        theft=("smelt", found),
    )  # fmt: skip
    return True
