"""The simulated room: finer scales and more vessels than the small one. Invented."""

from dataclasses import replace
from decimal import Decimal

from goldroom.custody.records import Concentrator, Instrument, Mark, Place, Vessel
from goldroom.custody.state import State
from tests.goldroom.room import room, vessel


def mine() -> State:
    """Return the room with nothing in custody."""
    state = room()
    for name, unit, interval in (("LC1", "kg", "0.001"), ("PS1", "kg", "0.001")):
        known = state.get(Instrument, name)
        assert known is not None
        fine = replace(
            known, unit=unit, interval=Decimal(interval), capacity=Decimal(10**6)
        )
        state.put(fine)
    marks = tuple(Mark(mark=f"M{n}", volume_m3=Decimal(n)) for n in (1, 2))
    low = (Mark(mark="M1", volume_m3=Decimal("0.1")),)
    hopper = state.get(Vessel, "H1")
    assert hopper is not None
    made = [
        replace(hopper, marks=marks),
        vessel("H2", "hopper", "hopper_bay", {"lid": ""}, marks=low),
        vessel("D3", "drum", "gold_room", {}),
        vessel("D4", "tray", "gold_room", {"lid": "", "tap": ""}),
        vessel("T1", "table", "gold_room", {}),
        vessel("F1", "furnace", "gold_room", {}),
        vessel("F2", "furnace", "gold_room", {"door": ""}),
        vessel("S2", "safe", "vault", {"door": "", "hatch": ""}),
        vessel("B1", "box", "vault", {"lid": ""}),
        vessel("B2", "box", "vault", {"lid": ""}),
    ]
    for each in made:
        state.put(each)
    state.put(Place(place_id="umpire_lab", name="Umpire", sort="laboratory"))
    second = state.get(Concentrator, "U2")
    assert second is not None
    state.put(replace(second, hopper="H2"))
    state.settle()
    return state
