"""Opening stock: held without a crossing, figured, and counted on from."""

from decimal import Decimal

import pytest

from goldroom.custody.figures import latest_mass
from goldroom.custody.records import (
    Assay,
    Concentrator,
    Crossing,
    Estimate,
    Item,
    Marker,
    Vessel,
)
from goldroom.statements.cleanup import CleanupRecorded
from goldroom.statements.hopper import HopperWeighed
from goldroom.statements.opening import StockOpened
from goldroom.statements.record import RecordCorrected
from tests.goldroom.room import codes, reading, refused, room, say
from tests.goldroom.statements.test_hopper import load

THREE = (("p-sefu", "security"), ("p-odile", "accountant"), ("p-ines", "metallurgist"))
ESTIMATE = {
    "gold_g": "410",
    "gold_u_g": "120",
    "silver_g": "48",
    "silver_u_g": "16",
    "method": "dipped and compared with last year",
}
CONTENT = {
    "assay": "A-771",
    "sample": "E-771",
    "standing": "final",
    "unit": "permille",
    "gold": "842.1",
    "silver": "121.0",
    "laboratory": "lab",
    "method": "fire_assay",
    "sampler": "drill",
}
HEEL = {
    "item": "heel-0",
    "sort": "heel",
    "step": "hopper",
    "source": "gravity",
    "place": "hopper_bay",
    "vessel": "H1",
    "estimate": ESTIMATE,
    "dry_kg": "12",
    "dry_u_kg": "4",
}
BAR = {
    "item": "bar-0417",
    "sort": "bar",
    "step": "vault",
    "source": "gravity",
    "place": "vault",
    "label": "KR-0417",
    "net": reading("11250.4", "g", "BU1"),
    "content": CONTENT,
}
LAST = {"unit": "U1", "counter_epoch": 3, "last_flush": 1408}
OPENING = {"stock": [HEEL, BAR], "last_flushes": [LAST], "last_bar_number": "KR-0417"}


def opened(**more):
    return {**OPENING, **more}


def test_stock_is_held_by_its_step_without_crossing():
    state = room()
    said = say(state, StockOpened, OPENING, people=THREE)
    bar = state.get(Item, "bar-0417")
    assert (bar.step, bar.status, bar.label, bar.crossings) == (
        "vault",
        "held",
        "KR-0417",
        0,
    )
    assert state.get(Crossing, "bar-0417/1") is None
    assert latest_mass(state, "bar-0417").net_g == Decimal("11250.4")
    assay = state.get(Assay, "bar-0417/001")
    assert (assay.gold, assay.unit, assay.standing, assay.wanted_for) == (
        Decimal("842.1"),
        "permille",
        "final",
        "bar",
    )
    assert state.get(Estimate, "heel-0/001").gold_u_g == 120
    assert state.get(Marker, "stamp:KR-0417").value == "bar-0417"
    assert state.get(Marker, "last_bar_number").value == "KR-0417"
    assert codes(state) == []
    assert said.sentence() == (
        "Opening stock: heel heel-0 in H1 (estimated 410 g of gold and 48 g of silver"
        " by dipped and compared with last year); bar bar-0417 in vault (11250.4 g net"
        " at 842.1 ‰ gold and 121.0 ‰ silver). Counters: U1 at flush 1408. Last bar"
        " number: KR-0417."
    )


def test_the_first_sheet_goes_on_from_the_last_flush():
    state = room()
    say(state, StockOpened, OPENING, people=THREE)
    unit = state.get(Concentrator, "U1")
    assert (unit.counter_epoch, unit.last_flush) == (3, 1408)
    row = {"unit": "U1", "counter_epoch": 3, "first": 1410, "last": 1412}
    gap = {"hopper": "H1", "flushes": [row]}
    assert refused(state, CleanupRecorded, gap) == "exception_unanswered"
    whole = {"hopper": "H1", "flushes": [{**row, "first": 1409}]}
    assert refused(state, CleanupRecorded, whole) is None


def test_the_first_load_leaves_the_opening_heel_out():
    """The hopper holds 210 kg of solids; 12 kg lay in it before."""
    state = room()
    say(state, StockOpened, OPENING, people=THREE)
    assert state.get(Vessel, "H1").contents == ("heel-0",)
    say(state, HopperWeighed, load("L1", "2010.0"))
    assert latest_mass(state, "L1").dry_g == 198_000


def test_a_corrected_heel_changes_the_load_above_it():
    state = room()
    say(state, StockOpened, OPENING, people=THREE, entry="entry-O1")
    say(state, HopperWeighed, load("L1", "2010.0"))
    values = opened(stock=[{**HEEL, "dry_kg": "10"}, BAR])
    correction = {
        "entry": "entry-O1",
        "mode": "figures",
        "kind": "stock.opened",
        "values": values,
        "reason": "dipped again",
    }
    people = (("p-jonas", "officer"), ("p-leith", "witness"))
    say(state, RecordCorrected, correction, people=people, corrects="entry-O1")
    assert latest_mass(state, "L1").dry_g == 200_000


@pytest.mark.parametrize(
    ("situation", "values", "code"),
    [
        ("as it should be", OPENING, None),
        ("numbers alone", {"last_flushes": [LAST]}, None),
        ("nothing at all", {}, "bad_field"),
        ("an id twice", opened(stock=[BAR, BAR]), "item_id_used"),
        ("an unknown place", opened(stock=[{**BAR, "place": "moon"}]), "unknown_place"),
        (
            "an unknown vessel",
            opened(stock=[{**BAR, "vessel": "S9"}]),
            "unknown_vessel",
        ),
        (
            "no figures",
            opened(stock=[{**BAR, "net": None, "content": None}]),
            "bad_field",
        ),
        (
            "a mass without its assay",
            opened(stock=[{**BAR, "content": None}]),
            "bad_field",
        ),
        (
            "weighed and estimated",
            opened(stock=[{**BAR, "estimate": ESTIMATE}]),
            "bad_field",
        ),
        (
            "a fineness over the whole",
            opened(stock=[{**BAR, "content": {**CONTENT, "gold": "1842.1"}}]),
            "fineness_over_1000",
        ),
        (
            "per cent over the whole",
            opened(stock=[{**BAR, "content": {**CONTENT, "unit": "percent"}}]),
            "fineness_over_1000",
        ),
        (
            "an unknown laboratory",
            opened(stock=[{**BAR, "content": {**CONTENT, "laboratory": "x"}}]),
            "unknown_place",
        ),
        (
            "more digits than the balance",
            opened(stock=[{**BAR, "net": reading("11250.44", "g", "BU1")}]),
            "more_digits_than_instrument",
        ),
        (
            "a heel in a hopper without its solids",
            opened(stock=[{**HEEL, "dry_kg": None, "dry_u_kg": None}]),
            "bad_field",
        ),
        (
            "solids without their uncertainty",
            opened(stock=[{**HEEL, "dry_u_kg": None}]),
            "bad_field",
        ),
        (
            "dry solids of a bar",
            opened(stock=[{**BAR, "dry_kg": "1", "dry_u_kg": "1"}]),
            "bad_field",
        ),
        ("a step that is none", opened(stock=[{**BAR, "step": "moon"}]), "bad_field"),
        (
            "a continuous unit's flushes",
            opened(last_flushes=[{**LAST, "unit": "U3"}]),
            "wrong_sort",
        ),
    ],
)
def test_opening_is_taken_or_refused(situation, values, code):
    assert refused(room(), StockOpened, values, people=THREE) == code, situation


def test_a_hopper_read_before_takes_no_opening_heel():
    state = room()
    say(state, HopperWeighed, load("L1", "2010.0"))
    assert refused(state, StockOpened, {"stock": [HEEL]}) == "not_in_this_state"


def test_numbers_are_opened_only_before_the_first_flush():
    state = room()
    row = {"unit": "U1", "counter_epoch": 1, "first": 1, "last": 2}
    say(state, CleanupRecorded, {"hopper": "H1", "flushes": [row]})
    values = {"last_flushes": [LAST]}
    assert refused(state, StockOpened, values) == "not_in_this_state"
