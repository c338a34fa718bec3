"""Samples taken, divided, handed on, used up and given back, some of it stolen."""

from collections.abc import Sequence
from fractions import Fraction
from typing import Any

from goldroom.custody.figures import latest_mass
from goldroom.custody.records import Vessel
from goldroom.custody.sampled import Sample
from goldroom.statements.sample_moves import SampleMoved, SampleReturned
from goldroom.statements.sample_uses import SampleConsumed
from goldroom.statements.samples import SampleSplit, SampleTaken
from tests.goldroom.simulated.metal import PORTION, Metal, balance, grams
from tests.goldroom.simulated.walk import Walk

SAMPLED = (
    "lot", "concentrate", "middlings", "sludge", "calcine", "slag", "skull", "other",
    "residue", "tails", "sweepings",
)  # fmt: skip
TENTH = 100
"""Milligrams that the bench balance can show."""


def envelopes(walk: Walk, names: Sequence[str]) -> list[str]:
    """Return those of some samples that are in sealed envelopes."""
    found = [(name, walk.state.get(Vessel, name)) for name in names]
    return [name for name, held in found if held and held.points[0].seal]


def take_sample(walk: Walk) -> bool:
    """Take dried samples off something that was weighed and assayed."""
    ready = [
        each
        for each in walk.held(*SAMPLED)
        if walk.item(each).masses
        and walk.item(each).assays
        and walk.truth[each].gold > 1000
        and walk.truth[each].dry > 2_000_000
    ]
    if not ready:
        return False
    draw = walk.random
    name = draw.choice(ready)
    left, truth, rows = walk.truth[name], {}, []
    for _ in range(draw.randint(1, 2)):
        dry = draw.randint(1, 25) * PORTION
        gold = draw.randint(0, min(left.gold // 50, dry // 3))
        silver = draw.randint(0, min(left.silver // 50, dry // 3))
        taken = Metal(dry, gold, silver)
        sample = walk.new("SP")
        truth[sample] = taken
        left -= taken
        rows.append(
            {
                "item": sample, "mass": balance(taken.dry // TENTH, "BB1"),
                "moisture_percent": "0", "oven": "OV1",
            }
        )  # fmt: skip
    opened = walk.opened(walk.where([name]))
    closed = walk.closed(walk.where([name]), opened)
    values: dict[str, Any] = {"item": name, "way": "spear", "samples": rows}
    values |= {"opened": opened} if opened else {}
    values |= {"closed": closed} if closed else {}
    wrong = None
    if walk.chance(0.2):
        wrong = {**values, "samples": [{**rows[0], "mass": balance(7, "BB1")},
                                       *rows[1:]]}  # fmt: skip
    walk.say(SampleTaken, values, truth={**truth, name: left}, wrong=wrong)
    return True


def dip_solution(walk: Walk) -> bool:
    """Take samples off a solution that is kept in a tank, or off a running vessel."""
    ready = [
        each
        for each in walk.held("solution", "leach_batch", "cell_load")
        if each in walk.litres or walk.item(each).sort != "solution"
    ]
    if not ready:
        return False
    name = walk.random.choice(ready)
    left, truth, rows = walk.truth[name], {}, []
    for _ in range(walk.random.randint(1, 2)):
        sample = walk.new("DS")
        truth[sample] = Metal(0, left.gold // 2000, left.silver // 2000)
        left -= truth[sample]
        walk.litres[sample] = "0.1"
        rows.append({"item": sample, "volume_ml": "100"})
    opened = walk.opened(walk.where([name]))
    values: dict[str, Any] = {"item": name, "way": "solution", "samples": rows}
    values |= {"opened": opened} if opened else {}
    closed = walk.closed(walk.where([name]), opened)
    values |= {"closed": closed} if closed else {}
    wrong = None
    if walk.chance(0.2):
        wrong = {**values, "samples": [{**rows[0], "volume_ml": "50"}, *rows[1:]]}
    walk.say(SampleTaken, values, truth={**truth, name: left}, wrong=wrong)
    return True


def _free(walk: Walk) -> list[str]:
    """Return the held samples that may be divided or used: not an umpire's.

    Dry ones, and those whose mass was not said wrong.
    """
    found = []
    for name in walk.held("sample"):
        known = walk.state.get(Sample, name)
        weighed = latest_mass(walk.state, name)
        is_true = weighed is not None and weighed.net_g * 1000 == walk.truth[name].dry
        is_measured = is_true and not walk.item(name).estimates
        if is_measured and (known is None or known.portion != "umpire"):
            found.append(name)
    return found


def shared(whole: Metal, sizes: Sequence[int]) -> list[Metal]:
    """Return what portions of these milligrams hold: what each adds, rounded to even.

    What is left over when they are lighter than the whole is nobody's.
    """
    found, upto, before = [], 0, Metal()
    for size in sizes:
        upto += size
        share = Fraction(upto, whole.dry)
        now = Metal(upto, round(whole.gold * share), round(whole.silver * share))
        found.append(now - before)
        before = now
    return found


def _sizes(walk: Walk, whole: Metal, count: int) -> list[int]:
    """Return the portions' milligrams: together those of the sample."""
    tenths, sizes = whole.dry // TENTH, []
    for _ in range(count - 1):
        size = walk.random.randint(1, max(1, tenths // 2))
        sizes.append(size * TENTH)
        tenths -= size
    return [*sizes, tenths * TENTH]


def _thieved(walk: Walk, name: str, sizes: list[int]) -> tuple[str, Metal] | None:
    """Return a theft off the last portion, which gets lighter; None if there is none.

    Only one with gold in it counts as one.
    """
    whole, step = walk.truth[name], walk.item(name).step
    if step not in walk.thieves or sizes[-1] < 4 * TENTH:
        return None
    kept = [*sizes[:-1], sizes[-1] - TENTH]
    stolen = whole - sum(shared(whole, kept), Metal())
    if stolen.gold < 1:
        return None
    walk.thieves.discard(step)
    sizes[-1] -= TENTH
    return step, stolen


def _cut(walk: Walk, name: str) -> dict[str, Any]:
    envelope = walk.state.get(Vessel, name)
    number = envelope.points[0].seal if envelope else ""
    if not number:
        return {}
    cut = {"seal": number, "tamper_signs": "none", "remains_kept": True}
    return {"seal_cut": cut}


def split_sample(walk: Walk) -> bool:
    """Divide a sample into portions, some of them sealed."""
    ready = [each for each in _free(walk) if walk.truth[each].dry >= 20 * TENTH]
    if not ready:
        return False
    draw = walk.random
    name = draw.choice(ready)
    sizes = _sizes(walk, walk.truth[name], draw.randint(2, 4))
    theft = _thieved(walk, name, sizes)
    unused = walk.unused_seals()
    truth, rows = {}, []
    for size, metal in zip(sizes, shared(walk.truth[name], sizes), strict=True):
        portion = draw.choice(("mine", "refiner", "reserve", "umpire", "reject"))
        row = {"item": walk.new("P"), "mass": balance(size // TENTH, "BB1")}
        if portion in ("reserve", "umpire") and unused:
            row["seal"] = unused.pop()
        elif portion in ("reserve", "umpire"):
            portion = "reject"
        truth[row["item"]] = metal
        rows.append({**row, "portion": portion})
    opened = walk.opened(walk.where([name]))
    values: dict[str, Any] = {"sample": name, "portions": rows, **_cut(walk, name)}
    values |= {"opened": opened} if opened else {}
    wrong = None
    if theft is None and walk.chance(0.2):
        wrong = {**values, "portions": [{**rows[0], "mass": balance(1, "BB1")},
                                        *rows[1:]]}  # fmt: skip
    walk.say(SampleSplit, values, truth=truth, wrong=wrong, theft=theft)
    return True


def move_sample(walk: Walk) -> bool:
    """Hand samples to the laboratory, the refinery, a store or back."""
    ready = walk.held("sample")
    if not ready:
        return False
    names = walk.some(ready, 3)
    rows: list[dict[str, Any]] = []
    for name in names:
        row: dict[str, Any] = {"item": name}
        cut = _cut(walk, name)
        if cut:
            seal = cut["seal_cut"]["seal"]
            row["seal_seen"] = {"seal": seal, "tamper_signs": "none"}
        rows.append(row)
    opened = walk.opened(walk.where(names))
    values: dict[str, Any] = {
        "samples": rows, "received_by": "p-noor",
        "to": walk.random.choice(("lab", "refinery", "gold_room", "vault")),
    }  # fmt: skip
    walk.say(SampleMoved, values | ({"opened": opened} if opened else {}))
    return True


def use_sample(walk: Walk) -> bool:
    """Let a laboratory use a sample, all of it or a part."""
    ready = [each for each in _free(walk) if walk.truth[each].dry >= 20 * TENTH]
    if not ready:
        return False
    name = walk.random.choice(ready)
    row: dict[str, Any] = {"sample": name, **_cut(walk, name)}
    sizes = _sizes(walk, walk.truth[name], walk.random.randint(1, 2))
    theft = _thieved(walk, name, sizes)
    metals = shared(walk.truth[name], sizes)
    row["used_g"] = grams(sizes[0])
    truth = {f"{name}.used": metals[0]}
    if len(sizes) > 1:
        left = walk.new("LEFT")
        row["left"] = {"item": left, "mass_g": grams(sizes[1])}
        truth[left] = metals[1]
    opened = walk.opened(walk.where([name]))
    values: dict[str, Any] = {"laboratory": "lab", "used": [row]}
    walk.say(
        SampleConsumed, values | ({"opened": opened} if opened else {}), truth=truth,
        theft=theft,
    )  # fmt: skip
    return True


def give_back(walk: Walk) -> bool:
    """Give cornets of used samples back, or remains, which hold as much a gram."""
    used = [
        name.removesuffix(".used")
        for name in walk.truth
        if name.endswith(".used") and walk.item(name).status == "left"
    ]
    if not used:
        return False
    name = walk.random.choice(used)
    gold = walk.random.randint(1, 900)
    cornet = walk.new("COR")
    row = {
        "item": cornet, "what": "cornets", "of": [name], "mass": balance(10, "BB1"),
        "gold_g": grams(gold), "gold_u_g": "0.010",
    }  # fmt: skip
    truth = {cornet: Metal(10 * TENTH, gold, 0)}
    walk.say(SampleReturned, {"place": "gold_room", "returned": [row]}, truth=truth)
    return True
