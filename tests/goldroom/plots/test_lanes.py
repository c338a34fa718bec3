"""Custody as lanes, and loads with their limits: what is drawn is what is told."""

from decimal import Decimal
from xml.etree import ElementTree as ET

from goldroom.plots.cleanups import cleanup_plot
from goldroom.plots.lanes import lanes_plot
from goldroom.plots.svg import svg_of
from goldroom.reconcile.production_days import SiteClock
from goldroom.reports.cleanups import Cleanup, UnitCleanups, cleanups
from goldroom.reports.lanes import NOBODY, PEOPLE, SEALED, Lanes, Stretch, lanes
from goldroom.reports.trail import trail

CLOCK = SiteClock("Africa/Gaborone", "06:00")


def stretch(from_at, until, cover):
    """Return a stretch in one place."""
    return Stretch(
        place="Vault", vessel="Safe", from_at=from_at, until=until, act="Placed",
        seq=7, seals=(), hands="", cover=cover,
    )  # fmt: skip


def test_a_bars_lanes_are_its_stays(told_once):
    found = lanes(trail(told_once.ledger_id, "BAR-1"))
    stays = trail(told_once.ledger_id, "BAR-1").item.stays
    assert len(found.stretches) == len(stays)
    assert [each.until for each in found.stretches[:-1]] == [
        each.from_at for each in found.stretches[1:]
    ]
    assert {each.cover for each in found.stretches} <= {SEALED, PEOPLE}
    plot = lanes_plot(found, CLOCK)
    assert len(plot.rows) == len(stays)
    assert "At every time" in plot.sentence


def test_time_with_nobody_is_hatched_and_said():
    found = Lanes(
        item="X", label="", places=("Vault",),
        stretches=(
            stretch("2026-03-01T00:00:00Z", "2026-03-02T00:00:00Z", SEALED),
            stretch("2026-03-02T00:00:00Z", "", NOBODY),
        ),
    )  # fmt: skip
    plot = lanes_plot(found, CLOCK)
    assert "1 stretch with nobody" in plot.sentence
    covered = lanes_plot(
        Lanes(item="X", label="", places=("Vault",), stretches=found.stretches[:1]),
        CLOCK,
    )
    assert svg_of(plot, "a").count("<path") > svg_of(covered, "a").count("<path") + 10


def test_nothing_recorded_is_said_and_drawn():
    plot = lanes_plot(Lanes(item="X", label="", places=(), stretches=()), CLOCK)
    assert "Nothing is recorded" in plot.sentence
    ET.fromstring(svg_of(plot, "x"))


def loads(*values, limit=None):
    """Return a family of loads with these masses per flush."""
    return UnitCleanups(
        units=("U1",),
        cleanups=tuple(
            Cleanup(
                load=f"LD-{n}", at=f"2026-03-{n + 1:02d}T05:00:00Z", flushes=2,
                dry_kg=Decimal(value) * 2, kg_per_flush=Decimal(value),
                is_outside=limit is not None and Decimal(value) > limit,
            )
            for n, value in enumerate(values)
        ),
        centre_kg=None if limit is None else Decimal(30),
        low_kg=None if limit is None else Decimal(20),
        high_kg=limit,
    )  # fmt: skip


def test_limits_are_drawn_for_those_who_may_read_them_alone():
    each = loads("30", "31", "52", limit=Decimal(40))
    shown = cleanup_plot(each, CLOCK, with_limits=True)
    hidden = cleanup_plot(each, CLOCK, with_limits=False)
    assert "1 outside" in shown.sentence
    assert [row[-1] for row in shown.rows] == ["inside", "inside", "outside"]
    assert svg_of(shown, "s").count("<polygon") == 1
    for text in (hidden.sentence, svg_of(hidden, "h"), str(hidden.rows)):
        assert "40.00" not in text
        assert "outside" not in text
    assert "<polygon" not in svg_of(hidden, "h")


def test_one_load_none_and_a_real_month_can_be_drawn(told_once):
    for each in (loads("30"), loads(), *cleanups(told_once.ledger_id)):
        plot = cleanup_plot(each, CLOCK, with_limits=True)
        ET.fromstring(svg_of(plot, "p"))
        assert svg_of(plot, "p") == svg_of(
            cleanup_plot(each, CLOCK, with_limits=True), "p"
        )
