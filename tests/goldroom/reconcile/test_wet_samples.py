"""A sample of wet sludge, weighed as it was: what it holds before and after drying.

Of 7500 g of wet sludge 75 g are sampled; the rest dries to 3960 g, so the sludge was
8/15 dry and the sample 40 g of it. At 680000 g/t the rest holds 2692.8 g of gold and
the sample 27.2 g: what the cell's story tells of them together. All invented.
"""

from decimal import Decimal
from typing import Any

import pytest

from goldroom.custody.state import State
from goldroom.reconcile.balance import balance_of
from goldroom.reconcile.ledger_records import LedgerRecords
from goldroom.reconcile.network import parcels_of
from goldroom.reconcile.priors import Quantities
from goldroom.statements.samples import SampleSplit, SampleTaken
from tests.goldroom import cell_story as story
from tests.goldroom.room import reading, say

TAKEN = {
    "item": "SLU-1",
    "way": "scoop",
    "samples": [{"item": "SP-1", "mass": reading("75.0", "g", "BB1")}],
}
DRIED = reading("6060.0", "g", "BB1")


def sampled() -> State:
    """Return the room with the wet sludge sampled."""
    state = story.upto("cleaned")
    say(state, SampleTaken, TAKEN, at="2026-10-08T09:30:00+02:00")
    return state


def dried_and_assayed(state: State) -> State:
    """Return the room with the sludges dried and assayed, the sample itself not."""
    story.tell(state, "closed")
    story.tell(state, "dried", gross=DRIED)
    story.tell(state, "anodes_dried")
    story.tell(state, "assayed")
    return state


def split(state: State, first_g: str, second_g: str, **more: Any) -> None:
    portions = [
        {"item": name, "mass": reading(mass, "g", "BB1"), "portion": portion}
        for name, mass, portion in (
            ("P-1", first_g, "mine"),
            ("P-2", second_g, "reject"),
        )
    ]
    said = {"sample": "SP-1", "portions": portions, **more}
    say(state, SampleSplit, said, at="2026-10-09T14:00:00+02:00")


def known(state: State) -> Quantities:
    return Quantities(LedgerRecords.from_held(state.all_held()))


def gold(state: State, name: str) -> Decimal | None:
    amount = known(state).of(name).gold
    return None if amount is None else amount.posted_g


def missing(state: State, step: str) -> Decimal | None:
    quantities = known(state)
    parcels = parcels_of(
        quantities.data,
        quantities,
        from_at="2026-10-01T00:00:00Z",
        to_at="2026-11-01T00:00:00Z",
    )
    found = balance_of(parcels, frozenset({step}), "gold").unaccounted
    return None if found is None else found.posted_g


def test_while_the_sludge_is_wet_its_sample_counts_with_it():
    state = sampled()
    assert gold(state, "SP-1") == 0
    assert known(state).of("SP-1").is_pending
    assert missing(state, "electrowinning") == 0


def test_once_the_sludge_is_dried_its_sample_was_as_dry():
    state = dried_and_assayed(sampled())
    assert (gold(state, "SLU-1"), gold(state, "SP-1")) == (
        Decimal("2692.800"),
        Decimal("27.200"),
    )
    assert missing(state, "electrowinning") == Decimal(story.MISSING["gold"])
    assert missing(state, "smelt") == 0


@pytest.mark.parametrize(
    ("first_g", "second_g", "more"),
    [
        pytest.param("30.0", "45.0", {}, id="wet as it was"),
        pytest.param("16.0", "24.0", {"moisture_percent": "0"}, id="dried first"),
    ],
)
def test_portions_share_the_samples_gold_wet_or_dried(first_g, second_g, more):
    state = dried_and_assayed(sampled())
    split(state, first_g, second_g, **more)
    held = [gold(state, name) for name in ("SLU-1", "P-1", "P-2")]
    assert held == [Decimal("2692.800"), Decimal("10.880"), Decimal("16.320")]
    assert missing(state, "electrowinning") == Decimal(story.MISSING["gold"])
    assert missing(state, "smelt") == 0
