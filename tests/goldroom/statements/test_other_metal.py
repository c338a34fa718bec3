"""Metal from elsewhere in the plant, taken in; and sweepings found in the room."""

from dataclasses import replace
from decimal import Decimal
from typing import Any

import pytest

from goldroom.custody.figures import latest_mass
from goldroom.custody.other_metal import OtherMetal
from goldroom.custody.records import Estimate, Mass, Volume
from goldroom.custody.state import State
from goldroom.errors import CannotVoid
from goldroom.reconcile.ledger_records import LedgerRecords
from goldroom.reconcile.network import step_holding
from goldroom.reconcile.priors import Quantities
from goldroom.statements import fold
from goldroom.statements.fields import parse
from goldroom.statements.other_metal import OtherMetalReceived
from goldroom.statements.record import RecordCorrected
from goldroom.statements.smelt import ChargePoured
from goldroom.statements.sweepings import SweepingsCollected
from goldroom.statements.table import TableRun
from tests.goldroom import story
from tests.goldroom.room import (
    act,
    codes,
    fitted,
    noticed,
    reading,
    refused,
    removed,
    say,
    vessel,
)
from tests.goldroom.story import (
    crossings,
    entry_of,
    in_vessel,
    item,
    last_stay,
    lot_room,
    upto,
)

AT = "2026-10-05T07:00:00+02:00"
LATER = "2026-10-07T09:00:00+02:00"
OTHERS = (("p-jonas", "officer"), ("p-sefu", "security"))
ESTIMATE = {
    "gold_g": "310", "gold_u_g": "60", "silver_g": "45", "silver_u_g": "15",
    "method": "from the last three strips",
}  # fmt: skip
SLUDGE: dict[str, Any] = {
    "item": "OM-3",
    "origin": "elution_sludge",
    "from_where": "the elution cell",
    "handed_over_name": "Pell Draven",
    "goes_to": "smelt",
    "place": "gold_room",
    "vessel": "D2",
    "gross": reading("21.5", "kg", "PS1"),
    "condition": "wet",
    "moisture_percent": "20",
    "oven": "OV1",
    "sample": "E-31",
    "closed": [{"vessel": "D2", "seals_fitted": [fitted("lid", "S-0010")]}],
}
ELUATE: dict[str, Any] = {
    "item": "EL-1",
    "origin": "elution_solution",
    "from_where": "the elution column",
    "handed_over_by": "p-ines",
    "goes_to": "electrowinning",
    "place": "gold_room",
    "vessel": "K1",
    "volume_l": "4200",
}
SWEPT: dict[str, Any] = {
    "item": "SW-1",
    "what": "tool_scrapings",
    "charges": ["CHG-1"],
    "place": "gold_room",
    "gross": reading("412.3", "g", "BB1"),
    "estimate": {**ESTIMATE, "gold_g": "35", "gold_u_g": "12",
                 "method": "panned a spoonful"},
}  # fmt: skip


def received(base: dict[str, Any] = SLUDGE, **changed: Any) -> dict[str, Any]:
    """Return what is said of a parcel, with some values changed (None drops one)."""
    said = {**base, **changed}
    return {name: value for name, value in said.items() if value is not None}


def room_with_a_tank() -> State:
    """Return the room of the lot's story with a tank of eluate in it."""
    state = lot_room()
    state.put(vessel("K1", "tank", "gold_room", {}))
    state.settle()
    return state


def contents(state: State, name: str):
    return Quantities(LedgerRecords.from_held(state.all_held())).of(name)


def test_elution_sludge_comes_in_from_outside_into_the_smelt():
    state = lot_room()
    said = say(state, OtherMetalReceived, SLUDGE, at=AT)
    held = item(state, "OM-3")
    assert (held.sort, held.source, held.step, held.status) == (
        "sludge", "other", "smelt", "held",
    )  # fmt: skip
    assert crossings(state, "OM-3") == [("", "smelt", "other metal")]
    assert last_stay(state, "OM-3").seals == ("S-0010",)
    weighed = latest_mass(state, "OM-3")
    assert weighed is not None
    # 21.5 kg gross less the drum's 18.2 kg; a fifth of it water
    assert (weighed.net_g, weighed.dry_g) == (Decimal("3300.000"), Decimal("2640.000"))
    told = state.get(OtherMetal, "OM-3")
    assert told is not None
    assert (told.origin, told.sample, told.handed_over_by) == (
        "elution_sludge", "E-31", "Pell Draven",
    )  # fmt: skip
    assert codes(state) == []
    assert said.sentence() == (
        "Elution sludge OM-3 (21.5 kg gross, wet, 20 % moisture) was received from the"
        " elution cell, handed over by Pell Draven, for the smelt; it counts as other"
        " metal and is in D2. Sample E-31 was taken of it. D2 was sealed: S-0010"
        " on lid."
    )


def test_it_enters_the_books_when_it_came_and_not_before():
    state = lot_room()
    say(state, OtherMetalReceived, SLUDGE, at=AT)
    data = LedgerRecords.from_held(state.all_held())
    held, passed = data.items["OM-3"], data.crossings["OM-3"]
    assert step_holding(held, passed, "2026-10-05T05:00:00Z") == ""
    assert step_holding(held, passed, "2026-10-05T05:00:01Z") == "smelt"


def test_eluate_has_a_volume_by_its_tank():
    state = room_with_a_tank()
    said = say(state, OtherMetalReceived, ELUATE, at=AT)
    held = item(state, "EL-1")
    assert (held.sort, held.step, in_vessel(state, "K1")) == (
        "solution", "electrowinning", ("EL-1",),
    )  # fmt: skip
    volume = state.get(Volume, "EL-1/001")
    assert volume is not None
    assert (volume.litres, volume.tank) == (Decimal(4200), "K1")
    assert said.sentence().startswith(
        "Elution solution EL-1 (4200 L) was received from the elution column, handed"
        " over by p-ines, for the electrowinning; it counts as other metal and is in"
        " K1. Nobody sampled it"
    )


def test_what_nobody_sampled_or_estimated_is_noticed():
    state = room_with_a_tank()
    say(state, OtherMetalReceived, ELUATE, at=AT)
    (found,) = noticed(state)
    assert (found.code, found.level, found.item) == (
        "other_metal_unsampled", "notice", "EL-1",
    )  # fmt: skip
    for n, more in enumerate(({"sample": "E-9"}, {"estimate": ESTIMATE})):
        say(state, OtherMetalReceived, {**ELUATE, "item": f"EL-{n + 2}", **more}, at=AT)
    assert len(noticed(state)) == 1


def test_an_estimate_stands_until_the_assay_comes():
    state = lot_room()
    said = say(
        state, OtherMetalReceived, received(sample=None, estimate=ESTIMATE), at=AT
    )
    found = state.get(Estimate, "OM-3/001")
    assert found is not None
    assert (found.gold_g, found.gold_u_g) == (Decimal(310), Decimal(60))
    assert contents(state, "OM-3").how == "estimate"
    assert said.sentence().endswith(
        " It is thought to hold 310 g of gold (± 60) and 45 g of silver (± 15): from"
        " the last three strips. D2 was sealed: S-0010 on lid."
    )


@pytest.mark.parametrize(
    ("origin", "said_source", "sort", "source"),
    [
        ("trap", None, "other", "other"),
        ("mill_liner", None, "other", "other"),
        ("trap", "gravity", "other", "gravity"),
        ("sump", "mixed", "other", "mixed"),
        ("gravity_circuit_cleanout", None, "other", "gravity"),
        ("gravity_circuit_cleanout", "other", "other", "other"),
        ("elution_sludge", None, "sludge", "other"),
    ],
)
def test_its_source_is_the_usual_one_of_its_origin_unless_said(
    origin: str, said_source: str | None, sort: str, source: str
):
    state = lot_room()
    values = received(origin=origin, source=said_source)
    say(state, OtherMetalReceived, values, at=AT)
    held = item(state, "OM-3")
    assert (held.sort, held.source) == (sort, source)


def test_what_was_weighed_wet_says_nothing_of_its_dry_mass():
    state = lot_room()
    said = say(state, OtherMetalReceived, received(moisture_percent=None), at=AT)
    weighed = latest_mass(state, "OM-3")
    assert weighed is not None
    assert weighed.wanted_for == "wet"
    assert contents(state, "OM-3").dry_mass is None
    assert "(21.5 kg gross, wet, moisture not known yet)" in said.sentence()
    say(state, OtherMetalReceived, received(
        item="OM-4", condition="dry", moisture_percent=None, closed=None, vessel="D2",
        opened=[{"vessel": "D2", "seals_removed": [removed("lid", "S-0010")]}],
    ), at=AT)  # fmt: skip
    dry = contents(state, "OM-4").dry_mass
    assert dry is not None
    assert dry.posted_g == Decimal("3300.000")


SHUT = [{"vessel": "D1", "seals_removed": [removed("lid", "S-0003")]}]


@pytest.mark.parametrize(
    ("changed", "code"),
    [
        pytest.param({}, None, id="as it was"),
        pytest.param({"item": "LOT-1"}, "item_id_used", id="an id used before"),
        pytest.param({"origin": "shop"}, "bad_field", id="an origin of no trade"),
        pytest.param({"goes_to": "table"}, "wrong_sort", id="sludge on a table"),
        pytest.param({"goes_to": "electrowinning"}, "wrong_sort", id="sludge in cells"),
        pytest.param({"goes_to": "leach"}, "wrong_sort", id="sludge in a leach"),
        pytest.param({"source": "gravity"}, "bad_field", id="elution as gravity"),
        pytest.param({"source": "mixed"}, "bad_field", id="elution as mixed"),
        pytest.param({"handed_over_name": None}, "bad_field", id="by nobody"),
        pytest.param({"handed_over_by": "p-ines"}, "bad_field", id="by two"),
        pytest.param(
            {"handed_over_name": None, "handed_over_by": "p-nobody"},
            "unknown_person",
            id="by a person not enrolled",
        ),
        pytest.param({"place": "attic"}, "unknown_place", id="in no known place"),
        pytest.param({"vessel": "D1"}, "vessel_sealed", id="into a sealed drum"),
        pytest.param({"vessel": "D1", "opened": SHUT}, None, id="into one opened"),
        pytest.param({"vessel": "D9"}, "unknown_vessel", id="into no known vessel"),
        pytest.param({"oven": "OV9"}, "unknown_instrument", id="no known oven"),
        pytest.param({"moisture_percent": "101"}, "moisture_over_100", id="all water"),
        pytest.param({"condition": "dry"}, "bad_field", id="moisture of a dry thing"),
        pytest.param({"condition": None}, "bad_field", id="neither dry nor wet"),
        pytest.param({"volume_l": "12"}, "bad_field", id="litres of sludge"),
        pytest.param(
            {"gross": None, "condition": None, "moisture_percent": None},
            "bad_field",
            id="neither weighed nor estimated",
        ),
        pytest.param(
            {"gross": None, "condition": None, "moisture_percent": None,
             "estimate": ESTIMATE},
            None,
            id="estimated and not weighed",
        ),
        pytest.param(
            {"gross": None, "condition": None, "moisture_percent": None,
             "estimate": ESTIMATE, "tare": reading("1.0", "kg", "PS1")},
            "bad_field",
            id="a tare alone",
        ),
        pytest.param(
            {"gross": reading("18.0", "kg", "PS1")}, "tare_over_gross", id="below tare"
        ),
        pytest.param(
            {"estimate": {**ESTIMATE, "gold_u_g": "0"}}, "out_of_range", id="exact"
        ),
    ],
)  # fmt: skip
def test_other_metal_is_refused(changed: dict[str, Any], code: str | None):
    values = received(**{"closed": None, **changed})
    assert refused(lot_room(), OtherMetalReceived, values, at=AT) == code


@pytest.mark.parametrize(
    ("changed", "code"),
    [
        pytest.param({}, None, id="as it was"),
        pytest.param({"goes_to": "leach"}, None, id="back to the leach"),
        pytest.param({"goes_to": "smelt"}, "wrong_sort", id="a solution to the smelt"),
        pytest.param({"goes_to": "table"}, "wrong_sort", id="a solution on a table"),
        pytest.param({"volume_l": None}, "bad_field", id="no volume"),
        pytest.param(
            {"gross": reading("4.0", "kg", "PS1"), "condition": "wet"},
            "bad_field",
            id="a mass beside the volume",
        ),
    ],
)
def test_eluate_is_refused(changed: dict[str, Any], code: str | None):
    values = received(ELUATE, **changed)
    assert refused(room_with_a_tank(), OtherMetalReceived, values, at=AT) == code


def corrected(state: State, kind: Any, entry: str, mode: str, values: Any) -> None:
    """Correct figures, or take the entry back."""
    said = {"entry": entry, "mode": mode, "kind": kind.kind_name, "reason": "misread."}
    if mode == "figures":
        said["values"] = values
    mended = parse(RecordCorrected, said)
    done = replace(
        act(RecordCorrected, at="2026-10-20T09:00:00+02:00", people=OTHERS),
        corrects_entry=entry,
    )
    fold.check(mended, done, state)
    fold.fold(mended, done, state)


def test_its_figures_are_put_right_as_versions_under_their_own_ids():
    state = lot_room()
    values = received(estimate=ESTIMATE)
    say(state, OtherMetalReceived, values, at=AT, entry="entry-om")
    right = {**values, "gross": reading("22.5", "kg", "PS1"), "moisture_percent": "25"}
    corrected(state, OtherMetalReceived, "entry-om", "figures", right)
    first, second = (state.get(Mass, f"OM-3/00{n}") for n in (1, 2))
    assert first is not None
    assert second is not None
    assert (first.dry_g, second.dry_g) == (Decimal("2640.000"), Decimal("3225.000"))
    assert first.moisture_id == second.moisture_id
    assert first.terms[0].reading_id == second.terms[0].reading_id
    assert item(state, "OM-3").estimates == 2


def test_it_can_be_taken_back_while_nothing_was_made_of_it():
    state = lot_room()
    say(state, OtherMetalReceived, SLUDGE, at=AT, entry="entry-om")
    corrected(state, OtherMetalReceived, "entry-om", "void", None)
    assert item(state, "OM-3").status == "void"
    assert in_vessel(state, "D2") == ()


def test_gravity_and_other_metal_run_over_one_table_are_mixed():
    state = lot_room()
    values = received(
        origin="trap", item="OM-1", goes_to="table", closed=None, vessel=None,
        tare=reading("0.0", "kg", "PS1"), place="gold_room",
    )  # fmt: skip
    say(state, OtherMetalReceived, values, at=AT)
    run = story.values("table", feed=["LOT-1", "OM-1"])
    say(state, TableRun, run, at="2026-10-05T08:00:00+02:00")
    assert item(state, "CON-1").source == "mixed"
    assert item(state, "OM-1").status == "consumed"


# --- sweepings --------------------------------------------------------------


def test_sweepings_come_out_of_the_smelt_that_lost_them():
    state = upto("slag")
    said = say(state, SweepingsCollected, SWEPT, at=LATER)
    held = item(state, "SW-1")
    assert (held.sort, held.step, held.source, held.parents) == (
        "sweepings", "smelt", "gravity", ("CHG-1",),
    )  # fmt: skip
    assert crossings(state, "SW-1") == [("smelt", "smelt", "smelt")]
    assert contents(state, "SW-1").how == "estimate"
    assert said.sentence() == (
        "Tool scrapings SW-1 were collected, lost from CHG-1: 412.3 g gross, thought"
        " to hold 35 g of gold (± 12) and 45 g of silver (± 15): panned a spoonful."
    )


def test_sweepings_of_pours_nobody_can_name_have_a_source_said():
    state = upto("slag")
    values = received(SWEPT, charges=None, source="mixed", what="floor_sweepings")
    said = say(state, SweepingsCollected, values, at=LATER)
    assert item(state, "SW-1").source == "mixed"
    assert "of pours that nobody can name; they count as mixed metal" in said.sentence()


def test_sweepings_can_be_charged_again():
    state = upto("slag")
    say(state, SweepingsCollected, SWEPT, at=LATER)
    again = {"charge": "CHG-2", "opened": None, "sources": [{"item": "SW-1"}]}
    assert story.refused(state, "charge", again) is None


@pytest.mark.parametrize(
    ("changed", "code"),
    [
        pytest.param({}, None, id="as it was"),
        pytest.param({"item": "BAR-1"}, "item_id_used", id="a bar's id"),
        pytest.param({"what": "dust"}, "bad_field", id="no trade word"),
        pytest.param({"charges": ["CHG-9"]}, "unknown_item", id="a pour never made"),
        pytest.param({"charges": ["LOT-1"]}, "wrong_sort", id="a lot for a charge"),
        pytest.param({"charges": None}, "bad_field", id="neither pour nor source"),
        pytest.param({"source": "gravity"}, "bad_field", id="both pour and source"),
        pytest.param({"place": "attic"}, "unknown_place", id="in no known place"),
        pytest.param({"vessel": "S9"}, "unknown_vessel", id="in no known vessel"),
        pytest.param({"estimate": None}, "bad_field", id="without an estimate"),
        pytest.param(
            {"estimate": {**ESTIMATE, "silver_u_g": "0"}}, "out_of_range", id="exact"
        ),
        pytest.param(
            {"tare": reading("500.0", "g", "BB1")}, "tare_over_gross", id="below tare"
        ),
    ],
)
def test_sweepings_are_refused(changed: dict[str, Any], code: str | None):
    values = received(SWEPT, **changed)
    assert refused(upto("slag"), SweepingsCollected, values, at=LATER) == code


def test_a_charge_not_poured_has_lost_nothing_yet():
    values = received(SWEPT)
    at = "2026-10-06T08:00:00+02:00"
    assert (
        refused(upto("charge"), SweepingsCollected, values, at=at)
        == "not_in_this_state"
    )


def test_sweepings_figures_are_put_right_and_sweepings_taken_back():
    state = upto("slag")
    say(state, SweepingsCollected, SWEPT, at=LATER, entry="entry-sw")
    right = {**SWEPT, "estimate": {**SWEPT["estimate"], "gold_g": "20"}}
    corrected(state, SweepingsCollected, "entry-sw", "figures", right)
    gold = contents(state, "SW-1").gold
    assert gold is not None
    assert gold.posted_g == Decimal("20.000")
    other = upto("slag")
    say(other, SweepingsCollected, SWEPT, at=LATER, entry="entry-sw")
    corrected(other, SweepingsCollected, "entry-sw", "void", None)
    assert item(other, "SW-1").status == "void"


def test_a_pour_is_not_taken_back_under_its_sweepings():
    state = upto("slag")
    say(state, SweepingsCollected, SWEPT, at=LATER)
    with pytest.raises(CannotVoid):
        corrected(state, ChargePoured, entry_of("pour"), "void", None)
