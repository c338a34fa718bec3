"""Random months: every balance closes, every theft shows at its step and no other.

The expected values are the simulated room's own truth; the formula of a balance is
unaccounted = opening + in - out - closing, common practice, no source.
"""

import pytest

from goldroom.custody.records import Seal
from goldroom.custody.state import State
from goldroom.reconcile.ledger_records import LedgerRecords
from goldroom.statements.registry import kinds
from tests.goldroom.simulated.metal import Metal, Theft
from tests.goldroom.simulated.walk import Walk
from tests.goldroom.simulator import PREYED_ON, check_balances, kinds_said, run, walked

ACTS = 120
SEEDS = 5
"""In each of eight tests: forty walks in all, each of the seeds its own."""

SPINE = (
    "stock.opened", "cycles.recorded", "cleanup.recorded", "hopper.weighed",
    "hopper.drawn_off", "hopper.opened", "hopper.closed", "hopper.emptied",
    "table.run", "charge.made_up", "charge.poured", "slag.weighed", "slag.released",
    "bar.numbered", "bar.reweighed", "assay.reported", "vault.placed", "vault.counted",
    "vault.taken", "dispatch.advised", "dispatch.handed_over", "dispatch.received",
    "dispatch.melted", "seal.fitted", "seal.inspected", "seal.removed",
    "sample.taken", "sample.split", "sample.moved", "sample.consumed",
    "sample.returned",
    "record.corrected", "fire_assay.reported", "leach.charged", "leach.sampled",
    "leach.dosed", "leach.drained", "leach.washed", "leach.discharged",
    "leach.released", "cells.run", "cells.opened", "cells.closed", "cells.cleaned",
    "material.dried", "material.calcined", "material.retorted",
    "other_metal.received", "sweepings.collected", "remelt.charged", "stock.estimated",
    "refining_contract.set", "assay.exchanged", "umpire.reported", "melt.settled",
)  # fmt: skip


@pytest.mark.parametrize("first", range(0, 4 * SEEDS, SEEDS))
def test_every_balance_of_honest_months_closes_to_the_milligram(first):
    for seed in range(first, first + SEEDS):
        walk = run(seed, ACTS)
        assert all(each.is_found for each in walk.thefts)


@pytest.mark.parametrize("first", range(100, 100 + 4 * SEEDS, SEEDS))
def test_a_theft_shows_at_its_step_in_its_month_and_nowhere_else(first):
    stolen = {
        theft.step
        for seed in range(first, first + SEEDS)
        for theft in run(seed, ACTS, thieves=PREYED_ON).thefts
        if not theft.is_found
    }
    assert stolen == set(PREYED_ON), "the thieves found no occasion at every step"


def test_walks_say_every_kind_of_the_spine():
    said = set[type]()
    for seed in range(200, 203):
        said |= kinds_said(walked(seed, 3 * ACTS))
    assert {kinds()[name] for name in SPINE} - said == set()


def test_a_theft_that_nobody_told_the_check_of_fails_it():
    walk = _with_theft()
    walk.thefts.clear()
    with pytest.raises(AssertionError, match="beyond what was stolen"):
        _balanced(walk)


@pytest.mark.parametrize(
    ("situation", "change"),
    [
        ("a milligram more", Metal(gold=1)),
        ("a milligram of silver less", Metal(silver=-1)),
    ],
)
def test_a_theft_told_wrong_by_a_milligram_fails_the_check(situation, change):
    walk = _with_theft()
    first = walk.thefts[0]
    walk.thefts[0] = Theft(first.step, first.at, first.metal + change)
    with pytest.raises(AssertionError, match=r"0\.001 g beyond what was stolen"):
        _balanced(walk)


def test_a_failure_names_its_seed(monkeypatch):
    monkeypatch.setattr(State, "get", _forgets_seals(State.get))
    with pytest.raises(AssertionError, match="seed 7, 40 acts"):
        run(7, 40)


def _forgets_seals(get):
    """Return a `get` that says of a fitted seal that it is unused."""

    def forgetful(state, record_type, key):
        found = get(state, record_type, key)
        if record_type is Seal and found is not None and found.status == "fitted":
            raise AssertionError(f"{key} is forgotten")
        return found

    return forgetful


def _with_theft() -> Walk:
    for seed in range(300, 310):
        walk = walked(seed, 60, thieves=("smelt",))
        if walk.thefts:
            return walk
    raise AssertionError("no thief found an occasion")


def _balanced(walk: Walk) -> None:
    check_balances(walk, LedgerRecords.from_held(walk.state.all_held()), cuts=1)
