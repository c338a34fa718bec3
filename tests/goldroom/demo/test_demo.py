"""The whole demonstration: made by its command, checked by everything else."""

import json
from datetime import datetime
from decimal import Decimal
from io import StringIO

import pytest
from django.core.management import call_command
from django.core.management.base import CommandError
from django.db import connections

from goldroom.demo.folder import DemoFolder
from goldroom.management.database import working_on
from goldroom.reports.attention import attention
from goldroom.reports.metal import last_known_at
from ledger import read
from ledger.audit import audit
from ledger.core import verify


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
    assert "Nothing changed: all 1488 cycles" in said.getvalue()


def test_database_of_the_settings_is_left_alone(demo, ledger_id):
    assert connections["default"].settings_dict["NAME"] == str(demo[0].database)


def test_number_of_months_is_limited(tmp_path):
    with pytest.raises(CommandError, match="1 to 24"):
        call_command("demo", into=tmp_path / "demo", months=0)
