"""Samples handed on, used up by a laboratory, and what it gives back."""

from decimal import Decimal
from typing import Any

import pytest

from goldroom.custody.figures import latest_mass
from goldroom.custody.records import Estimate, Item, Seal, Vessel, Volume
from goldroom.custody.sampled import Sample
from goldroom.errors import Refusal
from goldroom.statements.fields import parse
from goldroom.statements.record import RecordCorrected
from goldroom.statements.sample_moves import SampleMoved, SampleReturned
from goldroom.statements.sample_uses import SampleConsumed
from goldroom.statements.samples import SampleTaken
from goldroom.statements.smelt import ChargeMadeUp
from tests.goldroom import sampled, story
from tests.goldroom.room import codes, noticed, refused, say
from tests.goldroom.sampled import BACK_AT, MOVED_AT, USED_AT, cut, grams, seen
from tests.goldroom.statements.test_samples import correct, mass_of, solution_room
from tests.goldroom.story import CHEMISTS, item

source = pytest.mark.source
MENDERS = (("p-jonas", "officer"), ("p-sefu", "security"))


def divided():
    """Return the story up to the split of the drillings."""
    return sampled.told(sampled.drilled(), "split")


def handed():
    """Return the story up to the handing over to the laboratory."""
    return sampled.told(sampled.drilled(), "moved")


# --- handed on --------------------------------------------------------------


def test_samples_lie_at_the_laboratory_and_stay_the_rooms_metal():
    state = handed()
    for name in ("P-1", "P-3"):
        made, last = item(state, name), story.last_stay(state, name)
        assert (made.status, made.step, made.place) == ("held", "smelt", "lab")
        assert (last.act, last.place) == ("sample.moved", "lab")
    assert state.get(Vessel, "P-3").place == "lab"
    assert item(state, "P-2").place == "gold_room"
    assert codes(state) == []


def test_sentences_of_samples_handed_on():
    said = parse(SampleMoved, sampled.moved())
    assert said.sentence() == (
        "Handed to p-noor, for lab: P-1; P-3, under seal S-0021 on envelope (no tamper"
        " signs)."
    )
    values = sampled.moved(
        received_by=None,
        received_by_outsider="Iro Santh of the refinery",
        to="refinery",
        samples=[{"item": "P-2", "seal_fitted": "S-0023"}],
    )
    assert parse(SampleMoved, values).sentence() == (
        "Handed to Iro Santh of the refinery, for refinery: P-2, sealed with S-0023."
    )


@pytest.mark.parametrize(
    ("situation", "changed", "code"),
    [
        ("as it was", {}, None),
        ("to no place known", {"to": "attic"}, "unknown_place"),
        ("received by nobody", {"received_by": None}, "bad_field"),
        ("received by two", {"received_by_outsider": "Iro Santh"}, "bad_field"),
        ("by nobody enrolled", {"received_by": "p-x"}, "unknown_person"),
        ("not looked at", {"samples": [{"item": "P-3"}]}, "bad_field"),
        ("a bar", {"samples": [{"item": "BAR-2"}]}, "wrong_sort"),
        ("used up", {"samples": [{"item": "DRL-1"}]}, "item_consumed"),
        ("twice", {"samples": [{"item": "P-1"}, {"item": "P-1"}]}, "bad_field"),
        (
            "sealed with a seal never issued",
            {"samples": [{"item": "P-1", "seal_fitted": "S-0999"}]},
            "seal_never_issued",
        ),
        (
            "sealed over a seal",
            {
                "samples": [
                    {
                        "item": "P-3",
                        "seal_seen": seen("S-0021"),
                        "seal_fitted": "S-0024",
                    }
                ]
            },
            "seal_point_taken",
        ),
    ],
)
def test_samples_are_handed_on_or_refused(situation, changed, code):
    values = {k: v for k, v in sampled.moved(**changed).items() if v is not None}
    assert refused(divided(), SampleMoved, values, at=MOVED_AT) == code, situation


@source("Seal number and tamper signs are both read; common practice, no source")
@pytest.mark.parametrize(
    ("looked", "found"),
    [
        (seen("S-0021"), []),
        (seen("S-0021", "loose"), ["seal_tampered"]),
        (seen("S-0022"), ["seal_not_the_one_fitted"]),
        (seen("S-9999"), ["seal_unknown"]),
        (seen("none"), ["seal_not_the_one_fitted"]),
        (seen("S-0022", "cut"), ["seal_not_the_one_fitted", "seal_tampered"]),
    ],
)
def test_what_is_seen_on_an_envelope_is_recorded_and_noticed(looked, found):
    state = divided()
    values = sampled.moved(samples=[{"item": "P-3", "seal_seen": looked}])
    say(state, SampleMoved, values, at=MOVED_AT)
    assert codes(state) == found
    assert item(state, "P-3").place == "lab"


def test_a_seal_seen_on_a_sample_that_nobody_sealed_is_noticed():
    state = divided()
    values = sampled.moved(samples=[{"item": "P-1", "seal_seen": seen("S-0025")}])
    say(state, SampleMoved, values, at=MOVED_AT)
    assert [(each.code, each.expected) for each in noticed(state)] == [
        ("seal_not_the_one_fitted", "no seal")
    ]


def test_a_dip_sample_of_the_pour_is_sealed_for_its_way():
    state = story.upto("pour")
    values = sampled.moved(samples=[{"item": "DIP-1", "seal_fitted": "S-0026"}])
    say(state, SampleMoved, values, at=MOVED_AT)
    assert state.get(Seal, "S-0026").vessel == "DIP-1"
    assert state.get(Sample, "DIP-1").status == "open"


@pytest.mark.parametrize(
    ("way", "status"),
    [
        (("lab",), "open"),
        (("lab", "gold_room"), "back"),
        (("lab", "refinery"), "open"),
        (("lab", "refinery", "vault"), "back"),
        (("lab", "gold_room", "vault"), "back"),
        (("lab", "gold_room", "lab"), "open"),
        (("vault",), "open"),
    ],
)
def test_a_sample_is_back_once_it_left_the_laboratory_for_another_place(way, status):
    state = divided()
    for to in way:
        values = sampled.moved(samples=[{"item": "P-1"}], to=to)
        say(state, SampleMoved, values, at=MOVED_AT)
    assert state.get(Sample, "P-1").status == status


def test_handing_on_is_taken_back():
    state = divided()
    before = item(state, "P-1"), state.get(Vessel, "P-3"), state.get(Sample, "P-1")
    say(state, SampleMoved, sampled.moved(), at=MOVED_AT, entry="entry-of-moved")
    void(state, "entry-of-moved", "sample.moved")
    after = item(state, "P-1"), state.get(Vessel, "P-3"), state.get(Sample, "P-1")
    assert after == before


def void(state, entry: str, kind: str) -> None:
    values = {"entry": entry, "mode": "void", "kind": kind, "reason": "wrong one"}
    say(
        state,
        RecordCorrected,
        values,
        at="2026-10-09T08:00:00+02:00",
        people=MENDERS,
        corrects=entry,
    )


# --- used up ----------------------------------------------------------------


def test_what_was_used_leaves_and_what_is_left_is_a_sample():
    state = sampled.told(sampled.drilled(), "used")
    assert item(state, "P-1").status == "consumed"
    used, left = item(state, "P-1.used"), item(state, "P-1L")
    assert (used.status, left.status, left.place) == ("left", "held", "lab")
    assert story.crossings(state, "P-1.used")[-1] == ("smelt", "", "assay")
    assert mass_of(state, "P-1.used")[0] == Decimal("1.000")
    assert mass_of(state, "P-1L")[0] == Decimal("1.700")
    assert state.get(Sample, "P-1L").portion == "mine"
    assert codes(state) == []


def test_sentences_of_samples_used():
    assert parse(SampleConsumed, sampled.used()).sentence() == (
        "lab used 1.000 g of P-1, and left 1.700 g as P-1L."
    )
    row = {"sample": "P-3", "used_g": "2.70", "seal_cut": cut("S-0021")}
    said = parse(SampleConsumed, sampled.used(umpire="Halden Assay", used=[row]))
    assert said.sentence() == (
        "lab, called as umpire (Halden Assay), used 2.70 g of P-3, its seal"
        " S-0021 on envelope (no tamper signs) cut, all of it."
    )


def row(**changed: Any) -> dict[str, Any]:
    """Return one sample used, with this changed."""
    said = {"sample": "P-1", "used_g": "1.000", **changed}
    return {
        "laboratory": "lab",
        "used": [{name: value for name, value in said.items() if value is not None}],
    }


@pytest.mark.parametrize(
    ("situation", "values", "code"),
    [
        ("as it was", sampled.used(), None),
        ("in no laboratory", sampled.used(laboratory="gold_room"), "wrong_sort"),
        ("at the refinery", sampled.used(laboratory="refinery"), None),
        ("a bar", row(sample="BAR-1"), "wrong_sort"),
        ("used before", row(sample="DRL-1"), "item_consumed"),
        ("as much as two balances may differ", row(used_g="2.8"), None),
        ("more than there was", row(used_g="2.801"), "out_of_range"),
        ("by volume", row(used_g=None, used_ml="1"), "bad_field"),
        ("of no size", row(used_g=None), "bad_field"),
        ("what is left of no size", row(left={"item": "L"}), "bad_field"),
        (
            "more left than there was",
            row(left={"item": "L", "mass_g": "2.801"}),
            "out_of_range",
        ),
        (
            "what is left by an id used",
            row(left={"item": "P-2", "mass_g": "1.7"}),
            "item_id_used",
        ),
        (
            "the umpire's, by the mine's laboratory",
            row(sample="P-3"),
            "umpire_portion_kept",
        ),
        (
            "the umpire's, unsealed by nobody",
            {**row(sample="P-3"), "umpire": "Halden Assay"},
            "vessel_sealed",
        ),
        (
            "the umpire's, by the umpire",
            {**row(sample="P-3", seal_cut=cut("S-0021")), "umpire": "Halden Assay"},
            None,
        ),
        ("twice", {"laboratory": "lab", "used": row()["used"] * 2}, "bad_field"),
    ],
)
def test_samples_are_used_up_or_refused(situation, values, code):
    more = {"at": USED_AT, "people": CHEMISTS}
    assert refused(handed(), SampleConsumed, values, **more) == code, situation


def test_an_umpires_portion_opened_too_early_is_refused_in_words():
    with pytest.raises(Refusal, match="kept sealed until an umpire is called"):
        say(handed(), SampleConsumed, row(sample="P-3"), at=USED_AT, people=CHEMISTS)


def test_an_envelope_cut_open_tells_what_was_seen_on_its_seal():
    state = handed()
    values = row(sample="P-3", seal_cut=cut("S-0021", "glued", remains_kept=False))
    values["umpire"] = "Halden Assay"
    say(state, SampleConsumed, values, at=USED_AT, people=CHEMISTS)
    assert codes(state) == [
        "seal_tampered",
        "seal_remains_not_kept",
        "sample_grams_missing",
    ]
    assert state.get(Seal, "S-0021").status == "removed"


@pytest.mark.parametrize(
    ("used_g", "left_g", "is_missed"),
    [
        ("1.000", "1.700", False),
        ("1.000", "1.600", False),
        ("1.000", "1.599", True),
        ("1.000", "1.801", True),
        ("2.600", None, False),
        ("2.599", None, True),
    ],
)
def test_grams_neither_used_nor_left_are_missed(used_g, left_g, is_missed):
    """The portion weighs 2.7 g; 0.1 g is let pass."""
    state = handed()
    left = None if left_g is None else {"item": "P-1L", "mass_g": left_g}
    values = row(used_g=used_g, left=left)
    say(state, SampleConsumed, values, at=USED_AT, people=CHEMISTS)
    assert codes(state) == (["sample_grams_missing"] if is_missed else [])


def test_a_sample_used_where_nobody_handed_it_is_noticed():
    state = divided()
    say(state, SampleConsumed, sampled.used(), at=USED_AT, people=CHEMISTS)
    assert [(each.code, each.level, each.item) for each in noticed(state)] == [
        ("sample_not_handed_over", "notice", "P-1")
    ]
    assert item(state, "P-1L").place == "lab"


@pytest.mark.parametrize(
    ("used_ml", "left_ml", "found"),
    [("50", "200", []), ("50", "195", []), ("50", "194.9", ["sample_grams_missing"])],
)
def test_a_solutions_sample_is_used_by_volume(used_ml, left_ml, found):
    state = solution_room()
    drawn = {
        "item": "SOL-1",
        "way": "solution",
        "samples": [{"item": "SS-1", "volume_ml": "250"}],
    }
    say(state, SampleTaken, drawn, at="2026-10-05T07:00:00+02:00")
    moved = sampled.moved(samples=[{"item": "SS-1"}])
    say(state, SampleMoved, moved, at=MOVED_AT)
    left = {"item": "SS-1L", "volume_ml": left_ml}
    values = row(sample="SS-1", used_g=None, used_ml=used_ml, left=left)
    say(state, SampleConsumed, values, at=USED_AT, people=CHEMISTS)
    assert state.get(Volume, "SS-1.used/001").litres == Decimal("0.050")
    assert codes(state) == found


def test_use_is_put_right_and_taken_back_and_said_again():
    state = handed()
    say(
        state,
        SampleConsumed,
        sampled.used(),
        at=USED_AT,
        people=CHEMISTS,
        entry="entry-of-used",
    )
    values = sampled.used()
    values["used"] = [{**values["used"][0], "used_g": "0.900"}]
    correct(state, "entry-of-used", "sample.consumed", values)
    assert mass_of(state, "P-1.used")[0] == Decimal("0.900")
    assert latest_mass(state, "P-1.used").measured_in == "entry-of-used"
    state = handed()
    before = item(state, "P-1")
    more = {"at": USED_AT, "people": CHEMISTS}
    say(state, SampleConsumed, sampled.used(), entry="entry-of-used", **more)
    void(state, "entry-of-used", "sample.consumed")
    assert item(state, "P-1") == before
    assert item(state, "P-1.used").status == "void"
    say(state, SampleConsumed, row(used_g="2.7"), entry="entry-of-again", **more)
    assert item(state, "P-1.used-2").status == "left"
    correct(state, "entry-of-again", "sample.consumed", row(used_g="2.6"))
    assert mass_of(state, "P-1.used-2")[0] == Decimal("2.600")
    say(state, SampleReturned, sampled.back(), at=BACK_AT)
    assert item(state, "COR-1").parents == ("P-1.used-2",)


def test_use_from_before_the_split_is_refused():
    state = divided()
    early = {"at": "2026-10-06T14:59:59+02:00", "people": CHEMISTS}
    assert (
        refused(state, SampleConsumed, sampled.used(), **early) == "before_its_source"
    )


# --- given back -------------------------------------------------------------


def test_cornets_come_back_from_outside_with_what_is_in_them():
    state = sampled.told(sampled.drilled())
    cornets = item(state, "COR-1")
    assert (cornets.sort, cornets.step, cornets.place) == (
        "sample",
        "smelt",
        "gold_room",
    )
    assert cornets.parents == ("P-1.used",)
    assert story.crossings(state, "COR-1") == [("", "smelt", "smelt")]
    assert state.get(Estimate, "COR-1/001").gold_g == Decimal("0.799")
    assert state.get(Sample, "COR-1").status == "given_back"
    assert codes(state) == []


def test_sentence_of_what_was_given_back():
    values = sampled.back()
    values["returned"].append(
        {
            "item": "BEAD-1",
            "what": "beads",
            "of": ["P-1", "P-2"],
            "mass": grams("0.5"),
            "gold_g": "0.3",
            "gold_u_g": "0.1",
            "silver_g": "0.2",
            "silver_u_g": "0.1",
        }
    )
    assert parse(SampleReturned, values).sentence() == (
        "The laboratory gave back, to gold_room: COR-1, cornets of P-1 (0.8 g, thought"
        " to hold 0.799 g of gold (± 0.010)); BEAD-1, beads of P-1 and P-2 (0.5 g,"
        " thought to hold 0.3 g of gold (± 0.1) and 0.2 g of silver (± 0.1))."
    )


def returned(**changed: Any) -> dict[str, Any]:
    """Return what is given back, with its row changed."""
    values = sampled.back()
    said = {**values["returned"][0], **changed}
    values["returned"] = [{k: v for k, v in said.items() if v is not None}]
    return values


@pytest.mark.parametrize(
    ("situation", "values", "code"),
    [
        ("as it was", sampled.back(), None),
        ("of no sample", returned(of=["P-9"]), "unknown_item"),
        ("of a sample nobody used", returned(of=["P-2"]), "not_in_this_state"),
        ("by an id used", returned(item="P-2"), "item_id_used"),
        ("with no estimate", returned(gold_g=None), "estimate_missing"),
        ("with no doubt", returned(gold_u_g=None), "out_of_range"),
        ("silver with no doubt", returned(silver_g="0.1"), "out_of_range"),
        (
            "beads with no estimate",
            returned(what="beads", gold_g=None),
            "estimate_missing",
        ),
        ("rejects with no estimate", returned(what="rejects", gold_g=None), None),
        ("to no place", sampled.back(place="attic"), "unknown_place"),
    ],
)
def test_things_are_given_back_or_refused(situation, values, code):
    state = sampled.told(sampled.drilled(), "used")
    assert refused(state, SampleReturned, values, at=BACK_AT) == code, situation


def test_things_given_back_before_they_were_used_are_refused():
    state = sampled.told(sampled.drilled(), "used")
    early = "2026-10-07T08:59:59+02:00"
    assert (
        refused(state, SampleReturned, sampled.back(), at=early) == "before_its_source"
    )


@pytest.mark.parametrize(
    ("mass", "found"), [("1.0", []), ("1.1", ["item_gained_mass"])]
)
def test_rejects_that_outweigh_what_was_used_are_noticed(mass, found):
    state = sampled.told(sampled.drilled(), "used")
    values = returned(what="rejects", gold_g=None, gold_u_g=None, mass=grams(mass))
    say(state, SampleReturned, values, at=BACK_AT)
    assert codes(state) == found


def test_cornets_and_remainders_join_a_charge():
    state = sampled.told(sampled.drilled())
    values = {
        "charge": "CHG-2",
        "furnace": "F1",
        "crucible": "K8",
        "crucible_uses": 0,
        "sources": [{"item": "COR-1"}, {"item": "P-1L"}, {"item": "DIP-1"}],
    }
    say(state, ChargeMadeUp, values, at="2026-10-08T07:00:00+02:00")
    assert {item(state, name).status for name in ("COR-1", "P-1L", "DIP-1")} == {
        "in_charge"
    }


def test_giving_back_is_put_right_and_taken_back():
    state = sampled.told(sampled.drilled())
    correct(state, "entry-of-back", "sample.returned", returned(gold_g="0.789"))
    assert state.get(Estimate, "COR-1/002").gold_g == Decimal("0.789")
    state = sampled.told(sampled.drilled())
    void(state, "entry-of-back", "sample.returned")
    assert state.get(Item, "COR-1").status == "void"
    assert item(state, "P-1.used").children == ()
