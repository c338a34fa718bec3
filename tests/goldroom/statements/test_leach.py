"""The intensive leach: charged, dosed, sampled, drained, washed, discharged."""

from dataclasses import replace
from decimal import Decimal
from typing import Any

import pytest

from goldroom.custody.figures import latest_mass
from goldroom.custody.leach import LeachBatch, LeachReading, LeachReagent
from goldroom.custody.records import (
    Assay,
    Item,
    Limit,
    SealPoint,
    Vessel,
    Volume,
)
from goldroom.custody.state import State
from goldroom.errors import CannotVoid, ItemConsumed, NotInThisState, WrongSort
from goldroom.metal.titration import titrant_g_l
from goldroom.statements import fold
from goldroom.statements.assays import AssayReported
from goldroom.statements.fields import parse
from goldroom.statements.leach_residue import LeachReleased
from goldroom.statements.record import RecordCorrected
from goldroom.statements.slag import SlagWeighed
from goldroom.statements.table import TableRun
from tests.goldroom import leach_story as leach
from tests.goldroom.leach_story import STAGES, entry_of, refused, tell, told, upto
from tests.goldroom.room import act, codes, fitted, noticed, reading, say, vessel
from tests.goldroom.room import refused as room_refused
from tests.goldroom.story import (
    CHEMISTS,
    add_item,
    crossings,
    in_vessel,
    item,
    last_stay,
)

DRAINED = leach.values("drained")["solution"]
WASHED = leach.values("washed")["solution"]
RESIDUE = leach.values("discharged")["residues"][0]
ROOM_STAGES = [name for name in STAGES if not name.endswith("assayed")]


def batch(state: State, name: str = "LB-1") -> LeachBatch:
    """Return a batch that must be there."""
    found = state.get(LeachBatch, name)
    assert found is not None
    return found


def litres(state: State, name: str) -> tuple[Decimal, str]:
    """Return an item's newest volume, and the gauge or tank that showed it."""
    found = state.get(Volume, f"{name}/{item(state, name).volumes:03d}")
    assert found is not None
    return found.litres, found.tank


# --- charged ------------------------------------------------------------------


def test_charged_lot_passes_from_the_table_into_the_batch_in_its_sealed_vessel():
    state = upto("charged")
    made = item(state, "LB-1")
    assert (made.sort, made.status, made.step) == ("leach_batch", "held", "leach")
    assert (made.parents, made.source) == (("LOT-1",), "gravity")
    assert crossings(state, "LB-1") == [("leach", "leach", "leach")]
    lot = item(state, "LOT-1")
    assert (lot.status, lot.children[-1]) == ("consumed", "LB-1")
    assert crossings(state, "LOT-1")[-1] == ("table", "leach", "leach")
    assert in_vessel(state, "D1") == ()
    assert in_vessel(state, "LV1") == ("LB-1",)
    assert last_stay(state, "LB-1").seals == ("S-0004",)
    assert (batch(state).status, batch(state).vessel) == ("leaching", "LV1")
    assert codes(state) == []


def test_reagents_charged_are_rows_of_their_own():
    state = upto("charged")
    at = f"LB-1/{entry_of('charged')}"
    found = [state.get(LeachReagent, f"{at}/{n:02d}/001") for n in range(2)]
    assert [(each.reagent, each.mass_kg) for each in found if each] == [
        ("caustic soda", Decimal(6)),
        ("sodium cyanide", Decimal(60)),
    ]


def extra_source(sort: str, name: str = "X-1", **more: str) -> State:
    """Return a room before charging with one thing more to charge."""
    state = told(before="charged")
    add_item(state, name, sort, step="table", **more)
    return state


@pytest.mark.parametrize(
    ("changed", "code"),
    [
        pytest.param({}, None, id="as it was"),
        pytest.param({"batch": "LOT-1"}, "item_id_used", id="id of the lot"),
        pytest.param({"vessel": "TK1"}, "wrong_sort", id="a tank for a leach vessel"),
        pytest.param({"vessel": "LV9"}, "unknown_vessel", id="a vessel nobody has"),
        pytest.param({"opened": None}, "vessel_sealed", id="lot's drum not opened"),
        pytest.param(
            {"sources": [{"item": "LOT-9"}]}, "unknown_item", id="a lot nobody made"
        ),
        pytest.param(
            {"sources": [{"item": "LS-1"}]}, "wrong_sort", id="a sample of the lot"
        ),
        pytest.param(
            {"sources": [{"item": "LOT-1"}] * 2}, "bad_field", id="one lot twice"
        ),
        pytest.param(
            {"sources": [{"item": "LOT-1", "tare": reading("18.5", "kg", "PS1")}]},
            "bad_field",
            id="tare without gross",
        ),
        pytest.param(
            {"sources": [{"item": "LOT-1", "moisture_percent": "12"}]},
            "bad_field",
            id="moisture without a mass",
        ),
        pytest.param(
            {"sources": [{"item": "LOT-1", "gross": reading("601.0", "kg", "PS1")}]},
            "over_capacity",
            id="over the scale's capacity",
        ),
        pytest.param(
            {"sources": [{"item": "LOT-1", "gross": reading("398.0", "kg", "PS1"),
                          "oven": "OV9"}]},
            "unknown_instrument",
            id="an oven nobody has",
        ),
        pytest.param({"target_ph": "14.1"}, "bad_field", id="a pH that cannot be"),
        pytest.param(
            {"reagents": [{"reagent": "lime", "mass_kg": "-1"}]},
            "bad_field",
            id="less than no lime",
        ),
        pytest.param(
            {"closed": [{"vessel": "LV1", "seals_fitted": [fitted("lid", "S-0002")]}]},
            "seal_already_used",
            id="a seal used before",
        ),
    ],
)  # fmt: skip
def test_charging_is_refused(changed: dict[str, Any], code: str | None):
    assert refused(told(before="charged"), "charged", changed) == code


def test_a_sealed_leach_vessel_is_not_reached_into():
    state = told(before="charged")
    state.put(vessel("LV1", "leach_vessel", "gold_room", {"lid": "S-0030"}))
    assert refused(state, "charged", {"closed": None}) == "vessel_sealed"


def test_a_vessel_still_holding_a_batch_is_refused():
    state = upto("sampled")
    add_item(state, "LOT-2", "lot", step="table", dry_kg="100")
    changed = {"batch": "LB-2", "sources": [{"item": "LOT-2"}], "opened": None,
               "closed": None}  # fmt: skip
    seal(state, "LV1", "")
    with pytest.raises(NotInThisState, match="the batch before is still in it"):
        tell(state, "charged", **changed)


def seal(state: State, name: str, number: str) -> None:
    """Put a seal on a vessel's lid, or take it off with no number."""
    held = state.get(Vessel, name)
    assert held is not None
    state.put(replace(held, points=(SealPoint(point="lid", seal=number),)))


def test_a_lot_charged_before_is_refused_and_told_where_it_went():
    state = upto("charged")
    state.put(vessel("LV2", "leach_vessel", "gold_room", {}))
    changed = {"batch": "LB-2", "vessel": "LV2", "opened": None, "closed": None}
    with pytest.raises(ItemConsumed, match="went into LB-1"):
        tell(state, "charged", **changed)


def test_slag_is_leached_only_with_a_mass_and_an_estimate():
    state = extra_source("slag", "SLAG-1")
    changed = {"sources": [{"item": "LOT-1"}, {"item": "SLAG-1"}]}
    assert refused(state, "charged", changed) == "estimate_missing"
    weighed = {
        "item": "SLAG-1", "gross": reading("12.0", "kg", "PS1"), "gold_g": "9",
        "gold_u_g": "3", "silver_g": "4", "silver_u_g": "2", "method": "panned",
    }  # fmt: skip
    say(state, SlagWeighed, weighed)
    assert refused(state, "charged", changed) is None


def test_a_solution_used_again_goes_by_its_volume_not_by_a_mass():
    state = extra_source("solution", "BAR-0")
    gross = reading("100.0", "kg", "PS1")
    sources = [{"item": "LOT-1"}, {"item": "BAR-0", "gross": gross}]
    assert refused(state, "charged", {"sources": sources}) == "bad_field"
    tell(state, "charged", sources=[{"item": "LOT-1"}, {"item": "BAR-0"}])
    assert item(state, "LB-1").parents == ("LOT-1", "BAR-0")


def test_other_metal_makes_the_batch_a_mixed_one():
    state = told(before="charged")
    add_item(state, "TRAP-1", "other", step="smelt", dry_kg="5")
    state.put(replace(item(state, "TRAP-1"), source="other"))
    tell(state, "charged", sources=[{"item": "LOT-1"}, {"item": "TRAP-1"}])
    assert item(state, "LB-1").source == "mixed"
    assert crossings(state, "TRAP-1")[-1] == ("smelt", "leach", "leach")


@pytest.mark.parametrize(
    ("gross", "moisture", "found"),
    [
        pytest.param("398.0", None, [], id="what the book says, its sample taken off"),
        pytest.param("414.6", "4.0", [], id="the same, wet"),
        pytest.param("380.0", None, ["item_lost_mass"], id="18 kg less"),
        pytest.param("418.0", None, ["item_gained_mass"], id="20 kg more"),
    ],
)
def test_a_lot_weighed_again_is_compared_dry_with_the_book(gross, moisture, found):
    state = told(before="charged")
    row: dict[str, Any] = {"item": "LOT-1", "gross": reading(gross, "kg", "PS1")}
    if moisture:
        row |= {"moisture_percent": moisture, "oven": "OV1"}
    tell(state, "charged", sources=[row], solids_t=None)
    assert codes(state) == found


@pytest.mark.parametrize(
    ("changed", "found"),
    [
        pytest.param({"solids_t": "0.41"}, [], id="solids about as weighed"),
        pytest.param({"solids_t": "0.44"}, ["leach_solids_differ"], id="a tenth more"),
        pytest.param({"solids_t": None}, [], id="solids not told"),
        pytest.param({"target_ph": "9.9"}, ["leach_alkalinity_low"], id="pH too low"),
        pytest.param({"target_ph": "10"}, [], id="pH just there"),
        pytest.param(
            {"reagents": [{"reagent": "sodium cyanide", "mass_kg": "600"}]},
            ["leach_reagent_unusual"],
            id="ten times the cyanide",
        ),
        pytest.param(
            {"reagents": [{"reagent": "sodium cyanide", "mass_kg": "79"}]},
            [],
            id="much cyanide",
        ),
    ],
)
def test_charging_is_noticed(changed: dict[str, Any], found: list[str]):
    state = told(before="charged")
    tell(state, "charged", **changed)
    assert codes(state) == found


def test_charging_reads_aloud():
    said = tell(told(before="charged"), "charged")
    assert said.sentence() == (
        "Leach batch LB-1 was charged into LV1 from LOT-1 (about 0.40 t dry), with"
        " 3000 L of water, 6 kg of caustic soda and 60 kg of sodium cyanide; pH 12.0"
        " is aimed at. D1 was opened: S-0003 on lid (no tamper signs). LV1 was sealed:"
        " S-0004 on lid."
    )


# --- while it runs ------------------------------------------------------------


def test_samples_are_drawn_off_the_batch_and_stay_held_by_the_leach():
    state = upto("sampled")
    assert item(state, "LB-1").drawn == ("SS-1", "SS-2")
    sample = item(state, "SS-1")
    assert (sample.drawn_from, sample.step, sample.sort) == ("LB-1", "leach", "sample")
    assert sample.label == "solution of LB-1, taken by Amara Venn"
    assert litres(state, "SS-1") == (Decimal("0.050"), "")
    assert codes(state) == []


def test_cyanide_is_worked_out_from_the_burette():
    """8.40 mL of 1.7332 g/L on 25.0 mL: own example of silver taking two cyanides."""
    state = upto("sampled")
    found = state.get(LeachReading, f"LB-1/{entry_of('sampled')}/001")
    assert found is not None
    assert (found.ph, found.oxygen_mg_l) == (Decimal("11.8"), Decimal("18.5"))
    assert (found.cyanide_mg_l, found.cyanide_by) == (Decimal("336.0"), "titration")


@pytest.mark.source("stoichiometry, IUPAC weights: 1 mL of 1.7331 g/L is 1 mg NaCN")
def test_a_titrant_of_one_milligram_tells_the_cyanide_by_its_millilitres():
    state = upto("charged")
    strength = f"{titrant_g_l(1, 'NaCN'):.4f}"
    titration = {"titrant_ml": "12.5", "titrant_g_l": strength, "sample_ml": "10"}
    tell(state, "sampled", titration=titration)
    found = state.get(LeachReading, f"LB-1/{entry_of('sampled')}/001")
    assert found is not None
    assert found.cyanide_mg_l == Decimal("1250.0")


@pytest.mark.parametrize(
    ("changed", "code"),
    [
        pytest.param({}, None, id="as it was"),
        pytest.param({"batch": "LB-9"}, "unknown_item", id="a batch nobody charged"),
        pytest.param({"batch": "LOT-1"}, "wrong_sort", id="a lot for a batch"),
        pytest.param({"ph": None}, "bad_field", id="no pH"),
        pytest.param({"ph": "14.2"}, "bad_field", id="a pH that cannot be"),
        pytest.param({"cyanide_mg_l": "336"}, "bad_field", id="typed and titrated"),
        pytest.param(
            {"titration": {"titrant_ml": "8.4", "titrant_g_l": "1.7332",
                           "sample_ml": "0"}},
            "bad_field",
            id="a sample of nothing",
        ),
        pytest.param(
            {"samples": [{"item": "LS-1", "volume_ml": "50", "taken_by": "A"}]},
            "item_id_used",
            id="id of another sample",
        ),
        pytest.param(
            {"samples": [{"item": "SS-1", "volume_ml": "50", "taken_by": "A"}] * 2},
            "item_id_used",
            id="one id for two samples",
        ),
    ],
)  # fmt: skip
def test_sampling_is_refused(changed: dict[str, Any], code: str | None):
    assert refused(upto("charged"), "sampled", changed) == code


@pytest.mark.parametrize(
    ("limit", "ph", "found"),
    [
        pytest.param(None, "10.0", [], id="at the limit"),
        pytest.param(None, "9.9", ["leach_alkalinity_low"], id="below it"),
        pytest.param("11", "10.9", ["leach_alkalinity_low"], id="below the site's own"),
    ],
)
def test_low_alkalinity_is_noticed_at_once(limit, ph, found):
    """pH above 10 keeps hydrogen cyanide in solution: common practice."""
    state = upto("charged")
    if limit:
        state.put(
            Limit(name="leach_ph_min", value=Decimal(limit), unit="pH", reason="site",
                  set_by="e")
        )  # fmt: skip
    tell(state, "sampled", ph=ph)
    assert codes(state) == found
    for each in noticed(state):
        assert each.level == "exception"
        assert "site's cyanide procedure" in each.message
        assert "rescue never waits" in each.message


def test_sampling_reads_aloud_and_says_what_was_worked_out():
    state = upto("charged")
    assert tell(state, "sampled").sentence() == (
        "Leach batch LB-1 showed pH 11.8, dissolved oxygen 18.5 mg/L and free cyanide"
        " 336.0 mg/L NaCN (8.40 mL of silver nitrate at 1.7332 g/L on 25.0 mL). Samples"
        " of its solution: SS-1 (50 mL, by Amara Venn) and SS-2 (50 mL, by Leith"
        " Orban)."
    )
    typed = parse(STAGES["sampled"][0], {"batch": "LB-1", "ph": "11.2",
                                         "cyanide_mg_l": "900"})  # fmt: skip
    assert typed.sentence() == (
        "Leach batch LB-1 showed pH 11.2 and free cyanide 900 mg/L NaCN."
    )


def test_reagents_issued_later_are_kept_with_their_reason():
    state = upto("dosed")
    found = state.get(LeachReagent, f"LB-1/{entry_of('dosed')}/00/001")
    assert found is not None
    assert (found.mass_kg, found.reason) == (Decimal("12.5"), "cyanide fell")
    assert batch(state).entry == entry_of("charged")


@pytest.mark.parametrize(
    ("changed", "code"),
    [
        pytest.param({}, None, id="as it was"),
        pytest.param({"batch": "LB-9"}, "unknown_item", id="a batch nobody charged"),
        pytest.param({"reagents": None}, "bad_field", id="no reagent"),
        pytest.param({"reason": None}, "bad_field", id="no reason"),
    ],
)
def test_dosing_is_refused(changed: dict[str, Any], code: str | None):
    assert refused(upto("charged"), "dosed", changed) == code


def test_an_unusual_dose_is_accepted_and_noticed():
    state = upto("sampled")
    tell(state, "dosed", reagents=[{"reagent": "sodium cyanide", "mass_kg": "125"}])
    assert codes(state) == ["leach_reagent_unusual"]
    assert "125 kg of sodium cyanide" in noticed(state)[0].found


def test_dosing_reads_aloud():
    state = upto("washed")
    assert tell(state, "made_up").sentence() == (
        "Leach batch LB-1 was given 30 kg of sodium cyanide and made up anew with 2000"
        " L of water: second leach."
    )


# --- solutions ----------------------------------------------------------------


def test_pregnant_solution_passes_to_electrowinning_and_the_batch_stays_held():
    state = upto("drained")
    made = item(state, "SOL-1")
    assert (made.sort, made.step) == ("solution", "electrowinning")
    assert made.drawn_from == "LB-1"
    assert crossings(state, "SOL-1") == [("leach", "electrowinning", "electrowinning")]
    assert litres(state, "SOL-1") == (Decimal(3000), "TK1")
    stay = last_stay(state, "SOL-1")
    assert (stay.vessel, stay.seals) == ("TK1", ("S-0005",))
    assert item(state, "LB-1").status == "held"
    assert batch(state).status == "drained"
    assert codes(state) == []


def test_samples_of_a_solution_are_drawn_off_it_after_its_volume_was_read():
    state = upto("drained")
    assert item(state, "SOL-1").drawn == ("SOL-1-1", "SOL-1-2")
    sample = item(state, "SOL-1-1")
    assert (sample.drawn_from, sample.step) == ("SOL-1", "electrowinning")
    assert litres(state, "SOL-1-1") == (Decimal("0.050"), "")


@pytest.mark.parametrize(
    ("changed", "code"),
    [
        pytest.param({}, None, id="as it was"),
        pytest.param({"batch": "LB-9"}, "unknown_item", id="a batch nobody charged"),
        pytest.param({"opened": None}, "vessel_sealed", id="leach vessel not opened"),
        pytest.param(
            {"solution": {**DRAINED, "tank": "D1"}}, "wrong_sort", id="a drum for tank"
        ),
        pytest.param(
            {"solution": {**DRAINED, "tank": "TK9"}}, "unknown_vessel", id="no tank"
        ),
        pytest.param(
            {"solution": {k: v for k, v in DRAINED.items() if k != "tank"}},
            "bad_field",
            id="its table, but no tank",
        ),
        pytest.param(
            {"solution": {**DRAINED, "gauge": "FM-1"}},
            "bad_field",
            id="by the table and by a meter",
        ),
        pytest.param(
            {"solution": {**DRAINED, "measured_by": "flow_meter"}},
            "bad_field",
            id="by a meter nobody names",
        ),
        pytest.param(
            {"solution": {**DRAINED, "measured_by": "marked_drum", "gauge": "D9"}},
            "unknown_vessel",
            id="by a drum nobody has",
        ),
        pytest.param(
            {"solution": {k: v for k, v in {**DRAINED, "measured_by": "flow_meter",
                                            "gauge": "FM-1"}.items() if k != "tank"}},
            "bad_field",
            id="metered into no tank",
        ),
        pytest.param(
            {"solution": {**DRAINED, "volume_l": "0"}}, "bad_field", id="no litre"
        ),
        pytest.param(
            {"solution": {**DRAINED, "item": "LB-1"}}, "item_id_used", id="batch's id"
        ),
        pytest.param(
            {"solution": {**DRAINED, "item": "SOL-1-1"}},
            "item_id_used",
            id="one id for the solution and its sample",
        ),
        pytest.param(
            {"solution": {**DRAINED, "measured_by": "marked_drum", "gauge": "D2"}},
            None,
            id="drum by drum into the tank",
        ),
    ],
)  # fmt: skip
def test_draining_is_refused(changed: dict[str, Any], code: str | None):
    assert refused(upto("dosed"), "drained", changed) == code


def test_a_sealed_tank_takes_no_solution():
    state = upto("dosed")
    state.put(vessel("TK1", "tank", "gold_room", {"hatch": "S-0030"}))
    assert refused(state, "drained", {"closed": None}) == "vessel_sealed"


def test_a_solution_drained_twice_is_refused_until_something_was_put_in():
    state = upto("drained")
    again = {"solution": leach.solution("SOL-9", "100", "TK2"), "opened": None,
             "closed": None}  # fmt: skip
    with pytest.raises(NotInThisState, match="cannot be drained twice"):
        tell(state, "drained", **again)
    tell(state, "washed")
    assert refused(state, "drained", again) is None


def test_a_batch_made_up_anew_is_drained_again():
    state = upto("made_up")
    assert batch(state).status == "leaching"
    tell(state, "drained_again")
    assert batch(state).status == "drained"
    assert item(state, "LB-1").drawn[-2:] == ("SOL-2", "SOL-3")


@pytest.mark.parametrize(
    ("takers", "found"),
    [
        pytest.param((), [], id="no sample yet"),
        pytest.param(("Amara Venn",), ["single_solution_sample"], id="only one"),
        pytest.param(
            ("Amara Venn", "amara  venn"), ["single_solution_sample"], id="one hand"
        ),
        pytest.param(("Amara Venn", "Noor Hale"), [], id="two hands"),
    ],
)
def test_two_independent_samples_are_wanted(takers, found):
    state = upto("dosed")
    tell(state, "drained", solution=leach.solution("SOL-1", "3000", "TK1", *takers))
    assert codes(state) == found


def test_draining_reads_aloud():
    state = upto("dosed")
    warm = {**DRAINED, "temperature_c": "24"}
    assert tell(state, "drained", solution=warm).sentence() == (
        "Leach batch LB-1 was drained: pregnant solution SOL-1 (3000 L at 24 °C by the"
        " tank's table, into tank TK1, sampled as SOL-1-1 (50 mL, by Amara Venn) and"
        " SOL-1-2 (50 mL, by Noor Hale)). LV1 was opened: S-0004 on lid (no tamper"
        " signs). TK1 was sealed: S-0005 on hatch."
    )


@pytest.mark.parametrize(
    ("goes_to", "step", "passed"),
    [
        ("electrowinning", "electrowinning", [("leach", "electrowinning")]),
        ("next_batch", "leach", [("leach", "leach")]),
        ("mill", "leach", [("leach", "leach"), ("leach", "")]),
    ],
)
def test_wash_solution_goes_where_it_is_said(goes_to, step, passed):
    state = upto("drained")
    row = {**WASHED}
    if goes_to == "mill":
        del row["tank"]
    tell(state, "washed", solution=row, goes_to=goes_to)
    made = item(state, "SOL-2")
    assert made.step == step
    assert made.status == ("left" if goes_to == "mill" else "held")
    assert [each[:2] for each in crossings(state, "SOL-2")] == passed
    assert litres(state, "SOL-2") == (Decimal(1000), "FM-2")
    assert batch(state).status == "washed"


def test_wash_solution_kept_is_charged_into_the_next_batch():
    state = upto("drained")
    tell(state, "washed", goes_to="next_batch")
    tell(state, "discharged")
    add_item(state, "LOT-2", "lot", step="table", dry_kg="300")
    sources = [{"item": "LOT-2"}, {"item": "SOL-2"}]
    tell(state, "charged", batch="LB-2", sources=sources, opened=None, closed=None,
         solids_t="0.3")  # fmt: skip
    assert item(state, "SOL-2").status == "consumed"
    assert crossings(state, "SOL-2")[-1] == ("leach", "leach", "leach")
    assert in_vessel(state, "TK2") == ()


@pytest.mark.parametrize(
    ("changed", "code"),
    [
        pytest.param({}, None, id="as it was"),
        pytest.param({"goes_to": "sump"}, "bad_field", id="to where nobody keeps it"),
        pytest.param({"goes_to": None}, "bad_field", id="to nowhere"),
        pytest.param({"goes_to": "mill"}, "bad_field", id="to the mill, in a tank"),
        pytest.param(
            {"solution": {k: v for k, v in WASHED.items() if k != "tank"}},
            "bad_field",
            id="kept in no tank",
        ),
        pytest.param({"water_l": "0"}, "bad_field", id="washed with nothing"),
        pytest.param(
            {"solution": {**WASHED, "item": "SOL-1"}}, "item_id_used", id="used before"
        ),
    ],
)
def test_washing_is_refused(changed: dict[str, Any], code: str | None):
    assert refused(upto("drained"), "washed", changed) == code


def test_what_was_not_drained_is_not_washed():
    with pytest.raises(NotInThisState, match="pregnant solution is still in it"):
        tell(upto("dosed"), "washed")


def test_washing_reads_aloud():
    assert tell(upto("drained"), "washed").sentence() == (
        "Leach batch LB-1 was washed with 1000 L of water: wash solution SOL-2 (1000 L"
        " by flow meter FM-2, into tank TK2), for electrowinning."
    )


# --- the residue --------------------------------------------------------------


def test_residue_ends_the_batch_and_goes_to_the_mill_less_its_sample():
    state = upto("discharged")
    assert (item(state, "LB-1").status, in_vessel(state, "LV1")) == ("consumed", ())
    assert batch(state).status == "discharged"
    residue = item(state, "RES-1")
    assert (residue.status, residue.drawn) == ("left", ("RS-1",))
    assert crossings(state, "RES-1") == [
        ("leach", "leach", "leach"),
        ("leach", "", "mill"),
    ]
    weighed, sample = latest_mass(state, "RES-1"), latest_mass(state, "RS-1")
    assert weighed is not None
    assert sample is not None
    # (515.7 - 18.2 registered tare) kg, and 500 g, at 20 % moisture.
    assert (weighed.dry_g, sample.dry_g) == (Decimal(398000), Decimal(400))
    assert weighed.moisture_id == sample.moisture_id
    assert (item(state, "RS-1").step, item(state, "RS-1").status) == ("leach", "held")
    assert codes(state) == []


@pytest.mark.parametrize(
    ("goes_to", "step", "words"),
    [
        ("kept", "leach", "kept in D2"),
        ("leach", "leach", "in D2 to be leached again"),
        ("table", "table", "in D2 for the table"),
    ],
)
def test_residue_kept_is_held_by_the_step_that_will_use_it(goes_to, step, words):
    state = told(before="discharged")
    said = tell(state, "discharged", residues=[{**RESIDUE, "goes_to": goes_to}])
    residue = item(state, "RES-1")
    assert (residue.status, residue.step) == ("held", step)
    assert in_vessel(state, "D2") == ("RES-1",)
    assert words in said.sentence()


def test_residue_is_leached_again_or_run_over_the_table():
    state = told(before="discharged")
    state.put(vessel("T1", "table", "gold_room", {}))
    rows = [
        {**RESIDUE, "gross": reading("218.2", "kg", "PS1"), "goes_to": "leach"},
        {**RESIDUE, "item": "RES-2", "gross": reading("315.7", "kg", "PS1"),
         "goes_to": "table", "sample": None, "sample_mass": None},
    ]  # fmt: skip
    rows[1] = {k: v for k, v in rows[1].items() if v is not None}
    tell(state, "discharged", residues=rows)
    tell(state, "charged", batch="LB-2", sources=[{"item": "RES-1"}], opened=None,
         closed=None, solids_t=None, reagents=None)  # fmt: skip
    assert item(state, "LB-2").parents == ("RES-1",)
    tails = {"item": "TLS-1", "product": "tails", "goes_to": "mill",
             "gross": reading("200.0", "kg", "PS1")}  # fmt: skip
    say(state, TableRun, {"table": "T1", "feed": ["RES-2"], "products": [tails]},
        at="2026-10-08T14:00:00+02:00")  # fmt: skip
    assert item(state, "RES-2").status == "consumed"


@pytest.mark.parametrize(
    ("row", "code"),
    [
        pytest.param({}, None, id="as it was"),
        pytest.param({"goes_to": None}, "bad_field", id="no destination"),
        pytest.param(
            {"goes_to": "kept", "vessel": None}, "bad_field", id="kept in no vessel"
        ),
        pytest.param({"vessel": "D9"}, "unknown_vessel", id="in a drum nobody has"),
        pytest.param({"oven": "OV9"}, "unknown_instrument", id="an oven nobody has"),
        pytest.param(
            {"moisture_percent": "101"}, "moisture_over_100", id="wetter than water"
        ),
        pytest.param({"sample": None}, "bad_field", id="a sample's mass, no id"),
        pytest.param({"sample_mass": None}, "bad_field", id="a sample, no mass"),
        pytest.param({"sample": "RES-1"}, "item_id_used", id="one id for both"),
        pytest.param({"item": "LOT-1"}, "item_id_used", id="id of the lot"),
        pytest.param(
            {"gross": reading("18.1", "kg", "PS1")}, "tare_over_gross", id="below tare"
        ),
        pytest.param(
            {"gross": reading("18.4", "kg", "PS1")},
            "bad_field",
            id="a sample heavier than its residue",
        ),
    ],
)
def test_taking_residue_out_is_refused(row: dict[str, Any], code: str | None):
    changed = {**RESIDUE, **row}
    residues = [{name: each for name, each in changed.items() if each is not None}]
    found = refused(told(before="discharged"), "discharged", {"residues": residues})
    assert found == code


def test_a_sealed_leach_vessel_is_not_emptied():
    state = told(before="discharged")
    seal(state, "LV1", "S-0031")
    assert refused(state, "discharged", {}) == "vessel_sealed"


@pytest.mark.parametrize("stage", ["sampled", "dosed", "drained", "washed"])
def test_nothing_more_is_said_of_a_finished_batch(stage):
    assert refused(upto("discharged"), stage, {}) == "item_consumed"


def test_a_batch_not_drained_is_emptied_only_with_a_reason_which_is_noticed():
    state = upto("made_up")
    with pytest.raises(NotInThisState, match="write why it was not"):
        tell(state, "discharged")
    said = tell(state, "discharged", undrained="the drain was blocked")
    assert codes(state) == ["leach_undrained"]
    assert " It was not drained: the drain was blocked." in said.sentence()


def test_a_reason_for_not_draining_what_was_drained_is_refused():
    changed = {"undrained": "the drain was blocked"}
    assert refused(told(before="discharged"), "discharged", changed) == "bad_field"


@pytest.mark.parametrize(
    ("row", "found"),
    [
        pytest.param({"gross": reading("491.9", "kg", "PS1")}, [], id="4.8 % less"),
        pytest.param(
            {"gross": reading("490.7", "kg", "PS1")},
            ["leach_dry_mass_differs"],
            id="5.03 % less",
        ),
        pytest.param(
            {"gross": reading("541.0", "kg", "PS1")},
            ["leach_dry_mass_differs"],
            id="more than was charged",
        ),
        pytest.param(
            {"sample": None, "sample_mass": None}, ["residue_unsampled"], id="unsampled"
        ),
    ],
)
def test_residue_is_noticed(row: dict[str, Any], found: list[str]):
    state = told(before="discharged")
    changed = {k: v for k, v in {**RESIDUE, **row}.items() if v is not None}
    tell(state, "discharged", residues=[changed])
    assert codes(state) == found


def test_taking_residue_out_reads_aloud():
    assert tell(told(before="discharged"), "discharged").sentence() == (
        "The residue of leach batch LB-1 was taken out: RES-1 (515.7 kg gross, 20 %"
        " moisture, sampled as RS-1 (500.0 g), back to the mill). Left in the vessel:"
        " a film of solution."
    )


# --- let go ---------------------------------------------------------------------


def kept(**row: Any) -> State:
    """Return the story up to a residue kept in D2 and a wash solution kept in TK2."""
    state = upto("drained")
    tell(state, "washed", goes_to="next_batch")
    tell(state, "discharged", residues=[{**RESIDUE, "goes_to": "kept", **row}])
    return state


LATER = "2026-10-09T07:00:00+02:00"


@pytest.mark.parametrize(("name", "vessel_id"), [("RES-1", "D2"), ("SOL-2", "TK2")])
def test_what_the_leach_kept_goes_to_the_mill_later(name, vessel_id):
    state = kept()
    said = say(state, LeachReleased, {"item": name}, at=LATER)
    assert item(state, name).status == "left"
    assert crossings(state, name)[-1] == ("leach", "", "mill")
    assert in_vessel(state, vessel_id) == ()
    assert codes(state) == []
    assert said.sentence() == f"{name}, kept by the leach, went back to the mill."


@pytest.mark.parametrize(
    ("name", "code"),
    [
        ("RES-9", "unknown_item"),
        ("RS-1", "wrong_sort"),
        ("SOL-1", "not_in_this_state"),
        ("RES-1", None),
    ],
)
def test_letting_go_is_refused(name, code):
    found = room_refused(kept(), LeachReleased, {"item": name}, at=LATER)
    assert found == code


def test_residue_in_a_sealed_drum_or_gone_is_not_let_go():
    state = kept()
    seal(state, "D2", "S-0032")
    assert room_refused(state, LeachReleased, {"item": "RES-1"}) == "vessel_sealed"
    seal(state, "D2", "")
    say(state, LeachReleased, {"item": "RES-1"}, at=LATER)
    assert room_refused(state, LeachReleased, {"item": "RES-1"}) == "item_not_held"


def test_residue_let_go_without_a_sample_is_noticed():
    row = {name: each for name, each in RESIDUE.items() if "sample" not in name}
    state = upto("drained")
    tell(state, "discharged", residues=[{**row, "goes_to": "kept"}])
    say(state, LeachReleased, {"item": "RES-1"}, at=LATER)
    assert codes(state) == ["residue_unsampled"]


# --- results, corrections, voids ----------------------------------------------


def test_a_sample_off_a_batch_is_assayed_as_a_solution():
    state = told()
    wanted = {
        name: state.get(Assay, f"{name}/001") for name in ("SS-1", "SOL-1", "RES-1")
    }
    assert {name: each.wanted_for for name, each in wanted.items() if each} == {
        "SS-1": "solution", "SOL-1": "solution", "RES-1": "residue",
    }  # fmt: skip


def test_a_running_batch_is_not_assayed_itself():
    state = upto("drained")
    report = leach.results("mg_l", (["LB-1"], "600", "70"))
    with pytest.raises(WrongSort, match="is a leach batch; expected load"):
        say(state, AssayReported, report, people=CHEMISTS)


def correct(state: State, stage: str, mode: str, **changed: Any) -> None:
    """Put a stage's figures right, or take it back."""
    values: dict[str, Any] = {
        "entry": entry_of(stage),
        "mode": mode,
        "kind": STAGES[stage][0].kind_name,
        "reason": "read from the wrong line",
    }
    if mode == "figures":
        values["values"] = leach.values(stage, **changed)
    said = parse(RecordCorrected, values)
    others = (("p-jonas", "officer"), ("p-sefu", "security"))
    done = replace(
        act(RecordCorrected, at="2026-10-20T09:00:00+02:00", people=others),
        corrects_entry=entry_of(stage),
    )
    fold.check(said, done, state)
    fold.fold(said, done, state)


def test_figures_of_a_reading_are_put_right_as_a_new_version():
    state = upto("dosed")
    correct(state, "sampled", "figures", ph="11.9")
    at = f"LB-1/{entry_of('sampled')}"
    first, second = (state.get(LeachReading, f"{at}/00{n}") for n in (1, 2))
    assert first is not None
    assert second is not None
    assert (first.ph, second.ph) == (Decimal("11.8"), Decimal("11.9"))
    assert second.at == first.at
    assert item(state, "SS-1").volumes == 2
    correct(state, "dosed", "figures",
            reagents=[{"reagent": "sodium cyanide", "mass_kg": "21.5"}])  # fmt: skip
    dosed = state.get(LeachReagent, f"LB-1/{entry_of('dosed')}/00/002")
    assert dosed is not None
    assert dosed.mass_kg == Decimal("21.5")


def test_a_volume_put_right_keeps_its_readings_own_error():
    state = told()
    row = {**DRAINED, "volume_l": "3010"}
    correct(state, "drained", "figures", solution=row)
    first, second = (state.get(Volume, f"SOL-1/00{n}") for n in (1, 2))
    assert first is not None
    assert second is not None
    assert (first.litres, second.litres) == (Decimal(3000), Decimal(3010))
    assert first.volume_id == second.volume_id
    assert item(state, "LB-1").drawn.count("SOL-1") == 1


def test_masses_of_charge_and_residue_are_put_right():
    weighed = {"item": "LOT-1", "gross": reading("398.0", "kg", "PS1")}
    state = told(charged={"sources": [weighed]})
    weighed = {**weighed, "gross": reading("397.5", "kg", "PS1")}
    correct(state, "charged", "figures", sources=[weighed])
    correct(state, "discharged", "figures",
            residues=[{**RESIDUE, "gross": reading("515.2", "kg", "PS1")}])  # fmt: skip
    found = [latest_mass(state, name) for name in ("LOT-1", "RES-1")]
    assert [each.dry_g for each in found if each] == [
        Decimal(397500),
        Decimal(397600),
    ]


@pytest.mark.parametrize("stage", ROOM_STAGES)
def test_every_stage_is_taken_back_while_nothing_was_built_on_it(stage):
    state = told(before=stage)
    earlier = state.all_held()
    tell(state, stage)
    correct(state, stage, "void")
    now = state.all_held()
    new = {at for at in now if at not in earlier}
    assert {table for table, _ in new} <= {"item", "said", "finding"}
    voided = [now[at] for at in new if at[0] == "item"]
    assert all(isinstance(each, Item) and each.status == "void" for each in voided)
    assert {at: now[at] for at in earlier} == earlier
    assert tell_again(state, stage)


def tell_again(state: State, stage: str) -> bool:
    """Return whether a stage taken back meets only the ids that stay used."""
    code = refused(state, stage, {})
    return code == (None if stage in ("dosed", "made_up") else "item_id_used")


@pytest.mark.parametrize(
    ("stage", "later"),
    [("charged", "sampled"), ("drained", "washed"), ("washed", "drained_again")],
)
def test_what_was_built_on_is_not_taken_back(stage, later):
    state = upto(later)
    with pytest.raises(CannotVoid, match="has changed since"):
        correct(state, stage, "void")
