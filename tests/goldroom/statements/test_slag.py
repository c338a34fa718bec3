"""Slag: weighed with an estimate, held until two people release it."""

from decimal import Decimal
from typing import Any

import pytest

from goldroom.custody.figures import latest_mass
from goldroom.custody.records import Estimate
from goldroom.errors import AssayMissing, EstimateMissing
from goldroom.statements.assays import AssayReported
from goldroom.statements.slag import SlagReleased
from tests.goldroom import story
from tests.goldroom.room import reading, say
from tests.goldroom.story import CHEMISTS, before, crossings, in_vessel, item, upto

RELEASED = {"item": "SLAG-1", "goes_to": "mill"}


def test_slag_has_a_mass_and_an_estimate_with_its_uncertainty():
    state = upto("slag")
    weighed = latest_mass(state, "SLAG-1")
    assert weighed is not None
    # 26.1 kg gross less the drum's registered 18.5 kg.
    assert (weighed.dry_g, weighed.wanted_for) == (Decimal("7600.000"), "slag")
    found = state.get(Estimate, "SLAG-1/001")
    assert found is not None
    assert (found.gold_g, found.gold_u_g) == (Decimal("9.5"), Decimal(3))
    assert (item(state, "SLAG-1").status, in_vessel(state, "D1")) == (
        "held",
        ("SLAG-1",),
    )


@pytest.mark.parametrize(
    ("changed", "code"),
    [
        pytest.param({}, None, id="as it was"),
        pytest.param({"item": "BAR-1"}, "wrong_sort", id="a bar for slag"),
        pytest.param({"gold_u_g": "0"}, "out_of_range", id="an exact estimate"),
        pytest.param({"silver_u_g": "0"}, "out_of_range", id="exact for silver"),
        pytest.param(
            {"gold_g": "0", "gold_u_g": "0"}, None, id="no gold at all may be exact"
        ),
        pytest.param({"gold_g": "-1"}, "bad_field", id="less than nothing"),
        pytest.param({"vessel": "B1"}, "tare_missing", id="a box of unknown tare"),
        pytest.param(
            {"gross": reading("18.4", "kg", "PS1")}, "tare_over_gross", id="below tare"
        ),
    ],
)
def test_slag_weighing_is_refused(changed: dict[str, Any], code: str | None):
    assert story.refused(before("slag"), "slag", changed) == code


def test_slag_to_the_mill_leaves_the_smelt():
    state = upto("slag")
    said = say(state, SlagReleased, RELEASED, at="2026-10-07T08:00:00+02:00")
    assert item(state, "SLAG-1").status == "left"
    assert crossings(state, "SLAG-1")[-1] == ("smelt", "", "mill")
    assert in_vessel(state, "D1") == ()
    assert said.sentence() == "Slag SLAG-1 was released back to the mill."


def test_slag_to_be_smelted_again_stays_held_and_can_be_charged():
    state = upto("slag")
    say(state, SlagReleased, {**RELEASED, "goes_to": "smelt"},
        at="2026-10-07T08:00:00+02:00")  # fmt: skip
    assert item(state, "SLAG-1").status == "held"
    again = {"charge": "CHG-2", "opened": None, "sources": [{"item": "SLAG-1"}]}
    assert story.refused(state, "charge", again) is None


def test_slag_without_an_estimate_is_not_released():
    with pytest.raises(EstimateMissing, match="Weigh it"):
        say(before("slag"), SlagReleased, RELEASED, at="2026-10-07T08:00:00+02:00")


def test_slag_leaves_the_site_only_with_an_assay():
    state = upto("slag")
    offsite = {**RELEASED, "goes_to": "offsite", "receiver": "Ostrel Metals"}
    with pytest.raises(AssayMissing, match="assayed first"):
        say(state, SlagReleased, offsite, at="2026-10-07T08:00:00+02:00")
    result = {"items": ["SLAG-1"], "sample": "E-9", "unit": "gpt", "gold": "1250",
              "silver": "520"}  # fmt: skip
    report = story.values("assayed", results=[result])
    say(state, AssayReported, report, at="2026-10-08T08:00:00+02:00", people=CHEMISTS)
    said = say(state, SlagReleased, offsite, at="2026-10-09T08:00:00+02:00")
    assert crossings(state, "SLAG-1")[-1] == ("smelt", "", "offsite")
    assert said.sentence() == (
        "Slag SLAG-1 was released to leave the site, taken by Ostrel Metals."
    )


def test_slag_weighing_reads_aloud():
    said = story.tell(before("slag"), "slag")
    assert said.sentence() == (
        "Slag SLAG-1 weighed 26.1 kg gross; it is thought to hold 9.5 g of gold"
        " (± 3) and 4 g of silver (± 2): from the last twelve slags."
    )
