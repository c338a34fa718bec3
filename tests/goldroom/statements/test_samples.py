"""Samples taken off what stays held, and divided into portions."""

from decimal import Decimal
from typing import Any

import pytest
from stdnum.iso7064 import mod_37_36

from goldroom.custody.figures import latest_mass, volume
from goldroom.custody.records import Item, Marker, Seal, Vessel, Volume
from goldroom.custody.sampled import Sample
from goldroom.errors import Refusal
from goldroom.statements.assays import AssayReported
from goldroom.statements.fields import parse
from goldroom.statements.limits import LimitSet
from goldroom.statements.number_series import NumberSeriesSet
from goldroom.statements.record import RecordCorrected
from goldroom.statements.results import check_not_replaced
from goldroom.statements.samples import SAMPLED, WAYS, SampleSplit, SampleTaken
from goldroom.statements.seals import SealInspected
from goldroom.statements.smelt import ChargeMadeUp
from goldroom.statements.vault import VaultPlaced
from tests.goldroom import sampled, story
from tests.goldroom.room import act, codes, noticed, reading, refused, removed, say
from tests.goldroom.sampled import SPLIT_AT, TAKEN_AT, grams
from tests.goldroom.story import item

source = pytest.mark.source
MENDERS = (("p-jonas", "officer"), ("p-sefu", "security"))


def mass_of(state, name: str) -> tuple[Decimal, Decimal | None, Decimal]:
    weighed = latest_mass(state, name)
    assert weighed is not None, name
    return weighed.net_g, weighed.moisture_percent, weighed.dry_g


# --- taken ------------------------------------------------------------------


def test_samples_are_drawn_off_a_lot_that_stays_held_by_its_step():
    state = sampled.lot_sampled()
    lot, spear = item(state, "LOT-1"), item(state, "SP-1")
    assert (lot.status, lot.drawn) == ("held", ("SP-1", "SP-2"))
    assert (spear.sort, spear.status, spear.drawn_from) == ("sample", "held", "LOT-1")
    assert (spear.step, spear.place) == ("table", "gold_room")
    assert story.crossings(state, "SP-1") == [("table", "table", "table")]
    assert mass_of(state, "SP-1")[0] == Decimal("512.400")
    known = state.get(Sample, "SP-1")
    assert (known.status, known.taken_by, known.portion) == ("open", "spear", "")
    assert codes(state) == []


def test_a_reserve_is_sealed_in_its_envelope_and_kept():
    state = sampled.lot_sampled()
    seal, envelope = state.get(Seal, "S-0020"), state.get(Vessel, "SP-2")
    assert (seal.status, seal.vessel, seal.point) == ("fitted", "SP-2", "envelope")
    assert (envelope.sort, envelope.is_open) == ("envelope", False)
    assert state.get(Sample, "SP-2").status == "kept"
    assert story.in_vessel(state, "D1") == ("LOT-1",)


def test_sentence_of_samples_taken():
    said = parse(SampleTaken, sampled.taken())
    assert said.sentence() == (
        "By spear, samples of LOT-1 were taken: SP-1 (512.4 g) and SP-2 (498.6 g,"
        " under seal S-0020, the reserve portion). D1 was opened: S-0003 on lid (no"
        " tamper signs). D1 was sealed: S-0019 on lid."
    )


def test_sentence_of_one_dried_sample_in_place_of_another():
    row = {
        "item": "SP-9",
        "mass": grams("300.0"),
        "moisture_percent": "0",
        "oven": "OV1",
        "replaces": "SP-1",
    }
    said = parse(SampleTaken, {"item": "LOT-1", "way": "scoop", "samples": [row]})
    assert said.sentence() == (
        "By scoop, a sample of LOT-1 was taken: SP-9 (300.0 g, 0 % moisture, in place"
        " of SP-1)."
    )


def one(**row: Any) -> dict[str, Any]:
    """Return one sample of the opened lot, with this changed in its row."""
    rows = [{"item": "SP-1", "mass": grams("512.4"), **row}]
    rows = [{name: value for name, value in rows[0].items() if value is not None}]
    return sampled.taken(samples=rows, closed=[])


@pytest.mark.parametrize(
    ("situation", "values", "code"),
    [
        ("as it was", sampled.taken(), None),
        ("of a lot nobody has", sampled.taken(item="LOT-9"), "unknown_item"),
        (
            "out of a drum said to be sealed",
            sampled.taken(opened=[]),
            "seal_point_taken",
        ),
        (
            "out of a drum said to be sealed, and left so",
            sampled.taken(opened=[], closed=[]),
            "vessel_sealed",
        ),
        ("by a way nobody knows", sampled.taken(way="spoon"), "bad_field"),
        ("of no size", one(mass=None), "bad_field"),
        ("of a lot by volume", one(mass=None, volume_ml="20"), "bad_field"),
        ("by mass and volume", one(volume_ml="20"), "bad_field"),
        (
            "heavier than its lot",
            one(mass=reading("400.1", "kg", "PS1")),
            "out_of_range",
        ),
        ("with more digits", one(mass=grams("512.45")), "more_digits_than_instrument"),
        ("by its own lot's id", one(item="LOT-1"), "item_id_used"),
        (
            "dried in no oven",
            one(moisture_percent="0", oven="OV9"),
            "unknown_instrument",
        ),
        ("wetter than water", one(moisture_percent="101"), "moisture_over_100"),
        ("an umpire's without seal", one(portion="umpire"), "seal_missing"),
        ("a reserve without seal", one(portion="reserve"), "seal_missing"),
        ("under a seal never issued", one(seal="S-0999"), "seal_never_issued"),
        ("under a used seal", one(seal="S-0001"), "seal_already_used"),
        ("in place of a sample never taken", one(replaces="SP-0"), "unknown_sample"),
        ("in place of a lot", one(replaces="LOT-1"), "wrong_sort"),
    ],
)
def test_samples_are_taken_or_refused(situation, values, code):
    state = story.lot_room()
    assert refused(state, SampleTaken, values, at=TAKEN_AT) == code, situation


def test_one_seal_on_two_envelopes_is_refused():
    rows = [{"item": f"SP-{n}", "mass": grams("9.0"), "seal": "S-0020"} for n in (1, 2)]
    state = story.lot_room()
    values = sampled.taken(samples=rows, closed=[])
    assert refused(state, SampleTaken, values, at=TAKEN_AT) == "seal_already_used"


def test_an_envelope_cannot_bear_the_id_of_another_vessel():
    values = one(item="D2", portion="umpire", seal="S-0020")
    assert (
        refused(story.lot_room(), SampleTaken, values, at=TAKEN_AT)
        == "already_registered"
    )


@pytest.mark.parametrize(
    ("name", "words"),
    [
        ("BAR-1", "bar.reweighed"),
        ("BAR-1", "charge.poured"),
        ("DIP-1", "sample.split"),
    ],
)
def test_a_bar_or_a_sample_is_not_sampled_here_and_is_told_where(name, words):
    state = story.upto("numbered")
    values = {
        "item": name,
        "way": "grab",
        "samples": [{"item": "X", "mass": grams("1.0")}],
    }
    with pytest.raises(Refusal, match=words) as caught:
        say(state, SampleTaken, values, at=SPLIT_AT)
    assert caught.value.code == "wrong_sort"


@source("Common practice, no source: balances go by the time of an act")
def test_a_sample_older_than_its_lots_coming_is_refused_in_words():
    state = story.lot_room()
    with pytest.raises(Refusal, match="here as it is only since 2026-10-01") as caught:
        say(state, SampleTaken, sampled.taken(), at="2026-10-01T05:59:59+02:00")
    assert caught.value.code == "before_its_source"
    assert (
        refused(state, SampleTaken, sampled.taken(), at="2026-10-01T06:00:00+02:00")
        is None
    )


def test_a_sample_from_before_its_concentrate_passed_on_is_refused():
    state = story.upto("table")
    values = {
        "item": "CON-1",
        "way": "spear",
        "opened": [{"vessel": "D2", "seals_removed": [removed("lid", "S-0004")]}],
        "samples": [{"item": "SP-1", "mass": grams("10.0")}],
    }
    early, late = "2026-10-05T07:59:59+02:00", "2026-10-05T08:00:00+02:00"
    assert refused(state, SampleTaken, values, at=early) == "before_its_source"
    assert refused(state, SampleTaken, values, at=late) is None


def test_a_sample_is_as_moist_as_its_source_by_the_same_determination():
    state = story.upto("table")
    values = {
        "item": "CON-1",
        "way": "spear",
        "opened": [{"vessel": "D2", "seals_removed": [removed("lid", "S-0004")]}],
        "samples": [
            {"item": "SP-1", "mass": grams("100.0")},
            {"item": "SP-2", "mass": grams("100.0"), "moisture_percent": "0"},
        ],
    }
    say(state, SampleTaken, values, at=SPLIT_AT, entry="entry-s")
    # 8 % of 100.0 g is water.
    assert mass_of(state, "SP-1") == (
        Decimal("100.000"),
        Decimal("8.0"),
        Decimal("92.000"),
    )
    assert mass_of(state, "SP-2") == (
        Decimal("100.000"),
        Decimal("0"),
        Decimal("100.000"),
    )
    concentrate, spear, dried = (
        latest_mass(state, name) for name in ("CON-1", "SP-1", "SP-2")
    )
    assert (spear.moisture_id, spear.oven) == (concentrate.moisture_id, "OV1")
    assert dried.moisture_id == "entry-s.samples[1].moisture"


def solution_room():
    """Return a room with a solution of 2 L at electrowinning."""
    state = story.lot_room()
    story.add_item(state, "SOL-1", "solution", step="electrowinning")
    done = act("stock.opened", at="2026-10-01T06:00:00+02:00", entry="entry-opening")
    story.put(
        state,
        volume(state, done, item="SOL-1", litres=Decimal(2), tank="", path="SOL-1"),
    )
    return state


@pytest.mark.parametrize(
    ("row", "code"),
    [
        ({"volume_ml": "250"}, None),
        ({"volume_ml": "2005.001"}, "out_of_range"),
        ({"mass": grams("250.0")}, "bad_field"),
    ],
)
def test_a_solution_is_sampled_by_volume(row, code):
    state = solution_room()
    values = {"item": "SOL-1", "way": "solution", "samples": [{"item": "SS-1", **row}]}
    assert refused(state, SampleTaken, values, at=TAKEN_AT) == code
    if code is None:
        drawn = state.get(Volume, "SS-1/001")
        assert (drawn.litres, drawn.tank) == (Decimal("0.25"), "")


def replaced():
    """Return the lot's room with SP-1 replaced by SP-3."""
    state = sampled.lot_sampled()
    values = sampled.taken(
        opened=[{"vessel": "D1", "seals_removed": [removed("lid", "S-0019")]}],
        samples=[{"item": "SP-3", "mass": grams("500.0"), "replaces": "SP-1"}],
        closed=[],
    )
    say(state, SampleTaken, values, at=TAKEN_AT, entry="entry-of-replaced")
    return state


def test_results_of_a_replaced_sample_are_refused_and_its_metal_stays():
    state = replaced()
    assert state.get(Marker, "replaced:SP-1").value == "SP-3"
    assert item(state, "SP-1").status == "held"
    assert item(state, "LOT-1").drawn == ("SP-1", "SP-2", "SP-3")
    report = {
        "laboratory": "lab",
        "method": "fire_assay",
        "standing": "final",
        "sampler": "spear",
        "results": [
            {
                "items": ["LOT-1"],
                "sample": "SP-1",
                "unit": "gpt",
                "gold": "4000",
                "silver": "500",
            },
        ],
    }
    late = "2026-10-06T09:00:00+02:00"
    assert refused(state, AssayReported, report, at=late) == "sample_replaced"
    report["results"][0]["sample"] = "SP-3"
    assert refused(state, AssayReported, report, at=late) is None


def test_a_sample_is_replaced_once_and_by_one():
    state = replaced()
    again = one(item="SP-4", replaces="SP-1")
    again["opened"] = []
    assert refused(state, SampleTaken, again, at=TAKEN_AT) == "sample_replaced"
    rows = [
        {"item": f"SP-{n}", "mass": grams("9.0"), "replaces": "SP-3"} for n in (5, 6)
    ]
    twice = {**again, "samples": rows}
    assert refused(state, SampleTaken, twice, at=TAKEN_AT) == "bad_field"


def test_samples_taken_back_leave_the_lot_as_it_was():
    state = story.lot_room()
    lot, drum = item(state, "LOT-1"), state.get(Vessel, "D1")
    say(state, SampleTaken, sampled.taken(), at=TAKEN_AT, entry="entry-of-taken")
    void(state, "entry-of-taken", "sample.taken")
    assert (item(state, "LOT-1"), state.get(Vessel, "D1")) == (lot, drum)
    assert item(state, "SP-1").status == "void"
    assert state.get(Vessel, "SP-2") is None
    assert state.get(Sample, "SP-2") is None
    assert state.get(Seal, "S-0020").status == "issued"


def void(state, entry: str, kind: str, at: str = "2026-10-09T08:00:00+02:00") -> None:
    values = {"entry": entry, "mode": "void", "kind": kind, "reason": "wrong drum"}
    say(state, RecordCorrected, values, at=at, people=MENDERS, corrects=entry)


def correct(state, entry: str, kind: str, values: dict[str, Any]) -> None:
    said = {
        "entry": entry,
        "mode": "figures",
        "kind": kind,
        "reason": "read again",
        "values": values,
    }
    say(
        state,
        RecordCorrected,
        said,
        at="2026-10-09T08:00:00+02:00",
        people=MENDERS,
        corrects=entry,
    )


def test_a_samples_mass_is_put_right_as_the_same_weighing():
    state = sampled.lot_sampled()
    values = sampled.taken()
    values["samples"] = [
        {**values["samples"][0], "mass": grams("521.4")},
        values["samples"][1],
    ]
    correct(state, "entry-of-taken", "sample.taken", values)
    newest = latest_mass(state, "SP-1")
    assert (newest.net_g, newest.measured_in) == (Decimal("521.400"), "entry-of-taken")
    assert newest.terms[0].reading_id == "entry-of-taken.samples[0].gross"


def test_every_way_and_every_sort_that_is_sampled_is_a_word_of_the_trade():
    assert set(WAYS) == {"spear", "cutter", "grab", "dip", "pin", "solution", "scoop"}
    assert "bar" not in SAMPLED
    assert "sample" not in SAMPLED


# --- split ------------------------------------------------------------------


@source("Bars sampled as three sealed envelopes: party, party, umpire; common practice")
def test_drillings_are_divided_for_mine_refiner_and_umpire():
    state = sampled.told(sampled.drilled(), "split")
    assert item(state, "DRL-1").status == "consumed"
    assert item(state, "DRL-1").children == ("P-1", "P-2", "P-3")
    for name, portion, status in (
        ("P-1", "mine", "open"),
        ("P-2", "refiner", "open"),
        ("P-3", "umpire", "kept"),
    ):
        made, known = item(state, name), state.get(Sample, name)
        assert (made.sort, made.step, made.status) == ("sample", "smelt", "held")
        assert (known.portion, known.status) == (portion, status)
    assert item(state, "P-3").label == "the umpire's portion of DRL-1"
    assert state.get(Seal, "S-0021").vessel == "P-3"
    assert codes(state) == []


def test_a_dip_sample_is_divided_as_drillings_are():
    state = story.upto("reweighed")
    values = sampled.split(sample="DIP-1")
    values["portions"] = [
        {"item": "Q-1", "portion": "mine", "mass": grams("6.0")},
        {"item": "Q-2", "portion": "reject", "mass": grams("6.4")},
    ]
    say(state, SampleSplit, values, at=SPLIT_AT)
    assert item(state, "DIP-1").children == ("Q-1", "Q-2")


def test_sentence_of_a_split():
    assert parse(SampleSplit, sampled.split()).sentence() == (
        "Sample DRL-1 was divided into P-1, the mine's portion (2.7 g); P-2, the"
        " refiner's portion (2.8 g); P-3, the umpire's portion (2.7 g, under seal"
        " S-0021)."
    )


def portions(*grams_of: str) -> dict[str, Any]:
    """Return a split of DRL-1 into the mine's portions of these masses."""
    rows = [
        {"item": f"P-{n}", "portion": "mine", "mass": grams(each)}
        for n, each in enumerate(grams_of, start=1)
    ]
    return sampled.split(portions=rows)


@pytest.mark.parametrize(
    ("situation", "values", "code"),
    [
        ("as it was", sampled.split(), None),
        ("a bar", sampled.split(sample="BAR-1"), "wrong_sort"),
        ("one portion", portions("8.2"), "bad_field"),
        ("a portion heavier than the sample", portions("8.4", "0.1"), "out_of_range"),
        (
            "by volume",
            sampled.split(
                portions=[
                    {"item": "P-1", "portion": "mine", "volume_ml": "2"},
                    {"item": "P-2", "portion": "mine", "volume_ml": "2"},
                ]
            ),
            "bad_field",
        ),
        (
            "of no portion",
            sampled.split(
                portions=[
                    {"item": "P-1", "mass": grams("4.1")},
                    {"item": "P-2", "mass": grams("4.1")},
                ]
            ),
            "bad_field",
        ),
        ("dried in no oven", sampled.split(oven="OV7"), "unknown_instrument"),
    ],
)
def test_a_sample_is_divided_or_refused(situation, values, code):
    state = sampled.drilled()
    assert refused(state, SampleSplit, values, at=SPLIT_AT) == code, situation


@pytest.mark.parametrize("portion", ["umpire", "reserve"])
def test_a_portion_kept_for_later_needs_a_seal(portion):
    values = portions("4.0", "4.2")
    values["portions"][1]["portion"] = portion
    assert (
        refused(sampled.drilled(), SampleSplit, values, at=SPLIT_AT) == "seal_missing"
    )


def test_a_split_from_before_the_drilling_is_refused():
    state = sampled.drilled()
    early = "2026-10-06T13:59:00+02:00"
    assert refused(state, SampleSplit, sampled.split(), at=early) == "before_its_source"


def test_a_sample_is_divided_once():
    state = sampled.told(sampled.drilled(), "split")
    assert (
        refused(state, SampleSplit, portions("4.1", "4.1"), at=SPLIT_AT)
        == "item_consumed"
    )


def test_an_umpires_portion_is_not_divided():
    state = sampled.told(sampled.drilled(), "split")
    values = portions("1.3", "1.4") | {
        "sample": "P-3",
        "seal_cut": sampled.cut("S-0021"),
    }
    values["portions"] = [
        {**row, "item": f"U-{row['item']}"} for row in values["portions"]
    ]
    assert refused(state, SampleSplit, values, at=SPLIT_AT) == "umpire_portion_kept"


def test_a_sealed_reserve_is_divided_when_its_seal_is_said_as_seen():
    state = sampled.lot_sampled()
    rows = [
        {"item": f"R-{n}", "portion": "mine", "mass": grams("249.3")} for n in (1, 2)
    ]
    values = {"sample": "SP-2", "portions": rows}
    assert refused(state, SampleSplit, values, at=SPLIT_AT) == "vessel_sealed"
    values["seal_cut"] = sampled.cut("S-0022", "scratched", remains_kept=False)
    said = say(state, SampleSplit, values, at=SPLIT_AT)
    assert codes(state) == [
        "seal_not_the_one_fitted",
        "seal_tampered",
        "seal_remains_not_kept",
    ]
    assert {each.item for each in noticed(state)} == {"SP-2"}
    assert state.get(Seal, "S-0020").status == "removed"
    assert "its seal S-0022 on envelope (tamper signs: scratched)" in said.sentence()


@source("Sample masses to the gram, every one; common practice, no source")
@pytest.mark.parametrize(
    ("parts", "short"),
    [
        (("2.7", "2.7", "2.8"), None),
        (("2.7", "2.7", "2.7"), None),
        (("2.7", "2.7", "2.6"), "0.2 g of sample DRL-1 are not accounted for"),
        (("2.8", "2.8", "2.7"), None),
        (("2.8", "2.8", "2.8"), "sample DRL-1 became 0.2 g more than it was"),
    ],
)
def test_grams_that_a_split_leaves_out_are_noticed(parts, short):
    """The drillings weigh 8.2 g; 0.1 g is let pass."""
    state = sampled.drilled()
    say(state, SampleSplit, portions(*parts), at=SPLIT_AT)
    found = noticed(state)
    assert [each.message for each in found] == ([short] if short else [])
    assert {each.code for each in found} <= {"sample_grams_missing"}
    assert all((each.level, each.item) == ("exception", "DRL-1") for each in found)


def test_the_grams_let_pass_are_a_limit():
    state = sampled.drilled()
    limit = {"limit": "sample_loss_g", "value": "0", "unit": "g", "reason": "gold"}
    say(state, LimitSet, limit, at="2026-10-06T14:30:00+02:00")
    say(state, SampleSplit, portions("2.7", "2.7", "2.7"), at=SPLIT_AT)
    assert codes(state) == ["sample_grams_missing"]


def test_a_wet_sample_is_compared_dry_with_its_dried_portions():
    state = story.upto("table")
    values = {
        "item": "CON-1",
        "way": "spear",
        "opened": [{"vessel": "D2", "seals_removed": [removed("lid", "S-0004")]}],
        "samples": [{"item": "SP-1", "mass": grams("100.0")}],
    }
    say(state, SampleTaken, values, at=SPLIT_AT)
    rows = [
        {"item": "D-1", "portion": "mine", "mass": grams("46.0")},
        {"item": "D-2", "portion": "reject", "mass": grams("46.0")},
    ]
    dried = {"sample": "SP-1", "moisture_percent": "0", "oven": "OV1", "portions": rows}
    say(state, SampleSplit, dried, at=SPLIT_AT)
    assert codes(state) == []
    assert mass_of(state, "D-1") == (Decimal("46.000"), Decimal(0), Decimal("46.000"))


def test_a_split_is_put_right_and_taken_back():
    state = sampled.drilled()
    before = item(state, "DRL-1")
    say(state, SampleSplit, sampled.split(), at=SPLIT_AT, entry="entry-of-split")
    values = sampled.split()
    values["portions"] = [
        {**values["portions"][0], "mass": grams("2.6")},
        *values["portions"][1:],
    ]
    correct(state, "entry-of-split", "sample.split", values)
    assert mass_of(state, "P-1")[0] == Decimal("2.600")
    state = sampled.drilled()
    say(state, SampleSplit, sampled.split(), at=SPLIT_AT, entry="entry-of-split")
    void(state, "entry-of-split", "sample.split")
    assert item(state, "DRL-1") == before
    assert state.get(Vessel, "P-3") is None
    assert state.get(Item, "P-3").status == "void"


# --- envelopes elsewhere ----------------------------------------------------


def test_a_sealed_envelope_goes_into_a_safe_unopened_and_is_inspected_alone():
    state = sampled.told(sampled.drilled(), "split")
    say(state, VaultPlaced, {"safe": "S1", "items": ["P-3"]}, at=SPLIT_AT)
    assert story.last_stay(state, "P-3").vessel == "S1"
    looked = {
        "vessel": "P-3",
        "seals_seen": [{"point": "envelope", "seal": "S-0021", "tamper_signs": "none"}],
    }
    say(state, SealInspected, looked, at=SPLIT_AT)
    assert codes(state) == []
    looked["seals_seen"][0]["seal"] = "none"
    say(state, SealInspected, looked, at=SPLIT_AT)
    assert codes(state) == ["seal_not_the_one_fitted"]


def test_a_sealed_portion_is_charged_only_when_its_seal_is_said():
    state = sampled.told(sampled.drilled(), "split")
    values = {
        "charge": "CHG-2",
        "furnace": "F1",
        "crucible": "K8",
        "crucible_uses": 0,
        "sources": [{"item": "P-1"}, {"item": "P-3"}],
    }
    assert refused(state, ChargeMadeUp, values, at=SPLIT_AT) == "vessel_sealed"
    values["opened"] = [
        {"vessel": "P-3", "seals_removed": [removed("envelope", "S-0021")]}
    ]
    say(state, ChargeMadeUp, values, at=SPLIT_AT)
    assert item(state, "P-3").status == "in_charge"
    assert state.get(Seal, "S-0021").status == "removed"


# --- numbers ----------------------------------------------------------------


@source("python-stdnum, stdnum.iso7064.mod_37_36")
@pytest.mark.parametrize(
    ("number", "code"),
    [
        ("E-0041", "check_character_wrong"),
        ("E-0041{check}", None),
        ("E-0014{check}", "check_character_wrong"),
        ("e-0041{check}", "check_character_wrong"),
        ("E-41{check}", "check_character_wrong"),
        ("X-0041", None),
    ],
)
def test_a_new_samples_number_must_end_in_its_check_character(number, code):
    check = mod_37_36.calc_check_digit("E0041")
    state = story.lot_room()
    series = {"numbers": "sample", "prefix": "E-", "digits": 4, "with_check": True}
    say(state, NumberSeriesSet, series, at="2026-10-02T08:00:00+02:00")
    values = one(item=number.format(check=check))
    assert refused(state, SampleTaken, values, at=TAKEN_AT) == code


def test_what_a_replaced_sample_is_asked_by_others():
    state = replaced()
    with pytest.raises(Refusal, match="Report the result of SP-3"):
        check_not_replaced(state, "SP-1", "sample")
