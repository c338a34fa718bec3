"""The whole demonstration: made by its command, checked by everything else."""

import json
from datetime import datetime, timedelta
from decimal import Decimal
from io import StringIO

import pytest
from django.core.management import call_command
from django.core.management.base import CommandError
from django.db import connections

from goldroom.custody.density import Density
from goldroom.custody.records import Item, Marker, Vessel
from goldroom.custody.sampled import Sample
from goldroom.demo import mine, remelting
from goldroom.demo.folder import DemoFolder
from goldroom.demo.sampling import PREFIX
from goldroom.management.database import working_on
from goldroom.metal.check_characters import id_holds
from goldroom.reports.attention import attention
from goldroom.reports.closed import closed_periods
from goldroom.reports.expected import expected_flushes
from goldroom.reports.metal import last_known_at
from goldroom.reports.noise import MOST_A_WEEK, noise_of
from goldroom.reports.rows import every
from goldroom.reports.settlement import settlements
from goldroom.reports.trail import trail
from ledger import proposals, read
from ledger.audit import audit
from ledger.core import verify
from ledger.core.base64text import to_base64


@pytest.fixture(scope="module")
def demo(tmp_path_factory, django_db_blocker):
    """Return the folder of a demonstration just made, and what the command said."""
    said = StringIO()
    path = tmp_path_factory.mktemp("var") / "demo"
    with django_db_blocker.unblock():
        call_command("demo", into=path, stdout=said)
    return DemoFolder(path), said.getvalue()


@pytest.fixture
def ledger_id(demo, django_db_blocker):
    with django_db_blocker.unblock(), working_on(demo[0].database):
        yield read.ledgers()[0].pk


def test_command_tells_what_was_made_in_about_a_dozen_lines(demo, ledger_id):
    _, said = demo
    lines = said.splitlines()
    assert 10 <= len(lines) <= 16
    assert "invented" in lines[0]
    head = read.head(ledger_id)
    assert f"{head.size} entries, root {head.root.hex()[:16]}…" in said
    assert 600 <= head.size <= 1200
    assert "manage.py runserver" in said
    assert str(demo[0].keys / "passphrase.txt") in said


def test_record_verifies_with_its_derived_tables(ledger_id):
    found = audit(None)
    assert found.exit_code == 0
    assert [each.findings for each in found.ledgers] == [()]


def test_bundle_verifies_offline_and_is_pinned(demo, capsys):
    folder, _ = demo
    options = ["--policy", str(folder.policy), "--anchor", str(folder.checkpoint)]
    assert verify.main([str(folder.bundle), *options]) == 0
    assert verify.main([str(folder.bundle)]) == 3


def test_every_balance_is_within_what_scales_and_assays_resolve(ledger_id):
    said = StringIO()
    days = {"first_day": "2026-10-01", "last_day": "2026-10-31"}
    call_command("reconcile", **days, json=True, stdout=said)
    report = json.loads(said.getvalue())
    for step, balances in report["steps"].items():
        for metal, balance in balances.items():
            assert abs(Decimal(balance["z"])) < 2, (step, metal)
    gravity = report["gravity"]
    ratio, u = Decimal(gravity["ratio"]), Decimal(gravity["u"])
    assert abs(ratio - 1) < 2 * u
    poured_kg = Decimal(gravity["poured"]) / 1000
    assert 4 * 4 <= poured_kg <= 8 * 5, "some kilograms a week"
    assert gravity["flushes"]["not_listed"] == []


def test_ordinary_trouble_is_noticed(ledger_id):
    now = datetime.fromisoformat(last_known_at(ledger_id))
    codes = {each.code for each in attention(ledger_id, now=now)}
    assert {
        "flush_short",
        "flush_missing",
        "seal_tampered",
        "seal_unknown",
        "instrument_out_of_date",
        "check_weight_outside_limit",
        "entered_late",
        "bowl_opened",
    } <= codes
    assert "emergency_unratified" not in codes
    kinds = [entry.kind for entry in read.entries(ledger_id)]
    assert kinds.count("record.lapsed") == 1


PLANNED = frozenset(
    {
        "assays_apart",
        "bowl_opened",
        "check_weight_outside_limit",
        "entered_late",
        "flush_missing",
        "flush_short",
        "incident_reported",
        "instrument_out_of_date",
        "seal_tampered",
        "seal_unknown",
    }
)
"""What the demonstration's people run into on purpose, and the rules that say so."""


@pytest.mark.source("common practice, no source: five new findings a week at most")
def test_month_is_quiet_enough_to_be_listened_to(ledger_id):
    """Beside what is planned, a table's rich tails and a hopper's lean rise by chance.

    One day's grade in forty is two spreads above its mean, and one rise in seventy
    three spreads off: looked at once, they cost little.
    """
    from_at = datetime.fromisoformat("2026-10-01T04:00:00Z")
    to_at = from_at + timedelta(days=31)
    found = attention(ledger_id, now=to_at)
    unplanned = [each for each in found if each.code not in PLANNED]
    clean = noise_of(unplanned, from_at=from_at, to_at=to_at)
    assert max(clean.together) <= MOST_A_WEEK
    assert {each.code for each in clean.rules} == {
        "hopper_rise_unusual",
        "tails_above_usual",
    }
    assert [each.level for each in clean.rules] == ["notice", "notice"]


def test_samples_worksheets_and_settlement_are_in_the_record(ledger_id):
    kinds = {entry.kind for entry in read.entries(ledger_id)}
    assert {
        "refining_contract.set",
        "number_series.set",
        "sample.taken",
        "sample.split",
        "sample.moved",
        "sample.consumed",
        "sample.returned",
        "screen_assay.reported",
        "fire_assay.reported",
        "assay.exchanged",
        "umpire.reported",
        "melt.settled",
        "bar.density_measured",
        "bar.reweighed",
        "remelt.charged",
        "sweepings.collected",
    } <= kinds


def test_samples_of_the_series_bear_a_check_character(ledger_id):
    samples = [each.sample for each in every(ledger_id, Sample)]
    numbered = [each for each in samples if each.startswith(PREFIX)]
    assert len(numbered) > 20
    for each in numbered:
        assert id_holds(each.removesuffix(".used")), each


def test_one_melt_is_agreed_and_the_other_umpired_and_both_are_settled(ledger_id):
    agreed, apart = settlements(ledger_id)
    assert [each.status for each in (agreed, apart)] == ["settled", "settled"]
    gold = {
        each.melt: line
        for each in (agreed, apart)
        for line in each.metals
        if line.metal == "gold"
    }
    limit = Decimal("0.5")
    assert abs(gold[agreed.melt].apart_permille) <= limit
    assert limit < abs(gold[apart.melt].apart_permille) <= Decimal("0.75")
    decision = gold[apart.melt].decision
    three = (decision.mine, decision.refiner, decision.umpire)
    assert decision.status == "umpired"
    assert decision.settled == sorted(three)[1]
    assert gold[agreed.melt].decision.umpire is None
    for each in gold.values():
        assert each.credited_g == each.payable_g


def test_settlement_and_samples_raise_no_finding(ledger_id):
    now = datetime.fromisoformat(last_known_at(ledger_id))
    codes = {each.code for each in attention(ledger_id, now=now)}
    assert not codes & {
        "settlement_differs",
        "payable_differs",
        "charges_differ",
        "melt_loss_over_allowance",
        "sample_grams_missing",
        "sample_not_handed_over",
        "sample_open_long",
        "worksheet_unusual",
        "duplicates_differ",
        "proofs_differ",
        "fractions_not_whole",
        "density_implausible",
        "stamped_number_differs",
        "item_lost_mass",
        "item_gained_mass",
    }


def test_umpires_portion_stayed_sealed_until_the_umpire_opened_it(ledger_id):
    kept = [each for each in every(ledger_id, Sample) if each.portion == "umpire"]
    sealed = {
        each.vessel: each.points[0].seal
        for each in every(ledger_id, Vessel)
        if each.sort == "envelope"
    }
    held = {each.item: each for each in every(ledger_id, Item)}
    used = [each for each in kept if held[each.sample].status == "consumed"]
    left = [each for each in kept if each not in used]
    assert (len(used), len(left)) == (1, 1)
    assert not sealed[used[0].sample]
    assert sealed[left[0].sample]
    assert held[left[0].sample].place == mine.REFINERY


def test_bar_melted_again_has_its_old_number_closed_and_names_its_sources(ledger_id):
    (closed,) = [
        each
        for each in every(ledger_id, Marker)
        if each.name.startswith("stamp_closed:")
    ]
    assert closed.value == remelting.CHARGE
    old = trail(ledger_id, closed.name.removeprefix("stamp_closed:"))
    assert (old.item.sort, old.item.status) == ("bar", "consumed")
    assert remelting.BAR in {each.item for each in old.forward}
    said = trail(ledger_id, remelting.BAR).to_json()
    assert said["item"]["label"] != old.item.label
    (charge,) = [each for each in said["back"] if each["item"] == remelting.CHARGE]
    assert old.item.item in charge["parents"]
    assert len(charge["parents"]) > 3, "remains and cornets went in with it"
    shares = {
        each["group"]: Decimal(each["gold"]["percent"])
        for each in said["sources"]["groups"]
    }
    assert abs(sum(shares.values()) - 100) < Decimal("0.001")
    assert shares["gravity"] > 80
    assert shares["other metal"] > 5


def test_one_sample_took_the_place_of_another_and_one_bar_was_weighed_in_water(
    ledger_id,
):
    markers = [each.name for each in every(ledger_id, Marker)]
    assert sum(each.startswith("replaced:") for each in markers) == 1
    (found,) = every(ledger_id, Density)
    assert abs(found.density_g_cm3 / found.expected_g_cm3 - 1) < Decimal("0.02")


def test_room_paper_stock_and_month_end_are_in_the_record(ledger_id):
    kinds = {entry.kind for entry in read.entries(ledger_id)}
    assert {
        "room.entered",
        "room.left",
        "detector.alarmed",
        "shift.handed_over",
        "incident.reported",
        "incident.closed",
        "finding.reviewed",
        "paper_forms.issued",
        "paper_form.written_up",
        "paper_form.voided",
        "error_budget.set",
        "stock.counted",
        "stock.estimated",
        "stock.rolled",
        "period.closed",
        "export.made",
    } <= kinds


def test_what_was_looked_into_is_settled_and_the_room_was_never_left_alone(ledger_id):
    now = datetime.fromisoformat(last_known_at(ledger_id)) + timedelta(days=30)
    found = attention(ledger_id, now=now)
    settled = {each.code for each in found if not each.is_open}
    assert settled == {"seal_tampered", "seal_unknown", "incident_reported"}
    codes = {each.code for each in found}
    assert not codes & {
        "alone_in_room",
        "visitor_without_escort",
        "entered_twice",
        "left_without_entering",
        "left_on_alarm",
        "detector_alarms_often",
        "handover_open_vessel",
        "handover_seal_not_read",
        "handover_vessel_not_listed",
        "form_left_out",
        "form_not_kept",
        "paper_signed_by_one",
        "paper_time_differs",
        "incident_open_long",
        "item_missing",
        "count_differs",
        "count_mass_differs",
        "not_in_count",
        "entered_after_close",
    }


def test_month_is_closed_with_the_figures_of_its_moment(ledger_id):
    (closed,) = closed_periods(ledger_id)
    assert (closed.period.first_day, closed.period.last_day) == (
        "2026-10-01",
        "2026-10-31",
    )
    assert closed.is_root_same
    assert closed.is_drawn_again
    assert closed.is_digest_same
    assert closed.period.reported.standing == "provisional"
    changed = [each for each in closed.figures if each.has_changed]
    assert {each.step for each in changed} >= {"hopper", "all"}
    assert not any(each.is_alarming for each in changed)


def test_auditors_copy_bears_the_chain_mark_of_its_moment(ledger_id):
    (made,) = [
        entry for entry in read.entries(ledger_id) if entry.kind == "export.made"
    ]
    said = made.statement["data"]
    assert said["size"] == made.seq
    assert said["root"] == to_base64(read.root_at(ledger_id, made.seq))


def test_month_as_a_file_is_the_record_itself(demo, ledger_id):
    folder, _ = demo
    said = StringIO()
    unlock = {"keys": folder.keys, "passphrase_file": folder.keys / "passphrase.txt"}
    call_command(
        "record", folder.month, **unlock, attachments=folder.papers, stdout=said
    )
    assert "Nothing changed" in said.getvalue()


def test_cycles_as_a_table_are_those_counted(demo, ledger_id):
    folder, _ = demo
    said = StringIO()
    call_command(
        "import_cycles",
        folder.cycles,
        zone="Africa/Lusaka",
        keys=folder.keys,
        stdout=said,
    )
    assert "Nothing changed: all 1504 cycles" in said.getvalue()


def test_there_is_work_for_today(ledger_id):
    expected = expected_flushes(ledger_id)
    assert [each.count for each in expected] == [8, 8]
    assert [odd.what for each in expected for odd in each.odd] == ["short"]
    (waiting,) = proposals.waiting(ledger_id)
    assert waiting.missing == (mine.WITNESSES[0],)


def test_database_of_the_settings_is_left_alone(demo, ledger_id):
    assert connections["default"].settings_dict["NAME"] == str(demo[0].database)


def test_number_of_months_is_limited(tmp_path):
    with pytest.raises(CommandError, match="1 to 24"):
        call_command("demo", into=tmp_path / "demo", months=0)
