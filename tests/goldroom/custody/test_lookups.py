"""What a statement names and nobody knows: the refusal says how to go on."""

import pytest

from goldroom.custody.lookups import the
from goldroom.custody.records import Item, Person, Said, Vessel
from goldroom.custody.state import State
from goldroom.errors import TableDamaged, UnknownThing


@pytest.mark.parametrize(
    ("record_type", "told"),
    [
        (Vessel, "no vessel 'X-1' is registered here. Check the id, or register the"),
        (Person, "no person 'X-1' is registered here."),
        (Item, "no item 'X-1' is on record. Check the id, or say first what made it."),
        (Said, "no entry 'X-1' is on record. Take its id from the journal."),
    ],
)
def test_unknown_thing_is_refused_with_what_to_do(record_type, told):
    with pytest.raises(UnknownThing) as refused:
        the(State(), record_type, "X-1", "rows[0].it")
    assert refused.value.message.startswith(f"rows[0].it: {told}")
    assert refused.value.field == "rows[0].it"


@pytest.mark.parametrize("plain", [{}, {"item": "LOT-1"}, {"item": None, "sort": 3}])
def test_row_of_another_version_is_refused_with_advice(plain):
    state = State(lambda table, key: plain)
    with pytest.raises(TableDamaged, match="Run rebuild_tables after installing"):
        state.get(Item, "LOT-1")
