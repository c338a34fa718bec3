"""Whole months of random legal acts, and what must hold of every one of them.

    python -m tests.goldroom.simulator --seeds 500 --acts 400

walks through a gold room whose true metal is known (`simulated.walk`). After a walk
every balance of every period closes to the last milligram, or shows just what a
thief took; the same acts give the same records again; a period is shown again as it
was known; every bar's trail ends in flushes or opening stock. The rules that hold
after each act are in `simulated.invariants`. Expected values are the walk's own
truth, not the program's output.
"""

import argparse
import itertools
from collections.abc import Sequence
from decimal import Decimal

from goldroom.custody.act import utc_text
from goldroom.custody.records import STEPS, Item
from goldroom.reconcile.balance import balance_of
from goldroom.reconcile.ledger_records import LedgerRecords
from goldroom.reconcile.network import Parcel, parcels_of
from goldroom.reconcile.period import Period, reconcile
from goldroom.reconcile.priors import Quantities
from goldroom.statements import fold
from goldroom.statements.heating import DRIED
from goldroom.statements.kind import Statement
from goldroom.statements.registry import kind_named
from tests.goldroom.simulated import (
    assays,
    bars,
    cells,
    derived,
    drying,
    emptying,
    estimated,
    flushes,
    hopper,
    leach,
    other_metal,
    record,
    remelt,
    samples,
    seals,
    settling,
    shipping,
    smelt,
    stock,
    table,
    vault,
    worksheets,
)  # fmt: skip
from tests.goldroom.simulated.invariants import check_trail
from tests.goldroom.simulated.room import mine
from tests.goldroom.simulated.walk import Move, Walk

MOVES: tuple[tuple[Move, int], ...] = (
    (flushes.count_cycles, 4),
    (flushes.sign_sheet, 12),
    (hopper.weigh_hopper, 8),
    (seals.tend_hopper, 3),
    (seals.tend_seals, 3),
    (emptying.empty_hopper, 9),
    (table.run_table, 9),
    (leach.charge, 5),
    (leach.go_on, 14),
    (leach.let_go, 5),
    (cells.run, 7),
    (cells.open_or_close, 4),
    (cells.clean, 5),
    (drying.dry, 4),
    (drying.calcine, 3),
    (other_metal.receive, 4),
    (other_metal.sweep, 1),
    (estimated.better, 2),
    (estimated.find, 1),
    (estimated.anew, 2),
    (remelt.charge, 2),
    (settling.deal, 4),
    (smelt.make_up, 9),
    (smelt.pour, 9),
    (bars.number_bar, 9),
    (bars.drill_bar, 5),
    (smelt.weigh_slag, 4),
    (smelt.release_slag, 3),
    (assays.report_assay, 9),
    (assays.dispute, 1),
    (assays.say_later, 3),
    (worksheets.report_worksheet, 4),
    (samples.take_sample, 4),
    (samples.dip_solution, 3),
    (samples.split_sample, 4),
    (samples.move_sample, 3),
    (samples.use_sample, 3),
    (samples.give_back, 1),
    (vault.place, 4),
    (vault.count, 2),
    (vault.take, 3),
    (shipping.advise, 4),
    (shipping.hand_over, 5),
    (shipping.receive, 4),
    (shipping.melt, 5),
    (record.correct, 5),
    (record.void, 4),
)
"""What may be said, and how often it is tried."""

PREYED_ON = STEPS
"""Steps at which a walk may meet a thief."""

BRINGING_IN = (
    "stock.opened", "other_metal.received", "stock.estimated", "sweepings.collected",
)  # fmt: skip
"""Kinds that tell of metal made of nothing earlier here."""

LAST = "2027-12-31T00:00:00Z"
NOTHING = Decimal("0.000")


def walked(seed: int, acts: int, *, thieves: Sequence[str] = ()) -> Walk:
    """Return a walk of so many acts, with every figure put right at its end."""
    walk = Walk(seed, thieves=thieves)
    stock.open_stock(walk)
    moves, weights = zip(*MOVES, strict=True)
    while len(walk.said) < acts:
        walk.random.choices(moves, weights)[0](walk)
    _finish(walk)
    return walk


def _finish(walk: Walk) -> None:
    """Say what is still missing: numbers, slag, assays, corrections."""
    while bars.number_bar(walk, is_wrong=False):
        pass
    for name in walk.held("slag", "skull"):
        if not walk.item(name).estimates and not walk.item(name).assays:
            smelt.weigh_slag(walk, name)
    for name in walk.held(*DRIED):
        if drying.is_wet(walk, name):
            drying.dry(walk, name)
    settling.end_disputes(walk)
    while waiting := _due(walk):
        assays.report_assay(walk, waiting[:20])
    while assays.say_later(walk) or record.correct(walk):
        pass


def _due(walk: Walk) -> list[str]:
    """Return the items that must still be assayed."""
    return [each for each in assays.unassayed(walk) if _is_due(walk, each)]


def _is_due(walk: Walk, name: str) -> bool:
    """Return whether an item must be assayed: drillings may keep their bar's grade."""
    item = walk.item(name)
    parents = [walk.state.get(Item, each) for each in item.parents]
    of_bars = [each for each in parents if each is not None and each.sort == "bar"]
    is_of_a_bar = item.sort in ("sample", "sweepings") and bool(of_bars)
    return not is_of_a_bar or hash_of(name) % 2 == 0


def hash_of(name: str) -> int:
    """Return a number that a name always gives."""
    return sum(name.encode())


def check_walk(walk: Walk, *, cuts: int = 4) -> None:
    """Assert all that must hold of a finished walk."""
    held = walk.state.all_held()
    data = LedgerRecords.from_held(held)
    quantities = Quantities(data.as_known(LAST))
    check_balances(walk, data, cuts)
    derived.check_records(held)
    derived.check_shares(quantities)
    derived.check_contents(walk, quantities)
    derived.check_vessels_called(walk, quantities)
    again, then = told_again(walk, walk.random.randrange(len(walk.said)))
    assert again == held, "the same acts gave other records"
    if then is not None:
        known_at, report = then
        assert report == _report(LedgerRecords.from_held(held), walk, known_at)
    brought = {act.entry for name, _, act in walk.said if name in BRINGING_IN}
    for name in walk.truth:
        item = walk.item(name)
        if item.sort == "bar" and item.status != "void":
            check_trail(walk.state, name, brought)


def told_again(
    walk: Walk, known: int
) -> tuple[object, tuple[str, dict[str, object]] | None]:
    """Return the records of the acts folded anew, and a report drawn on the way.

    None in place of the report where a later void wiped out what was known then.
    """
    state, report = mine(), None
    for n, (name, values, act) in enumerate(walk.said):
        fold.fold_entry(name, 1, values, act, state)
        if n == known:
            data = LedgerRecords.from_held(state.all_held())
            report = (act.known_at, _report(data, walk, act.known_at))
    is_wiped = any(
        values.get("mode") == "void" for _, values, _ in walk.said[known + 1 :][:1]
    )
    return state.all_held(), None if is_wiped else report


def _report(data: LedgerRecords, walk: Walk, known_at: str) -> dict[str, object]:
    report = reconcile(data, _period(walk, known_at)).to_json()
    return {**report, "shares": derived.shares_told(data.as_known(known_at))}


def _period(walk: Walk, known_at: str) -> Period:
    half = walk.said[len(walk.said) // 2][2].at
    start = utc_text(walk.said[0][2].occurred_at)
    return Period(start, max(half, "2026-10-02T00:00:00Z"), known_at, "UTC", "06:00")


def check_balances(walk: Walk, data: LedgerRecords, cuts: int) -> None:
    """Assert that each period's balances show what was stolen in it and no more."""
    known = data.as_known(LAST)
    quantities = Quantities(known)
    edges = ["2026-01-01T00:00:00Z", *_cuts(walk, cuts), LAST]
    periods = [*itertools.pairwise(edges), (edges[0], LAST)]
    for from_at, to_at in periods:
        parcels = parcels_of(known, quantities, from_at=from_at, to_at=to_at)
        for step in STEPS:
            _check_step(walk, parcels, {step}, (from_at, to_at))
        _check_step(walk, parcels, set(STEPS), (from_at, to_at))


def _cuts(walk: Walk, count: int) -> list[str]:
    """Return cut-offs: some at the very time of an act, some a second before."""
    times = sorted({act.at for _, _, act in walk.said})
    return sorted(walk.random.sample(times, min(count, len(times))))


def _check_step(
    walk: Walk, parcels: Sequence[Parcel], steps: set[str], period: tuple[str, str]
) -> None:
    stolen = [
        each.metal
        for each in walk.thefts
        if each.step in steps and period[0] <= each.at < period[1]
    ]
    expected = {
        "gold": sum(each.gold for each in stolen),
        "silver": sum(each.silver for each in stolen),
        "dry_mass": sum(each.dry for each in stolen),
    }
    for metal, milligrams in expected.items():
        if metal == "dry_mass" and not steps <= {"hopper", "table", "leach"}:
            continue
        balance = balance_of(parcels, frozenset(steps), metal)
        if metal == "dry_mass" and not balance.is_drawn:
            continue
        assert balance.unaccounted is not None, (steps, metal, balance.unmeasured)
        missing = balance.unaccounted.posted_g - Decimal(milligrams).scaleb(-3)
        assert missing == NOTHING, (
            f"{'+'.join(sorted(steps))} {metal} from {period[0]} to {period[1]}:"
            f" {missing} g beyond what was stolen;\n" + _told(parcels, steps, metal)
        )


def _told(parcels: Sequence[Parcel], steps: set[str], metal: str) -> str:
    """Return the parcels of a balance as lines, for a failure's message."""
    lines = []
    for each in parcels:
        sign = each.sign_for(frozenset(steps))
        amount = each.contents.amount(metal)
        if sign:
            grams = None if amount is None else amount.posted_g
            lines.append(
                f"  {sign:+} {each.way.role} {each.item} {grams} ({each.contents.how})"
                f" {each.way.from_step}->{each.way.to_step} at {each.way.at}"
            )
    return "\n".join(lines)


def run(seed: int, acts: int, *, thieves: Sequence[str] = ()) -> Walk:
    """Walk and check; a failure says which seed it was."""
    try:
        walk = walked(seed, acts, thieves=thieves)
        check_walk(walk)
    except AssertionError as failure:
        raise AssertionError(
            f"seed {seed}, {acts} acts, thieves {list(thieves)}: {failure}"
        ) from failure
    return walk


def _robbed(walk: Walk) -> list[str]:
    return [each.step for each in walk.thefts if not each.is_found]


def kinds_said(walk: Walk) -> set[type[Statement]]:
    """Return the kinds of statement that a walk said."""
    return {kind_named(name) for name, _, _ in walk.said}


def main() -> None:
    """Walk many seeds; stop at the first that fails, and say which."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--seeds", type=int, default=100)
    parser.add_argument("--acts", type=int, default=200)
    parser.add_argument("--first", type=int, default=0)
    asked = parser.parse_args()
    for seed in range(asked.first, asked.first + asked.seeds):
        thieves = PREYED_ON if seed % 2 else ()
        walk = run(seed, asked.acts, thieves=thieves)
        taken = ", ".join(_robbed(walk)) or "nothing"
        print(f"seed {seed}: {len(walk.said)} acts hold; stolen at {taken}")


if __name__ == "__main__":
    main()
