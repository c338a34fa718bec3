"""Charges made up and poured; slag weighed and let go."""

from typing import Any

from goldroom.custody.figures import WET, latest_mass
from goldroom.statements.slag import SlagReleased, SlagWeighed
from goldroom.statements.smelt import ChargeMadeUp, ChargePoured
from tests.goldroom.simulated.assays import assay_again
from tests.goldroom.simulated.metal import (
    KG,
    Metal,
    balance,
    grams,
    weight,
)
from tests.goldroom.simulated.samples import envelopes
from tests.goldroom.simulated.walk import Walk

CHARGED = (
    "concentrate", "sludge", "slag", "skull", "sample", "sweepings", "lot", "middlings",
    "calcine", "other", "tails",
)  # fmt: skip
GRAM = 1000
"""Milligrams."""


def make_up(walk: Walk) -> bool:
    """Make up a charge from several sources, some weighed dry again."""
    ready = chargeable(walk)
    if not ready:
        return False
    names = walk.some(ready, 4)
    whole = walk.total(names)
    if whole.gold < 20_000 or whole.dry < 3 * (whole.gold + whole.silver):
        return False
    furnace = walk.random.choice(("F1", "F2"))
    opened = walk.opened([*walk.where(names), *envelopes(walk, names), furnace])
    closed = walk.closed([*walk.where(names), furnace], opened)
    sources: list[dict[str, Any]] = []
    for name in names:
        row: dict[str, Any] = {"item": name}
        if walk.chance(0.3) and walk.truth[name].dry % GRAM == 0:
            row |= {
                "dry_gross": weight(walk.truth[name].dry + KG), "dry_tare": weight(KG),
            }  # fmt: skip
        sources.append(row)
    values: dict[str, Any] = {
        "charge": walk.new("CHG"), "furnace": furnace, "crucible": "K1",
        "crucible_uses": 2, "sources": sources,
        "fluxes": [{"flux": "borax", "mass_kg": "2.5"}],
    }  # fmt: skip
    values |= {"opened": opened} if opened else {}
    values |= {"closed": closed} if closed else {}
    walk.say(ChargeMadeUp, values)
    return True


def chargeable(walk: Walk) -> list[str]:
    """Return what may be charged: weighed dry, or estimated."""
    found = []
    for name in walk.held(*CHARGED):
        weighed = latest_mass(walk.state, name)
        is_dry = weighed is not None and weighed.wanted_for != WET
        if is_dry or (weighed is None and walk.item(name).estimates):
            found.append(name)
    return found


def pour(walk: Walk) -> bool:
    """Pour a charge: bars and samples of one fineness, slag takes what is left."""
    charges = walk.held("charge")
    if not charges:
        return False
    draw = walk.random
    charge = draw.choice(charges)
    inside = walk.total(walk.item(charge).parents)
    theft = Metal()
    if "smelt" in walk.thieves:
        walk.thieves.discard("smelt")
        theft = Metal(0, draw.randint(500, inside.gold // 4), 0)
    left = inside - theft
    bars, samples, fineness = _cast(walk, left, inside.dry)
    truth: dict[str, Metal] = {}
    for name, mass_g in (*bars, *samples):
        truth[name] = Metal(mass_g * GRAM, mass_g * fineness[0], mass_g * fineness[1])
        left -= Metal(0, truth[name].gold, truth[name].silver)
    values: dict[str, Any] = {
        "charge": charge, "place": "gold_room",
        "castings": [{"item": name, "mould": "M"} for name, _ in bars],
        "samples": [
            {
                "item": name, "taken_by": draw.choice(("dip", "pin")),
                "mass": balance(mass_g * 10, "BB1"),
            }
            for name, mass_g in samples
        ],
        "slag": walk.new("SLAG"),
    }  # fmt: skip
    if walk.chance(0.3):
        values["skull"] = walk.new("SKULL")
        part = draw.randint(10, 60)
        truth[values["skull"]] = Metal(
            draw.randint(100, 900) * GRAM, left.gold * part // 100,
            left.silver * part // 100,
        )  # fmt: skip
        left -= truth[values["skull"]]
    truth[values["slag"]] = Metal(
        draw.randint(900, 20_000) * GRAM, left.gold, left.silver
    )
    wrong = None
    if samples and walk.chance(0.2):
        row = {**values["samples"][0], "mass": balance(33, "BB1")}
        wrong = {**values, "samples": [row, *values["samples"][1:]]}
    walk.say(
        ChargePoured, values, truth=truth, wrong=wrong,
        theft=("smelt", theft) if theft != Metal() else None,
    )  # fmt: skip
    return True


Castings = list[tuple[str, int]]


def _cast(
    walk: Walk, left: Metal, charged: int
) -> tuple[Castings, Castings, tuple[int, int]]:
    """Return bars and samples with their grams, and gold and silver permille."""
    draw = walk.random
    gold = left.gold * draw.randint(965, 995) // 1000
    silver = left.silver * draw.randint(900, 990) // 1000
    mass_g = (gold + silver) * 100 // draw.randint(94, 99) // GRAM + 1
    if mass_g * GRAM > charged:
        mass_g = (gold + silver) * 100 // 99 // GRAM + 1
    fineness = gold // mass_g, silver // mass_g
    samples: Castings = []
    if mass_g > 60 and walk.chance(0.6):
        for _ in range(draw.randint(1, 2)):
            samples.append((walk.new("DIP"), draw.randint(3, 15)))
    mass_g -= sum(each for _, each in samples)
    bars: Castings = []
    while mass_g > 40 and len(bars) < 3 and walk.chance(0.5):
        part = draw.randint(10, mass_g - 20)
        bars.append((walk.new("BAR"), part))
        mass_g -= part
    return [*bars, (walk.new("BAR"), mass_g)], samples, fineness


def weigh_slag(walk: Walk, name: str = "") -> bool:
    """Weigh slag or a skull, and say what is thought to be in it."""
    slags = walk.held("slag", "skull")
    if not slags:
        return False
    name = name or walk.random.choice(slags)
    metal = walk.truth[name]
    tray = walk.random.choice(("D3", "D4", ""))
    opened = walk.opened([*walk.where([name]), *([tray] if tray else [])])
    closed = walk.closed([tray] if tray else [], opened)
    values: dict[str, Any] = {
        "item": name, "gross": weight(metal.dry + 2 * KG), "tare": weight(2 * KG),
        "gold_g": grams(metal.gold), "gold_u_g": "2", "silver_g": grams(metal.silver),
        "silver_u_g": "1", "method": "as the last ones",
    }  # fmt: skip
    values |= {"vessel": tray} if tray else {}
    values |= {"opened": opened} if opened else {}
    values |= {"closed": closed} if closed else {}
    wrong = {**values, "gold_g": "99.125"} if walk.chance(0.25) else None
    walk.say(SlagWeighed, values, wrong=wrong)
    assay_again(walk, name)
    return True


def release_slag(walk: Walk) -> bool:
    """Let slag go to the mill, to the smelt again, or off the site."""
    ready = [
        each
        for each in walk.held("slag", "skull")
        if walk.item(each).masses
        and (walk.item(each).estimates or walk.item(each).assays)
    ]
    if not ready:
        return False
    name = walk.random.choice(ready)
    goes = ["mill", "smelt"] + (["offsite"] if walk.item(name).assays else [])
    opened = walk.opened(walk.where([name]))
    values: dict[str, Any] = {"item": name, "goes_to": walk.random.choice(goes)}
    walk.say(SlagReleased, values | ({"opened": opened} if opened else {}))
    return True
