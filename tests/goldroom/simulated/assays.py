"""Assays: right, wrong and put right, provisional, disputed."""

from collections.abc import Mapping, Sequence
from typing import Any

from goldroom.custody.figures import WET
from goldroom.custody.records import Mass
from goldroom.statements.assays import AssayReported
from goldroom.statements.results import WANTED_FOR
from tests.goldroom.simulated.metal import (
    content,
)
from tests.goldroom.simulated.walk import Walk


def unassayed(walk: Walk) -> list[str]:
    """Return the items that await their first assay, used up or not."""
    found = []
    for name in walk.truth:
        item = walk.item(name)
        is_stock_estimate = item.estimates and item.sort not in ("slag", "skull")
        if item.status == "void" or item.sort not in WANTED_FOR or is_stock_estimate:
            continue
        if (item.masses or item.volumes) and not item.assays:
            found.append(name)
    return found


def report_assay(walk: Walk, names: Sequence[str] = ()) -> bool:
    """Report assays: right, or provisional and wrong, to be followed by the right."""
    waiting = names or unassayed(walk)
    if not waiting:
        return False
    chosen = list(names) or walk.some(waiting, 6)
    standing = walk.random.choice(("provisional", "final"))
    values = _report(walk, chosen, standing)
    manner = walk.random.random()
    if manner < 0.15:
        walk.say(AssayReported, values, wrong=_spoiled(values))
    elif manner < 0.3:
        walk.say(AssayReported, {**_spoiled(values), "standing": "provisional"})
        walk.later.append(_report(walk, chosen, "final"))
    else:
        walk.say(AssayReported, values)
    return True


def dispute(walk: Walk) -> bool:
    """Report another's wrong figure for a bar: the mine's own is used."""
    bars = [each for each in walk.held("bar") if walk.item(each).assays]
    if not bars:
        return False
    values = _spoiled(_report(walk, walk.some(bars), "refiner"))
    walk.say(AssayReported, {**values, "laboratory": "refinery"})
    return True


def _report(walk: Walk, names: Sequence[str], standing: str) -> dict[str, Any]:
    """Return a report: one row for all items of one content, as of a composite."""
    of_solids = walk.random.choice(("permille", "gpt", "percent"))
    rows: dict[tuple[str, str, str], list[str]] = {}
    for name in names:
        drawn = [
            each
            for each in walk.item(name).drawn
            if each not in walk.weighed.get(name, ())
        ]
        metal = walk.truth[name] + walk.total(drawn)
        unit, size = of_solids, metal.dry
        if name in walk.litres:
            unit, size = "mg_l", walk.litres[name]
        gold, silver = (
            content(each, size, unit) for each in (metal.gold, metal.silver)
        )
        rows.setdefault((unit, gold, silver), []).append(name)
    return {
        "laboratory": "lab", "method": "fire_assay", "standing": standing,
        "sampler": "spear",
        "results": [
            {
                "items": items, "sample": walk.new("E"), "unit": unit, "gold": gold,
                "silver": silver,
            }
            for (unit, gold, silver), items in rows.items()
        ],
    }  # fmt: skip


def _spoiled(values: Mapping[str, Any]) -> dict[str, Any]:
    rows = [{**row, "gold": "0.5", "silver": "0.25"} for row in values["results"]]
    return {**values, "results": rows}


def assay_again(walk: Walk, name: str) -> None:
    """After a weighing that counts from now on, have what is left assayed again.

    What had been drawn off before is neither in that mass nor in that content.
    """
    drawn, count = walk.item(name).drawn, walk.item(name).masses
    masses = [walk.state.get(Mass, f"{name}/{n:03d}") for n in range(1, count + 1)]
    dry = [each.wanted_for for each in masses if each and each.wanted_for != WET]
    if drawn == walk.weighed.get(name, ()) or dry[0] != dry[-1]:
        return
    walk.weighed[name] = drawn
    if walk.item(name).assays:
        walk.later.append(_report(walk, [name], "final"))


def say_later(walk: Walk) -> bool:
    """Report the right figure where a provisional one was wrong."""
    if not walk.later:
        return False
    walk.say(AssayReported, walk.later[0])
    walk.later.pop(0)
    return True
