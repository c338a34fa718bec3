"""The table run: feed used up, products weighed, tails counted out once."""

from dataclasses import replace
from decimal import Decimal
from typing import Any

import pytest

from goldroom.custody.figures import latest_mass
from goldroom.custody.records import Instrument
from tests.goldroom import story
from tests.goldroom.room import codes, reading, removed
from tests.goldroom.story import before, crossings, in_vessel, item, last_stay, upto

CON, TAILS = story.values("table")["products"]


def test_feed_becomes_products_with_dry_masses():
    state = upto("table")
    lot, concentrate = item(state, "LOT-1"), item(state, "CON-1")
    assert (lot.status, lot.children) == ("consumed", ("CON-1", "TAILS-1"))
    assert (concentrate.status, concentrate.step) == ("held", "smelt")
    assert concentrate.parents == ("LOT-1",)
    # (30.7 - 18.2 registered tare) kg at 8 % moisture; (420.0 - 18.5) kg at 15 %.
    made = {name: latest_mass(state, name) for name in ("CON-1", "TAILS-1")}
    assert {name: each.dry_g for name, each in made.items() if each} == {
        "CON-1": Decimal("11500.000"),
        "TAILS-1": Decimal("341275.000"),
    }
    assert codes(state) == []


def test_tails_to_the_mill_leave_the_table_and_concentrate_passes_to_the_smelt():
    state = upto("table")
    assert crossings(state, "CON-1") == [("table", "smelt", "smelt")]
    assert crossings(state, "TAILS-1") == [
        ("table", "table", "table"),
        ("table", "", "mill"),
    ]
    assert item(state, "TAILS-1").status == "left"


def test_concentrate_stays_in_its_sealed_drum_and_the_lots_drum_is_empty():
    state = upto("table")
    stay = last_stay(state, "CON-1")
    assert (stay.vessel, stay.seals) == ("D2", ("S-0004",))
    assert stay.hands == ("p-amara", "p-leith")
    assert (in_vessel(state, "D1"), in_vessel(state, "D2")) == ((), ("CON-1",))


def test_middlings_are_run_again_and_their_masses_share_the_tare_reading():
    state = before("table")
    middlings = {**CON, "item": "MID-1", "product": "middlings"}
    story.tell(state, "table", products=[middlings], closed=None)
    assert item(state, "MID-1").step == "table"
    again = {**CON, "item": "CON-2"}
    story.tell(state, "table", feed=["MID-1"], products=[again], opened=None,
               closed=None)  # fmt: skip
    assert item(state, "MID-1").status == "consumed"
    masses = [latest_mass(state, name) for name in ("MID-1", "CON-2")]
    assert {each.terms[1].reading_id for each in masses if each} == {"tare.D2"}


@pytest.mark.parametrize(
    ("changed", "code"),
    [
        pytest.param({}, None, id="as it was"),
        pytest.param({"feed": ["LOT-9"]}, "unknown_item", id="a lot nobody made"),
        pytest.param({"table": "D1"}, "wrong_sort", id="a drum for a table"),
        pytest.param({"opened": None}, "vessel_sealed", id="lot's drum not opened"),
        pytest.param(
            {"products": [{**CON, "item": "LOT-1"}]}, "item_id_used", id="id of the lot"
        ),
        pytest.param(
            {"products": [CON, {**TAILS, "item": "CON-1"}]},
            "item_id_used",
            id="one id for two products",
        ),
        pytest.param(
            {"products": [{**CON, "goes_to": "mill"}]},
            "bad_field",
            id="concentrate to the mill",
        ),
        pytest.param(
            {"products": [{**TAILS, "goes_to": "kept"}]},
            "bad_field",
            id="tails kept in no vessel",
        ),
        pytest.param(
            {"products": [{**CON, "moisture_percent": "101"}]},
            "moisture_over_100",
            id="moisture above the whole",
        ),
        pytest.param(
            {"products": [{**CON, "oven": "OV9"}]}, "unknown_instrument", id="no oven"
        ),
        pytest.param(
            {"products": [{**CON, "gross": reading("30.75", "kg", "PS1")}]},
            "more_digits_than_instrument",
            id="more digits than the scale shows",
        ),
        pytest.param(
            {"products": [{**CON, "gross": reading("18.1", "kg", "PS1")}]},
            "tare_over_gross",
            id="lighter than its empty drum",
        ),
        pytest.param(
            {"products": [{**CON, "vessel": "B1"}], "closed": None},
            "tare_missing",
            id="weighed in a box of unknown tare",
        ),
        pytest.param(
            {"products": [{**CON, "gross": reading("601.0", "kg", "PS1")}]},
            "over_capacity",
            id="over the scale's capacity, not confirmed",
        ),
        pytest.param(
            {"closed": [{"vessel": "D2",
                         "seals_fitted": [{"point": "lid", "seal": "S-0001"}]}]},
            "seal_already_used",
            id="a seal used before",
        ),
        pytest.param(
            {"closed": [
                {"vessel": name, "seals_fitted": [{"point": "lid", "seal": "S-0009"}]}
                for name in ("D1", "D2")
            ]},
            "seal_already_used",
            id="one seal on two drums",
        ),
    ],
)  # fmt: skip
def test_table_run_is_refused(changed: dict[str, Any], code: str | None):
    assert story.refused(before("table"), "table", changed) == code


def test_a_lot_run_before_is_refused():
    state = upto("table")
    changed = {"opened": None, "closed": None,
               "products": [{**TAILS, "item": "TAILS-2"}]}  # fmt: skip
    assert story.refused(state, "table", changed) == "item_consumed"


def test_a_blocked_scale_is_refused():
    state = before("table")
    scale = state.get(Instrument, "PS1")
    assert scale is not None
    state.put(replace(scale, blocked="failed its check weight"))
    assert story.refused(state, "table", {}) == "instrument_blocked"


def test_what_was_seen_is_recorded_with_findings():
    state = before("table")
    heavy = {**CON, "gross": reading("600.1", "kg", "PS1", confirmed=True)}
    opened = {"vessel": "D1", "seals_removed": [removed("lid", "S-0033")]}
    story.tell(state, "table", products=[heavy], opened=[opened])
    assert codes(state) == ["seal_not_the_one_fitted", "reading_over_capacity"]


def test_table_run_reads_aloud():
    said = story.tell(before("table"), "table")
    assert said.sentence() == (
        "Table T1 ran LOT-1 and gave concentrate CON-1 (30.7 kg gross, 8.0 %"
        " moisture, kept in D2) and tails TAILS-1 (420.0 kg gross, 15.0 % moisture,"
        " back to the mill). D1 was opened: S-0003 on lid (no tamper signs). D2 was"
        " sealed: S-0004 on lid."
    )
