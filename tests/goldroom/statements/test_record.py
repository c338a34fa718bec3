"""Corrections, voids, lapsed proposals and emergencies."""

from dataclasses import replace
from decimal import Decimal
from typing import Any

import pytest

from goldroom.custody.figures import latest_mass
from goldroom.custody.records import (
    Assay,
    Emergency,
    Instrument,
    Item,
    Marker,
    Mass,
    Noticed,
    Record,
    Said,
)
from goldroom.custody.state import State
from goldroom.errors import (
    NotInThisState,
    Refusal,
    SameSigners,
    UnknownEntry,
    UnknownPlace,
)
from goldroom.reconcile.ledger_records import LedgerRecords
from goldroom.statements import fold
from goldroom.statements.bars import BarNumbered
from goldroom.statements.fields import BadField, parse
from goldroom.statements.record import (
    EmergencyDeclared,
    EmergencyRatified,
    RecordCorrected,
    RecordLapsed,
)
from goldroom.statements.registry import kinds
from tests.goldroom import story
from tests.goldroom.room import PAIR, act, codes, reading, room, say
from tests.goldroom.story import STAGES, before, entry_of, item, upto

OTHERS = (("p-jonas", "officer"), ("p-sefu", "security"))
LATER = "2026-10-20T09:00:00+02:00"
VOIDED = [name for name, (kind, _, _) in STAGES.items() if kind.can_void]
KEPT = [name for name, (kind, _, _) in STAGES.items() if not kind.can_void]

kinds()  # a kind has its title once its module was read


def correct(
    state: State,
    stage: str,
    mode: str = "figures",
    *,
    people: tuple[tuple[str, str], ...] = OTHERS,
    entry: str = "entry-correction",
    corrects: str | None = None,
    **changed: Any,
) -> RecordCorrected:
    """Correct or void what a stage said; return the statement."""
    values: dict[str, Any] = {
        "entry": entry_of(stage),
        "mode": mode,
        "kind": STAGES[stage][0].kind_name,
        "reason": "read from the wrong line of the sheet.",
    }
    if mode == "figures":
        values["values"] = story.values(stage, **changed)
    said = parse(RecordCorrected, values)
    done = replace(
        act(RecordCorrected, at=LATER, people=people, entry=entry),
        corrects_entry=entry_of(stage) if corrects is None else corrects,
    )
    fold.check(said, done, state)
    fold.fold(said, done, state)
    return said


def code_of(state: State, stage: str, mode: str = "figures", **more: Any) -> str | None:
    """Return the code with which a correction is refused; None if it is not."""
    try:
        correct(state, stage, mode, **more)
    except Refusal as refusal:
        return refusal.code
    return None


def said_of(state: State, stage: str) -> Said:
    """Return what is remembered of a stage's entry."""
    found = state.get(Said, entry_of(stage))
    assert found is not None
    return found


# --- figures ---------------------------------------------------------------


def test_corrected_figures_are_a_new_version_under_the_readings_own_ids():
    state = upto("numbered")
    correct(state, "numbered", first=reading("6000.2", "g", "BU1"))
    first, second = (state.get(Mass, f"BAR-1/00{n}") for n in (1, 2))
    assert first is not None
    assert second is not None
    assert (first.net_g, second.net_g) == (Decimal("6000.450"), Decimal("6000.350"))
    assert [each.reading_id for each in second.terms] == [
        each.reading_id for each in first.terms
    ]
    assert (second.entry, first.entry) == ("entry-correction", "entry-of-numbered")
    assert second.at == first.at == "2026-10-06T11:00:00Z"
    assert second.known_at == "2026-10-20T07:10:00Z"
    assert said_of(state, "numbered").corrected_by == ("entry-correction",)


def test_a_correction_of_figures_leaves_custody_alone():
    state = upto("numbered")
    earlier = state.all_held()
    correct(state, "numbered", first=reading("6000.2", "g", "BU1"))
    changed = {at for at, each in state.all_held().items() if each != earlier.get(at)}
    assert {table for table, _ in changed} == {"mass", "item", "said"}
    assert item(state, "BAR-1") == replace(
        earlier["item", "BAR-1"],  # type: ignore[arg-type]
        masses=2,
    )


def test_figures_are_corrected_even_after_the_bar_is_gone():
    state = upto("melted")
    result = {**story.values("assayed")["results"][0], "gold": "842.9"}
    correct(state, "assayed", results=[result])
    assert item(state, "BAR-1").assays == 2
    assert item(state, "BAR-1").status == "consumed"
    found = state.get(Assay, "BAR-2/002")
    assert found is not None
    assert (found.gold, found.assay_id) == (
        Decimal("842.9"),
        "entry-of-assayed.results[0]",
    )


def test_putting_an_old_weighing_right_does_not_make_it_the_newest():
    state = upto("reweighed")
    correct(state, "numbered", first=reading("6000.2", "g", "BU1"))
    newest = latest_mass(state, "BAR-1")
    assert newest is not None
    assert (newest.net_g, newest.entry) == (Decimal("5992.300"), entry_of("reweighed"))


def test_a_corrected_figure_can_be_corrected_again():
    state = upto("numbered_2")
    for n, grams in enumerate(("4900.1", "4900.2")):
        correct(state, "numbered_2", entry=f"entry-c{n}",
                first=reading(grams, "g", "BU1"))  # fmt: skip
    newest = latest_mass(state, "BAR-2")
    assert newest is not None
    assert (newest.version, newest.net_g) == (3, Decimal("4900.200"))
    assert said_of(state, "numbered_2").corrected_by == ("entry-c0", "entry-c1")


def test_what_a_correction_shows_is_noticed_under_the_correction():
    state = upto("assayed")
    result = {**story.values("assayed")["results"][0], "silver": "130.0"}
    correct(state, "assayed", results=[result])
    found = state.get(Noticed, "entry-correction/01")
    assert found is not None
    assert found.code == "fineness_sum_over_1000"


def test_a_reading_taken_before_its_balance_was_blocked_can_be_corrected():
    state = upto("numbered")
    balance = state.get(Instrument, "BU1")
    assert balance is not None
    state.put(replace(balance, blocked="failed its check weight"))
    assert code_of(state, "numbered", first=reading("6000.2", "g", "BU1")) is None


@pytest.mark.parametrize(
    ("stage", "changed", "code"),
    [
        pytest.param("numbered", {}, None, id="nothing changed"),
        pytest.param(
            "numbered", {"stamped": "KR-9"}, "only_figures_change", id="stamped number"
        ),
        pytest.param(
            "numbered", {"item": "BAR-2"}, "only_figures_change", id="another bar"
        ),
        pytest.param("numbered", {"second": None}, None, id="a reading withdrawn"),
        pytest.param(
            "numbered",
            {"first": reading("6000.45", "g", "BU1")},
            "more_digits_than_instrument",
            id="more digits than the balance shows",
        ),
        pytest.param(
            "numbered",
            {"first": reading("12000.0", "g", "BU1"), "second": None},
            "bar_heavier_than_charge",
            id="heavier than its charge",
        ),
        pytest.param("numbered", {"first": None}, "bad_field", id="no reading at all"),
        pytest.param(
            "placed", {"items": ["BAR-1"]}, "no_figures_to_correct", id="one bar fewer"
        ),
    ],
)
def test_correction_of_figures(stage: str, changed: dict[str, Any], code: str | None):
    assert code_of(upto("placed"), stage, **changed) == code


def test_correction_names_an_entry_that_was_said():
    state = upto("lot")
    with pytest.raises(UnknownEntry):
        correct(state, "numbered")


def test_correction_and_envelope_name_the_same_entry():
    with pytest.raises(BadField, match="Name the same entry"):
        correct(upto("numbered"), "numbered", corrects=entry_of("pour"))


def test_only_a_correction_names_an_entry_it_corrects():
    state = before("numbered")
    said = parse(BarNumbered, story.values("numbered"))
    done = replace(act(BarNumbered, at=LATER), corrects_entry=entry_of("pour"))
    with pytest.raises(BadField, match="corrects nothing"):
        fold.check(said, done, state)


@pytest.mark.parametrize(
    ("people", "code"),
    [
        pytest.param(OTHERS, None, id="two others"),
        pytest.param((PAIR[0], OTHERS[1]), None, id="one of them and another"),
        pytest.param(PAIR, "same_signers", id="the same two"),
        pytest.param(PAIR[::-1], "same_signers", id="the same two the other way round"),
    ],
)
@pytest.mark.parametrize("mode", ["figures", "void"])
def test_somebody_else_signs_a_correction(
    people: tuple[tuple[str, str], ...], code: str | None, mode: str
):
    assert code_of(upto("numbered"), "numbered", mode, people=people) == code


# --- void ------------------------------------------------------------------


def kept_apart(state: State) -> dict[tuple[str, str], Record]:
    """Return all records that a void must put back: not what is said or noticed."""
    return {
        at: each
        for at, each in state.all_held().items()
        if not isinstance(each, Said | Noticed)
    }


@pytest.mark.parametrize("stage", VOIDED)
def test_a_void_puts_every_record_back_and_leaves_made_items_void(stage: str):
    state = before(stage)
    earlier = kept_apart(state)
    story.tell(state, stage)
    assert kept_apart(state) != earlier
    correct(state, stage, "void")
    later = kept_apart(state)
    made = {at for at in later if at not in earlier}
    assert {at: each for at, each in later.items() if at not in made} == earlier
    assert {type(later[at]) for at in made} <= {Item}
    for at in made:
        voided = later[at]
        assert isinstance(voided, Item)
        assert (voided.status, voided.step, voided.used_by) == (
            "void",
            "",
            "entry-correction",
        )
        assert (voided.masses, voided.crossings, voided.stays) == (0, 0, 0)
    assert said_of(state, stage).voided_by == "entry-correction"


def test_a_voided_items_id_is_never_used_again():
    state = upto("table")
    correct(state, "table", "void")
    assert story.refused(state, "table", {}) == "item_id_used"
    products = [
        {**each, "item": f"{each['item']}-B"}
        for each in story.values("table")["products"]
    ]
    assert story.refused(state, "table", {"products": products}) is None
    assert item(state, "LOT-1").children == ("CON-1-B", "TAILS-1-B")


def test_findings_outlive_a_void():
    state = before("numbered")
    story.tell(state, "numbered", second=reading("6000.9", "g", "BU1"))
    correct(state, "numbered", "void")
    assert codes(state) == ["readings_differ"]
    assert state.get(Marker, "stamp:KR-0101") is None


@pytest.mark.parametrize("stage", VOIDED)
def test_an_entry_that_others_built_on_cannot_be_voided(stage: str):
    built_on = {"advised": "handed_over", "received": "melted", "slag": None,
                "melted": None}.get(stage, "melted")  # fmt: skip
    state = upto(built_on or "melted")
    expected = None if built_on is None else "cannot_void"
    assert code_of(state, stage, "void") == expected


def test_the_refusal_names_the_entry_that_built_on_it():
    state = upto("charge")
    with pytest.raises(Refusal, match="entry-of-charge") as refusal:
        correct(state, "table", "void")
    assert refusal.value.code == "cannot_void"


@pytest.mark.parametrize("stage", KEPT)
def test_what_cannot_be_taken_back_is_not(stage: str):
    assert code_of(upto(stage), stage, "void") == "cannot_void"


def test_an_entry_is_voided_once_and_then_not_corrected():
    state = upto("numbered")
    correct(state, "numbered", "void")
    for mode in ("void", "figures"):
        with pytest.raises(NotInThisState, match="taken back"):
            correct(state, "numbered", mode)


def test_a_corrected_entry_cannot_be_voided():
    state = upto("numbered")
    correct(state, "numbered", first=reading("6000.2", "g", "BU1"))
    assert code_of(state, "numbered", "void") == "cannot_void"


def test_corrections_read_aloud():
    state = upto("numbered_2")
    assert correct(state, "numbered").sentence() == (
        "The figures of entry entry-of-numbered (Bar numbered) were put right: read"
        " from the wrong line of the sheet."
    )
    assert correct(state, "numbered_2", "void").sentence() == (
        "Entry entry-of-numbered_2 (Bar numbered) was taken back: read from the wrong"
        " line of the sheet."
    )


# --- lapsed proposals and emergencies --------------------------------------

FIRE = {
    "what": "Fire at the furnace; Jonas Teal was carried out",
    "place": "gold_room",
    "hazards": "lead fume",
    "opened": "furnace F1, door propped open",
}
RATIFIED = {
    "emergency": "entry-fire",
    "found": "charge still in the furnace, nothing missing",
    "stock_check": "safe S1 and drums D1, D2 counted, as in the book",
}


def declared(state: State) -> EmergencyDeclared:
    """Say the fire, signed by one person."""
    return say(state, EmergencyDeclared, FIRE, people=PAIR[1:], entry="entry-fire")


def emergency(state: State) -> Emergency:
    """Return the fire."""
    found = state.get(Emergency, "entry-fire")
    assert found is not None
    return found


def test_an_emergency_is_said_by_one_and_stays_open():
    state = room()
    said = declared(state)
    assert (emergency(state).status, emergency(state).person) == ("open", "p-leith")
    assert said.sentence() == (
        "Emergency in gold_room: Fire at the furnace; Jonas Teal was carried out."
        " Hazards: lead fume. Left open or unguarded: furnace F1, door propped open."
    )


def test_an_emergency_needs_only_what_happened():
    state = room()
    said = say(state, EmergencyDeclared, {"what": "Gas alarm"}, people=PAIR[:1])
    assert said.sentence() == "Emergency: Gas alarm."
    with pytest.raises(UnknownPlace):
        say(state, EmergencyDeclared, {"what": "Gas alarm", "place": "moon"})


def test_two_others_ratify_it_once():
    state = room()
    declared(state)
    said = say(
        state, EmergencyRatified, RATIFIED, at=LATER, people=OTHERS, entry="entry-rat"
    )
    assert (emergency(state).status, emergency(state).ratified_by) == (
        "ratified",
        "entry-rat",
    )
    assert said.sentence() == (
        "The emergency of entry entry-fire was ratified. Found: charge still in the"
        " furnace, nothing missing. Stock checked: safe S1 and drums D1, D2 counted,"
        " as in the book."
    )
    with pytest.raises(NotInThisState, match="entry-rat already"):
        say(state, EmergencyRatified, RATIFIED, at=LATER, people=OTHERS)


def test_who_declared_an_emergency_does_not_ratify_it():
    state = room()
    declared(state)
    with pytest.raises(SameSigners, match="two others"):
        say(state, EmergencyRatified, RATIFIED, at=LATER, people=PAIR)


def test_no_stock_check_no_ratification():
    state = room()
    declared(state)
    values = {name: each for name, each in RATIFIED.items() if name != "stock_check"}
    with pytest.raises(BadField, match="stock_check"):
        say(state, EmergencyRatified, values, at=LATER, people=OTHERS)


@pytest.mark.parametrize(
    ("reason", "words"),
    [
        ("refused", "was refused"),
        ("expired", "found no second signature in time"),
        ("withdrawn", "was withdrawn"),
    ],
)
def test_a_lapsed_proposal_changes_nothing_and_is_read_aloud(reason: str, words: str):
    state = room()
    earlier = state.all_held()
    values = {
        "reason": reason,
        "detail": "the hopper had been emptied.",
        "statement": {"kind": "hopper.weighed"},
        "signatures": [],
    }
    said = say(state, RecordLapsed, values, people=())
    assert state.all_held() == earlier
    assert said.sentence() == (
        f"A proposal (Hopper weighed) {words}: the hopper had been emptied."
    )


def test_a_balance_takes_the_newest_weighing_not_the_newest_correction():
    state = upto("reweighed")
    correct(state, "numbered", first=reading("6000.2", "g", "BU1"))
    versions = LedgerRecords.from_held(state.all_held()).masses["BAR-1"]
    assert [each.version for each in versions] == [1, 3, 2]
