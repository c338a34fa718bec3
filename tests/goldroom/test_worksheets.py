"""A worksheet through the front door: said, signed, chained, told and rebuilt."""

from dataclasses import replace
from decimal import Decimal
from typing import Any

import pytest

from goldroom.custody.records import Assay
from goldroom.reports.metal import site_clock
from goldroom.reports.trail import trail
from goldroom.reports.trail_words import text_of
from tests import front_door

WORKSHEET: dict[str, Any] = {
    "laboratory": "lab",
    "standing": "final",
    "sampler": "drill",
    "samples": [
        {
            "sample": "DRL-1",
            "items": ["BAR-1", "DRL-1"],
            "unit": "permille",
            "portions": [
                {"portion_mg": "250.00", "cornet_mg": "212.70"},
                {"portion_mg": "250.00", "cornet_mg": "212.76"},
            ],
            "silver": "120.2",
        }
    ],
    "proofs": [
        {"gold_taken_mg": "212.50", "gold_found_mg": "212.58"},
        {"gold_taken_mg": "212.50", "gold_found_mg": "212.60"},
    ],
}


@pytest.fixture
def assayed(fresh_db: str) -> front_door.Room:
    """Give the told room, its bar drilled and the drillings' worksheet reported."""
    room = front_door.told()
    opened = [{"vessel": "S1", "seals_removed": [front_door.off("door", "S-0006")]}]
    drilled = {"item": "DRL-1", "taken_by": "drill", "mass": front_door.g("0.9", "BU1")}
    room.say(
        "bar.reweighed",
        {
            "item": "BAR-1",
            "opened": opened,
            "taken": [drilled],
            "first": front_door.g("166.9", "BU1"),
        },
        at="2026-03-08T09:00:00+02:00",
    )
    room.say(
        "fire_assay.reported",
        WORKSHEET,
        front_door.ASSAY,
        at="2026-03-09T09:00:00+02:00",
    )
    return room


def test_a_worksheet_is_the_bars_newest_assay_and_reads_aloud(assayed):
    found = trail(assayed.ledger_id, "BAR-1")
    newest = found.item.assays[-1]
    assert (newest.gold, newest.gold_determinations) == (Decimal("850.560"), 2)
    told = text_of(found, site_clock(assayed.ledger_id))
    assert "gold 850.560 ‰, silver 120.2 ‰ (final, lab (invented)," in told
    assert "fire assay, mean of 2)" in told


def test_what_could_not_be_detected_reads_as_less_than_its_limit(assayed):
    found = trail(assayed.ledger_id, "BAR-1")
    (first, *_) = found.item.assays
    assert isinstance(first, Assay)
    below = replace(
        first, unit="mg_l", gold=Decimal("0.015"), gold_limit=Decimal("0.03")
    )
    told = replace(found, item=replace(found.item, assays=(below,)))
    assert "gold less than 0.03 mg/L, silver 121.0 mg/L (provisional" in (
        text_of(told, site_clock(assayed.ledger_id))
    )
