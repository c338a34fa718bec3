"""Number series: what is numbered how, since when, and what is not whole."""

from typing import Any

import pytest
from stdnum.iso7064 import mod_37_36

from goldroom.custody.number_series import NumberSeries, Series
from goldroom.custody.numbers import count_of, is_whole, numbered, series_of
from goldroom.errors import Refusal
from goldroom.statements.bars import BarReweighed
from goldroom.statements.fields import parse
from goldroom.statements.number_series import NumberSeriesSet
from goldroom.statements.record import RecordCorrected
from goldroom.statements.smelt import ChargePoured
from tests.goldroom import cell_story, leach_story, story
from tests.goldroom.room import codes, noticed, refused, room, say

source = pytest.mark.source
LIBRARY = "python-stdnum, stdnum.iso7064.mod_37_36"
BARS = {"numbers": "bar", "prefix": "KR-", "digits": 4, "with_check": True}
EARLY = "2026-10-02T08:00:00+02:00"


def checked(number: str) -> str:
    """Return a number with the character that the library gives it."""
    return number + mod_37_36.calc_check_digit(number.replace("-", ""))


def test_series_stand_beside_each_other_by_what_they_number():
    state = room()
    say(state, NumberSeriesSet, BARS, at=EARLY, entry="entry-1")
    later = {**BARS, "digits": 5, "from_at": "2026-11-01T06:00:00+02:00"}
    say(state, NumberSeriesSet, later, at=EARLY, entry="entry-2")
    known = state.get(NumberSeries, "bar")
    assert known.series == (
        Series(prefix="KR-", digits=4, with_check=True, from_at="2026-10-02T06:00:00Z"),
        Series(prefix="KR-", digits=5, with_check=True, from_at="2026-11-01T04:00:00Z"),
    )
    assert state.get(NumberSeries, "sample") is None
    for at, digits in (("2026-10-20T00:00:00Z", 4), ("2026-11-01T04:00:00Z", 5)):
        assert series_of(known, "KR-0101", at).digits == digits
    assert series_of(known, "KR-0101", "2026-10-01T00:00:00Z") is None
    assert series_of(known, "KX-0101", "2026-10-20T00:00:00Z") is None


@source(LIBRARY)
def test_sentences_of_series():
    said = parse(NumberSeriesSet, {**BARS, "from_at": "2026-11-01T06:00:00+02:00"})
    assert said.sentence() == (
        "Bars are numbered with a check character from 2026-11-01 06:00: the first of"
        f" prefix KR- is {checked('KR-0001')}."
    )
    plain = parse(NumberSeriesSet, {**BARS, "numbers": "seal", "with_check": False})
    assert plain.sentence() == (
        "Seals are numbered without a check character: the first of prefix KR- is"
        " KR-0001."
    )


@pytest.mark.parametrize(
    ("situation", "change", "code"),
    [
        ("as it was", {}, None),
        ("of boots", {"numbers": "boot"}, "bad_field"),
        ("of no digits", {"digits": 0}, "bad_field"),
        ("from the past", {"from_at": "2026-10-02T07:59:59+02:00"}, "bad_field"),
        ("from now", {"from_at": EARLY}, None),
        ("seals without a dash", {"numbers": "seal", "prefix": "S"}, "bad_field"),
        ("seals with a dash", {"numbers": "seal"}, None),
    ],
)
def test_a_series_is_set_or_refused(situation, change, code):
    values = {**BARS, **change}
    assert refused(room(), NumberSeriesSet, values, at=EARLY) == code, situation


def test_a_series_is_taken_back():
    state = room()
    say(state, NumberSeriesSet, BARS, at=EARLY, entry="entry-1")
    values = {"entry": "entry-1", "mode": "void", "kind": "number_series.set",
              "reason": "another prefix"}  # fmt: skip
    hands = (("p-jonas", "officer"), ("p-sefu", "security"))
    say(state, RecordCorrected, values, at=EARLY, people=hands, corrects="entry-1")
    assert state.get(NumberSeries, "bar") is None


@source(LIBRARY)
@pytest.mark.parametrize("count", [1, 41, 999, 9999, 10000])
def test_numbers_of_a_series_are_made_and_read_again(count):
    for prefix in ("E-", "KR", "S.1_"):
        series = Series(prefix=prefix, digits=4, with_check=True, from_at="")
        number = numbered(series, count)
        bare = "".join(each for each in number if each.isalnum())
        assert mod_37_36.is_valid(bare)
        assert count_of(series, number) == count
        assert is_whole(series, number)
        assert count_of(series, number[:-1]) is None


@pytest.mark.parametrize("text", ["E-", "E-004", "E-00411", "E-٠٠٤١A", "E-0041-", "E"])
def test_what_is_no_number_of_a_series_has_no_count(text):
    series = Series(prefix="E-", digits=4, with_check=True, from_at="")
    assert count_of(series, text) is None
    assert not is_whole(series, text)


def test_a_series_without_check_character_asks_nothing():
    series = Series(prefix="E-", digits=4, with_check=False, from_at="")
    assert is_whole(series, "E-41")
    assert (count_of(series, "E-0041"), count_of(series, "E-41")) == (41, None)


@source(LIBRARY)
@pytest.mark.parametrize(
    ("stamped", "found"),
    [
        (checked("KR-0101"), []),
        ("KR-0101", ["check_character_differs"]),
        (checked("KR-0110")[:-1] + "Q", ["check_character_differs"]),
        ("OLD-7", []),
    ],
)
def test_a_stamped_number_is_recorded_as_seen_and_noticed(stamped, found):
    state = story.before("numbered")
    say(state, NumberSeriesSet, BARS, at=EARLY)
    story.tell(state, "numbered", stamped=stamped)
    assert story.item(state, "BAR-1").label == stamped
    assert codes(state) == found
    for each in noticed(state):
        assert (each.level, each.item, each.found) == ("exception", "BAR-1", stamped)


def test_a_bar_stamped_before_its_series_began_is_not_asked():
    state = story.before("numbered")
    later = {**BARS, "from_at": "2026-10-06T13:00:01+02:00"}
    say(state, NumberSeriesSet, later, at=EARLY)
    story.tell(state, "numbered")
    assert codes(state) == []


SAMPLES = {"numbers": "sample", "prefix": "D", "digits": 3, "with_check": True}


@source(LIBRARY)
@pytest.mark.parametrize(
    ("number", "code"),
    [
        (checked("D001"), None),
        ("D0012", "check_character_wrong"),
        ("DRL-1", "check_character_wrong"),
        ("X-1", None),
    ],
)
def test_samples_of_a_pour_and_drillings_are_asked_too(number, code):
    dip: dict[str, Any] = story.values("pour")["samples"][0] | {"item": number}
    drill: dict[str, Any] = story.values("reweighed")["taken"][0] | {"item": number}
    for stage, kind, changed in (
        ("pour", ChargePoured, {"samples": [dip]}),
        ("reweighed", BarReweighed, {"taken": [drill]}),
    ):
        state = story.before(stage)
        say(state, NumberSeriesSet, SAMPLES, at=EARLY)
        at = story.STAGES[stage][1]
        assert refused(state, kind, story.values(stage, **changed), at=at) == code


def test_the_refusal_says_to_read_again_and_not_what_to_write():
    state = story.before("pour")
    say(state, NumberSeriesSet, SAMPLES, at=EARLY)
    dip = story.values("pour")["samples"][0] | {"item": "D0012"}
    with pytest.raises(Refusal) as caught:
        story.tell(state, "pour", samples=[dip])
    assert caught.value.field == "samples[0].item"
    assert "Read it again" in caught.value.message
    assert checked("D001") not in caught.value.message


@pytest.mark.parametrize(
    ("stage", "prefix", "changed"),
    [
        ("sampled", "SS-", {}),
        ("drained", "SOL-1-", {}),
        (
            "washed",
            "W-",
            {
                "solution": leach_story.STAGES["washed"][2]["solution"]
                | {"samples": [{"item": "W-1", "volume_ml": "50", "taken_by": "Amara"}]}
            },
        ),
        ("discharged", "RS-", {}),
    ],
)
def test_samples_of_a_leach_are_asked_too(stage, prefix, changed):
    """None of the course's samples bears a check character."""
    state = leach_story.told(before=stage)
    numbering = {"numbers": "sample", "prefix": prefix, "digits": 4}
    say(state, NumberSeriesSet, {**numbering, "with_check": False}, at=EARLY)
    assert leach_story.refused(state, stage, changed) is None
    state = leach_story.told(before=stage)
    say(state, NumberSeriesSet, {**numbering, "with_check": True}, at=EARLY)
    assert leach_story.refused(state, stage, changed) == "check_character_wrong"


def test_samples_of_a_cells_barren_are_asked_too():
    state = cell_story.before("first_run")
    numbering = {"numbers": "sample", "prefix": "BRN-1-", "digits": 4}
    say(state, NumberSeriesSet, {**numbering, "with_check": True}, at=EARLY)
    assert cell_story.refused(state, "first_run", {}) == "check_character_wrong"
