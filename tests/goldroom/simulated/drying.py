"""Things dried, calcined and retorted: water goes, and sulphur, and no metal."""

from typing import Any

from goldroom.custody.figures import WET, latest_mass
from goldroom.statements.drying import (
    MaterialCalcined,
    MaterialDried,
    MaterialRetorted,
)
from goldroom.statements.heating import CALCINED, DRIED
from goldroom.statements.kind import Statement
from tests.goldroom.simulated.assays import assay_again
from tests.goldroom.simulated.metal import (
    KG,
    PORTION,
    Metal,
    kilograms,
    weight,
)
from tests.goldroom.simulated.walk import Walk

TRAYS = ("TR1", "TR2", "D3")


def is_wet(walk: Walk, name: str) -> bool:
    """Return whether nobody knows an item's dry mass by its last weighing."""
    weighed = latest_mass(walk.state, name)
    return weighed is not None and weighed.wanted_for == WET


def dry(walk: Walk, name: str = "") -> bool:
    """Dry something in the oven and weigh it."""
    ready = [name] if name else _weighable(walk, DRIED)
    wet = [each for each in ready if is_wet(walk, each)]
    if not ready:
        return False
    name = walk.random.choice(wet or ready)
    values = _heated(walk, name, walk.truth[name].dry)
    wrong = None
    if walk.chance(0.2) and walk.truth[name].dry > 4 * KG:
        light = walk.truth[name].dry // 2 // KG * KG + 6 * KG
        wrong = {**values, "gross": weight(light), "tare": weight(6 * KG)}
    walk.say(
        MaterialDried, values | {"oven": "OV1"}, wrong=wrong and wrong | {"oven": "OV1"}
    )
    assay_again(walk, name)
    return True


def _weighable(walk: Walk, sorts: tuple[str, ...]) -> list[str]:
    """Return the held things that the platform scale can show, and that are there."""
    return [
        each
        for each in walk.held(*sorts)
        if walk.truth[each].dry and walk.truth[each].dry % 1000 == 0
        and walk.item(each).masses
    ]  # fmt: skip


def _heated(walk: Walk, name: str, after: int) -> dict[str, Any]:
    """Return the weighings before and after heat, and where it is then."""
    vessel = walk.random.choice(TRAYS)
    opened = walk.opened([*walk.where([name]), vessel])
    tare = 3 * KG
    values: dict[str, Any] = {
        "item": name, "gross": weight(after + tare), "tare": weight(tare),
        "wet_gross": weight(2 * walk.truth[name].dry + tare),
        "wet_tare": weight(tare), "vessel": vessel, "start_c": "90", "end_c": "180",
    }  # fmt: skip
    values |= {"opened": opened} if opened else {}
    closed = walk.closed([vessel], opened)
    return values | ({"closed": closed} if closed else {})


def calcine(walk: Walk) -> bool:
    """Roast something, or drive its mercury off: the same metal in a calcine."""
    ready = [
        each
        for each in _weighable(walk, CALCINED)
        if walk.truth[each].dry > 4 * (walk.truth[each].gold + walk.truth[each].silver)
        and walk.truth[each].dry > 40 * PORTION
    ]
    if not ready:
        return False
    name = walk.random.choice(ready)
    metal = walk.truth[name]
    left = (metal.dry - walk.random.randint(0, metal.dry // 3)) // PORTION * PORTION
    made = walk.new("CAL")
    values = _heated(walk, name, left) | {"calcine": made}
    kind: type[Statement] = MaterialCalcined
    if walk.chance(0.4):
        kind = MaterialRetorted
        mercury = {"reading": kilograms((metal.dry - left) // 2), "unit": "kg",
                   "instrument": "PS1"}  # fmt: skip
        values |= {"retort": "RT1", "condenser_checked": True, "mercury": mercury}
    else:
        values |= {
            "furnace": walk.random.choice(("F1", "OV1")),
            "driven_off": "sulphur",
        }
    wrong = None
    if walk.chance(0.2):
        wrong = {**values, "gross": weight(left // 2 // PORTION * PORTION + 3 * KG)}
    truth = {made: Metal(left, metal.gold, metal.silver)}
    walk.say(kind, values, truth=truth, wrong=wrong)
    return True
