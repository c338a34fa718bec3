"""Stock in what wants attention: insured, counted, and waiting for a signature."""

from datetime import UTC, datetime
from typing import Any

from goldroom import commands
from goldroom.reports.attention import attention
from tests.goldroom import small_mine

SOON = datetime(2026, 10, 6, 15, tzinfo=UTC)
COUNTERS = (("p-odile", "accountant"), ("p-leith", "witness"))


def concerns(ledger_id: int, code: str, now: datetime = SOON) -> list[Any]:
    """Return what wants attention under this code."""
    return [each for each in attention(ledger_id, now=now) if each.code == code]


def say(ledger_id: int, name: str, at: str, kind: str, hands: Any, /, **values: Any):
    """Say something into the told ledger."""
    saying = small_mine.saying(name, at, kind, hands, **values)
    commands.say(ledger_id, saying, small_mine.KEYS)


def insure(ledger_id: int, grams: str) -> None:
    """Set the grams that are insured."""
    say(
        ledger_id, f"insured {grams}", "10-06 10:00", "limit.set", small_mine.GUARDS,
        limit="stock_insured_g", value=grams, unit="g", reason="the insurer's letter",
    )  # fmt: skip


def test_the_gold_of_the_bars_in_the_safe_is_held_against_what_is_insured(fresh_db):
    """Two bars of 120.7 g and 118.0 g at 860 permille: 205.282 g of fine gold."""
    ledger_id = small_mine.tell(upto="placed")
    insure(ledger_id, "205.3")
    assert concerns(ledger_id, "stock_over_insured") == []
    insure(ledger_id, "205.2")
    (found,) = concerns(ledger_id, "stock_over_insured")
    assert found.found == "205 g of fine gold in 2 bars"
    assert found.item == "BAR-2"


def test_what_was_shipped_is_insured_no_longer(told):
    insure(told, "1")
    assert concerns(told, "stock_over_insured") == []


def test_a_room_counted_without_its_middlings_is_an_exception(fresh_db):
    ledger_id = small_mine.tell(upto="placed")
    say(
        ledger_id, "count", "10-06 09:00", "stock.counted", COUNTERS,
        place="gold_room", found=[{"thing": "MID-1"}, {"thing": "DIP-1"}],
    )  # fmt: skip
    (found,) = concerns(ledger_id, "not_in_count")
    assert found.level == "exception"
    assert "SLG-0 to 1 (2 items) in gold_room" in found.found


def test_a_statement_waiting_for_its_second_signature_is_noticed_after_a_while(
    fresh_db,
):
    ledger_id = small_mine.tell(upto="placed")
    now = datetime(2026, 10, 6, 8, tzinfo=UTC)
    saying = small_mine.saying(
        "waits", "10-06 09:50", "limit.set", small_mine.GUARDS,
        limit="stock_age_d", value="10", unit="d", reason="the insurer asks",
    )  # fmt: skip
    commands.propose(ledger_id, saying, small_mine.KEYS["p-sefu"], clock=lambda: now)
    at_half_past = now.replace(minute=30)
    assert concerns(ledger_id, "second_signature_late", at_half_past) == []
    (found,) = concerns(ledger_id, "second_signature_late", now.replace(minute=31))
    assert found.found == "limit.set, first signed 2026-10-06T08:00:00Z"
    commands.countersign(
        ledger_id, small_mine.entry_id("waits"), small_mine.KEYS["p-ines"],
        clock=lambda: now.replace(minute=40),
    )  # fmt: skip
    assert concerns(ledger_id, "second_signature_late") == []
