"""Each rule of more than one entry: what raises it, and what just does not.

Thresholds are common practice without a published source, unless said otherwise.
"""

from datetime import UTC, datetime

import pytest

from goldroom.custody.records import Emergency
from goldroom.custody.room import Incident
from goldroom.findings.assays import bars_without_final_assay
from goldroom.findings.counts import counters_skipping, flushes_on_no_sheet
from goldroom.findings.record import emergencies_unratified, incidents_open
from goldroom.findings.seals import IssuedSeal, seals_unused
from goldroom.findings.signing import SignedAct, pairs_signing_most
from goldroom.findings.stock import SentShipment, bars_kept_long, shipments_open
from tests.goldroom.findings.things import (
    assay,
    bar,
    flush,
    seal,
    shipment,
    threshold,
)
from tests.goldroom.room import room

DAY = threshold("limit", "24", "h")
WEEK = threshold("limit", "7", "d")


def at(text: str) -> datetime:
    return datetime.fromisoformat(text).astimezone(UTC)


def emergency(status: str = "open") -> Emergency:
    return Emergency(
        entry="e-1",
        status=status,
        person="p-amara",
        at="2026-10-01T04:00:00Z",
        ratified_by="",
    )


@pytest.mark.parametrize(
    ("status", "now", "is_found"),
    [
        ("open", "2026-10-02T04:00:00+00:00", False),
        ("open", "2026-10-02T04:00:01+00:00", True),
        ("open", "2026-10-02T06:00:01+02:00", True),
        ("ratified", "2026-10-09T04:00:00+00:00", False),
    ],
)
def test_emergency_is_found_once_a_day_has_passed_unratified(status, now, is_found):
    found = emergencies_unratified([emergency(status)], within=DAY, now=at(now))
    assert bool(found) == is_found
    for each in found:
        assert each.code == "emergency_unratified"
        assert each.item == "e-1"
        assert each.at == "2026-10-02T04:00:00Z"


def test_unused_seals_of_one_handing_out_are_one_finding():
    issued = [
        IssuedSeal(seal=seal(f"S-{n:04d}"), issued_at="2026-10-01T04:00:00Z")
        for n in range(1, 6)
    ]
    issued.append(
        IssuedSeal(seal=seal("S-0009", "fitted"), issued_at="2026-10-01T04:00:00Z")
    )
    issued.append(IssuedSeal(seal=seal("T-01"), issued_at="2026-10-20T04:00:00Z"))
    found = seals_unused(issued, within=WEEK, now=at("2026-10-21T04:00:00+00:00"))
    assert [each.code for each in found] == ["seal_unused_long"]
    assert "S-0001 to 0005 (5 seals)" in found[0].found
    assert "T-01" not in found[0].found


def acts(*pairs: tuple[str, str, int], when: str = "2026-10-20T04:00:00Z"):
    return [
        SignedAct(at=when, people=(first, second))
        for first, second, count in pairs
        for _ in range(count)
    ]


@pytest.mark.parametrize(
    ("pairs", "found_pairs"),
    [
        ([("a", "b", 41), ("a", "c", 30), ("b", "c", 29)], ["a b"]),
        ([("a", "b", 40), ("a", "c", 30), ("b", "c", 30)], []),
        ([("a", "b", 25), ("b", "a", 25), ("c", "d", 50)], ["a b", "c d"]),
        ([("a", "b", 19)], []),
        ([("a", "b", 20)], ["a b"]),
    ],
)
def test_pair_over_its_share_is_found_whoever_signs_first(pairs, found_pairs):
    found = pairs_signing_most(
        acts(*pairs),
        at_most=threshold("same_pair_percent", "40", "%"),
        now=at("2026-10-25T04:00:00+00:00"),
    )
    assert [each.item for each in found] == found_pairs


def test_statements_older_than_thirty_days_do_not_count_for_the_pair():
    old = acts(("a", "b", 100), when="2026-09-01T04:00:00Z")
    recent = acts(("c", "d", 10), ("e", "f", 10), ("g", "h", 10))
    found = pairs_signing_most(
        [*old, *recent],
        at_most=threshold("same_pair_percent", "40", "%"),
        now=at("2026-10-25T04:00:00+00:00"),
    )
    assert found == []


def test_flushes_counted_and_on_no_sheet_are_one_finding_a_unit():
    flushes = [
        *(flush("U1", n) for n in range(12, 20)),
        flush("U1", 11, sheet="e-9"),
        flush("U2", 4),
        flush("U2", 5, cycle_status="", at=""),
    ]
    found = flushes_on_no_sheet(
        flushes, within=DAY, now=at("2026-10-02T05:00:01+00:00")
    )
    assert [(each.item, each.level) for each in found] == [
        ("U1", "exception"),
        ("U2", "exception"),
    ]
    assert "U1-1-12 to 19 (8 flushes)" in found[0].found
    assert "U2-1-4 (1 flush)" in found[1].found


def test_flushes_since_the_last_sheet_wait_until_the_limit():
    on_time = at("2026-10-02T05:00:00+00:00")
    assert flushes_on_no_sheet([flush("U1", 12)], within=DAY, now=on_time) == []


def units():
    return [
        record
        for record in room().all_held().values()
        if record.table == "concentrator"
    ]


@pytest.mark.parametrize(
    ("numbers", "left_out"),
    [
        ([1, 2, 3], ""),
        ([7], ""),
        ([1, 2, 5, 6], "U1-1-3 to 4"),
        ([1, 3, 5], "U1-1-2, U1-1-4"),
    ],
)
def test_number_that_the_counter_left_out_is_found(numbers, left_out):
    found = counters_skipping(units(), [flush("U1", number) for number in numbers])
    assert [each.found for each in found] == ([f"no cycle {left_out}"] * bool(left_out))


def test_flush_on_a_sheet_that_the_plant_never_counted_fills_no_gap():
    uncounted = flush("U1", 2, cycle_status="", at="", sheet="e-9")
    found = counters_skipping(units(), [flush("U1", 1), uncounted, flush("U1", 3)])
    assert [each.found for each in found] == ["no cycle U1-1-2"]


def test_number_left_out_and_answered_on_a_sheet_is_no_gap():
    answered = flush(
        "U1", 2, cycle_status="", at="", sheet="e-9", answer="missing: counter slipped"
    )
    flushes = [flush("U1", 1), answered, flush("U1", 3), flush("U1", 5)]
    found = counters_skipping(units(), flushes)
    assert [each.found for each in found] == ["no cycle U1-1-4"]


@pytest.mark.parametrize(
    ("standing", "status", "now", "is_found"),
    [
        ("", "held", "2026-10-08T09:00:01+00:00", True),
        ("", "held", "2026-10-08T09:00:00+00:00", False),
        ("estimated", "held", "2026-10-09T09:00:00+00:00", True),
        ("provisional", "in_transit", "2026-10-09T09:00:00+00:00", True),
        ("final", "held", "2026-10-09T09:00:00+00:00", False),
        ("umpire", "held", "2026-10-09T09:00:00+00:00", False),
        ("", "consumed", "2026-10-09T09:00:00+00:00", False),
    ],
)
def test_bar_without_final_assay_is_found_when_due(standing, status, now, is_found):
    assays = {"B-1": [assay("B-1", standing)]} if standing else {}
    found = bars_without_final_assay(
        [bar("B-1", status=status)], assays, within=WEEK, now=at(now)
    )
    assert bool(found) == is_found


def test_bars_of_one_pouring_are_one_finding():
    bars = [bar(f"B-{n}") for n in (1, 2, 3)]
    found = bars_without_final_assay(
        bars, {}, within=WEEK, now=at("2026-11-01T09:00:00+00:00")
    )
    assert len(found) == 1
    assert "B-1 to 3 (3 bars)" in found[0].found


@pytest.mark.parametrize(
    ("status", "now", "is_found"),
    [
        ("handed_over", "2026-10-08T04:00:01+00:00", True),
        ("handed_over", "2026-10-08T04:00:00+00:00", False),
        ("advised", "2026-11-01T04:00:00+00:00", False),
        ("received", "2026-11-01T04:00:00+00:00", False),
    ],
)
def test_shipment_not_received_in_time_is_found(status, now, is_found):
    advised = shipment("SH-1", status, "2026-09-01T04:00:00Z")
    sent = SentShipment(shipment=advised, handed_over_at="2026-10-01T04:00:00Z")
    found = shipments_open([sent], within=WEEK, now=at(now))
    assert [each.item for each in found] == ["SH-1"] * is_found


def test_bar_on_site_past_the_limit_is_found_and_one_under_way_is_not():
    bars = [bar("B-1"), bar("B-2", status="in_transit")]
    found = bars_kept_long(bars, within=WEEK, now=at("2026-10-20T09:00:00+00:00"))
    assert [each.found for each in found] == [
        "B-1 (1 bar) poured 2026-10-01, still on site"
    ]


def test_message_names_the_limit_to_set():
    found = emergencies_unratified(
        [emergency()],
        within=threshold("emergency_ratified_h", "24", "h"),
        now=at("2026-10-05T04:00:00+00:00"),
    )
    assert "24 h (limit emergency_ratified_h)" in found[0].expected


@pytest.mark.parametrize(
    ("status", "now", "is_found"),
    [
        ("open", "2026-10-08T04:00:00+00:00", False),
        ("open", "2026-10-08T04:00:01+00:00", True),
        ("closed", "2026-12-01T04:00:00+00:00", False),
    ],
)
def test_incident_is_found_once_it_stayed_open_too_long(status, now, is_found):
    incident = Incident(
        incident="INC-1",
        status=status,
        severity="minor",
        place="",
        items=(),
        vessels=(),
        entries=(),
        people=("p-sefu", "p-amara"),
        at="2026-10-01T04:00:00Z",
        entry="e-1",
        known_at="2026-10-01T04:00:00Z",
        closed_by="",
    )
    found = incidents_open([incident], within=WEEK, now=at(now))
    assert [(each.code, each.item) for each in found] == [
        ("incident_open_long", "INC-1")
    ] * is_found
