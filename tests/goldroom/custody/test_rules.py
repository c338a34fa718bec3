"""Rules that cross kinds."""

from dataclasses import replace

import pytest

from goldroom.custody.rules import check_new_items, item_at_hand, pass_on, source_of
from goldroom.errors import ItemIdUsed, NotInThisState
from tests.goldroom import story
from tests.goldroom.room import act
from tests.goldroom.story import crossings, item, upto


def test_an_id_is_new_to_the_ledger_and_to_the_statement():
    state = upto("lot")
    check_new_items(state, [("NEW-1", "a"), ("NEW-2", "b")])
    for named in ([("LOT-1", "a")], [("NEW-1", "a"), ("NEW-1", "b")]):
        with pytest.raises(ItemIdUsed):
            check_new_items(state, named)


def test_what_a_carrier_has_is_not_at_hand():
    with pytest.raises(NotInThisState, match="on its way"):
        item_at_hand(upto("handed_over"), "BAR-1", "items[0]")


@pytest.mark.parametrize(
    ("sources", "expected"),
    [
        (("gravity", "gravity"), "gravity"),
        (("other", "other"), "other"),
        (("gravity", "other"), "mixed"),
        (("gravity", "mixed"), "mixed"),
    ],
)
def test_metal_of_two_sources_is_mixed(sources: tuple[str, str], expected: str):
    state = upto("lot")
    for n, source in enumerate(sources):
        story.add_item(state, f"C-{n}", "concentrate", step="smelt")
        state.put(replace(item(state, f"C-{n}"), source=source))
    assert source_of(state, ("C-0", "C-1")) == expected


def test_an_item_passes_into_a_step_once():
    state = upto("lot")
    for _ in range(2):
        story.put(state, pass_on(state, act("x.done"), "LOT-1", "smelt"))
    assert crossings(state, "LOT-1") == [("table", "smelt", "smelt")]
    assert item(state, "LOT-1").step == "smelt"
