"""One lot from the table to the refinery: nothing lost, told twice the same."""

import itertools
from decimal import Decimal

import pytest

from goldroom.custody.codec import from_plain, to_plain
from goldroom.custody.figures import latest_mass
from goldroom.custody.moves import HELD
from goldroom.custody.records import Crossing, Item, Vessel
from goldroom.statements.fields import dump, parse
from goldroom.statements.kind import marked
from goldroom.statements.registry import kinds
from tests.goldroom import story
from tests.goldroom.room import noticed
from tests.goldroom.story import STAGES, upto


@pytest.mark.parametrize("stage", STAGES)
def test_values_keep_their_one_canonical_form(stage: str):
    kind, _, _ = STAGES[stage]
    canonical = dump(parse(kind, story.values(stage)))
    assert dump(parse(kind, canonical)) == canonical


@pytest.mark.parametrize("stage", STAGES)
def test_every_kind_is_found_by_its_mark_and_in_the_registry(stage: str):
    kind, _, _ = STAGES[stage]
    assert kinds()[kind.kind_name] is marked(kind.kind_name, kind.v) is kind


def test_a_clean_story_raises_no_finding():
    assert noticed(upto("melted")) == []


def test_the_same_entries_fold_to_the_same_records():
    assert upto("melted").all_held() == upto("melted").all_held()


def test_every_record_goes_to_plain_values_and_back():
    for record in upto("melted").all_held().values():
        assert from_plain(type(record), to_plain(record)) == record


def test_bar_and_drillings_together_are_the_bar_as_poured_within_a_division():
    state = upto("reweighed")
    newest = [latest_mass(state, name) for name in ("BAR-1", "DRL-1")]
    together_g = sum((each.net_g for each in newest if each), Decimal(0))
    assert abs(together_g - Decimal("6000.45")) <= Decimal("0.1")


@pytest.mark.parametrize("stage", ["lot", *STAGES])
def test_crossings_lead_each_item_to_the_step_that_holds_it(stage: str):
    state = upto(stage)
    for item in state.all_held().values():
        if not isinstance(item, Item) or item.made_by == "entry-opening":
            continue
        steps = [
            state.get(Crossing, f"{item.item}/{n}")
            for n in range(1, item.crossings + 1)
        ]
        led = [each for each in steps if each is not None]
        for earlier, later in itertools.pairwise(led):
            assert earlier.to_step == later.from_step
        last = led[-1].to_step if led else ""
        assert last == (item.step if item.status != "left" else "")


@pytest.mark.parametrize("stage", ["lot", *STAGES])
def test_vessels_hold_only_what_is_in_custody_each_thing_once(stage: str):
    state = upto(stage)
    held = state.all_held().values()
    inside = [
        item_id
        for each in held
        if isinstance(each, Vessel)
        for item_id in each.contents
    ]
    assert len(set(inside)) == len(inside)
    assert {story.item(state, each).status for each in inside} <= set(HELD)
