"""Every kind can be said from a file: the invented month, and what it had no need of.

A kind that is added must be said in the one or the other. All figures are invented.
"""

import json
from datetime import datetime, timedelta
from io import StringIO

import pytest
from django.core.management import call_command

from goldroom import roles
from goldroom.custody.records import Instrument, Item, Person, Vessel
from goldroom.demo import mine
from goldroom.demo.folder import PASSPHRASE, DemoFolder
from goldroom.management.database import working_on
from goldroom.reports.rows import every, one
from goldroom.statements.registry import kinds
from ledger import read, sealed_keys
from ledger.audit import audit
from ledger.core.signing import SigningKey, enrolled_key

BENCH = ("p-dara:officer", "p-edda:witness")
GUARDS = ("p-ruvi:security", "p-bex:manager")
DESK = ("p-loris:accountant", "p-ysolt:metallurgist")
SHIPPING = ("p-ruvi:security", "p-loris:accountant")
NEW_KEY = SigningKey.from_seed(b"a new key of an invented witness")


def lines_after_the_month(ledger_id):
    """Return what is said in November of all that October had no need of."""
    at = datetime.fromisoformat("2026-11-02T06:10:00+02:00")
    lines = []
    for kind, signers, data in said_in_november(ledger_id):
        at += timedelta(minutes=20)
        lines.append(
            {
                "kind": kind,
                "occurred_at": at.isoformat(),
                "received_at": (at + timedelta(minutes=5)).isoformat(),
                "signers": [
                    dict(zip(("person", "role"), each.split(":"), strict=True))
                    for each in signers
                ],
                "data": data,
            }
        )
    return lines


def said_in_november(ledger_id):
    yield from hopper_looked_into(ledger_id)
    yield (
        "instrument.moved",
        GUARDS,
        {
            "instrument": mine.SMALL.instrument,
            "place": "laboratory",
            "reason": "the samples are weighed there now",
        },
    )
    yield from residue_kept_and_released()
    yield from sludge_retorted()
    yield from refiners_assay_challenged(ledger_id)
    yield from keys_and_policy(ledger_id)


def hopper_looked_into(ledger_id):
    hopper = one(ledger_id, Vessel, mine.HOPPER)
    yield (
        "hopper.opened",
        BENCH,
        {
            "hopper": mine.HOPPER,
            "reason": "the screen over it is inspected",
            "seals_removed": [
                {
                    "point": each.point,
                    "seal": each.seal,
                    "tamper_signs": "none",
                    "remains_kept": True,
                }
                for each in hopper.points
            ],
        },
    )
    fitted = zip(hopper.points, ("S-0198", "S-0199"), strict=True)
    yield (
        "hopper.closed",
        BENCH,
        {
            "hopper": mine.HOPPER,
            "seals_fitted": [
                {"point": each.point, "seal": seal} for each, seal in fitted
            ],
        },
    )


ESTIMATE = {
    "gold_g": "40.0",
    "gold_u_g": "12.0",
    "silver_g": "6.0",
    "silver_u_g": "2.0",
    "method": "panned a bucket of it",
}


def weighed(reading, unit="kg", instrument=mine.PLATFORM.instrument):
    return {"reading": reading, "unit": unit, "instrument": instrument}


def residue_kept_and_released():
    """A trap's sand leached: residue kept in its bin, and sent back after all."""
    yield (
        "other_metal.received",
        BENCH,
        {
            "item": "OM-90",
            "origin": "trap",
            "from_where": "trap under the cyclones",
            "handed_over_name": "Orla Tennick (invented)",
            "goes_to": "leach",
            "place": "leach_bay",
            "gross": weighed("312.4"),
            "tare": weighed("20.0"),
            "condition": "wet",
            "moisture_percent": "14.0",
            "oven": mine.OVEN,
            "estimate": ESTIMATE,
        },
    )
    yield (
        "leach.charged",
        BENCH,
        {
            "batch": "LB-90",
            "vessel": mine.LEACH_VESSEL,
            "sources": [{"item": "OM-90"}],
            "water_l": "400",
            "reagents": [{"reagent": "sodium cyanide", "mass_kg": "6.0"}],
            "target_ph": "11.5",
        },
    )
    yield (
        "leach.drained",
        BENCH,
        {
            "batch": "LB-90",
            "solution": {
                "item": "SOL-90",
                "volume_l": "380",
                "measured_by": "tank_table",
                "tank": mine.TANKS[0],
            },
        },
    )
    yield (
        "leach.discharged",
        BENCH,
        {
            "batch": "LB-90",
            "residues": [
                {
                    "item": "RES-90",
                    "gross": weighed("470.0"),
                    "tare": weighed("162.4"),
                    "moisture_percent": "19.0",
                    "oven": mine.OVEN,
                    "vessel": mine.SLUDGE_TRAY,
                    "goes_to": "kept",
                }
            ],
        },
    )
    yield "leach.released", BENCH, {"item": "RES-90"}


def sludge_retorted():
    bench = mine.BENCH.instrument
    yield (
        "vessel.registered",
        GUARDS,
        {"vessel": "RT1", "name": "Retort", "sort": "retort", "place": "gold_room"},
    )
    yield (
        "other_metal.received",
        BENCH,
        {
            "item": "OM-91",
            "origin": "elution_sludge",
            "from_where": "the plant's elution",
            "handed_over_by": "p-ysolt",
            "goes_to": "smelt",
            "place": "gold_room",
            "gross": weighed("2140.0", "g", bench),
            "tare": weighed("1840.0", "g", bench),
            "condition": "dry",
            "estimate": ESTIMATE,
        },
    )
    yield (
        "material.retorted",
        BENCH,
        {
            "item": "OM-91",
            "calcine": "CAL-91",
            "gross": weighed("2118.0", "g", bench),
            "tare": weighed("1840.0", "g", bench),
            "vessel": mine.SLUDGE_TRAY,
            "retort": "RT1",
            "condenser_checked": True,
            "mercury": weighed("14.5", "g", bench),
            "start_c": "25",
            "end_c": "620",
        },
    )


def refiners_assay_challenged(ledger_id):
    """The shipment under way arrives under terms by which the refiner assays."""
    shipped = [
        each.item for each in every(ledger_id, Item, "in_transit") if each.sort == "bar"
    ]
    yield (
        "refining_contract.set",
        GUARDS,
        {
            "refinery": mine.REFINERY,
            "reference": "RC-2026-5 (invented)",
            "effective_from": "2026-11-01T06:00:00+02:00",
            "basis": "refiners_assay",
            "challenge_d": 10,
            "exchange_d": 14,
            "gold_splitting": {"limit": "0.05", "unit": "points"},
            "silver_splitting": {"limit": "0.4", "unit": "percent_of_mean"},
            "umpire_rule": "mean_with_nearer",
            "umpire_paid_by": "both",
            "payable_gold_percent": "99.90",
            "payable_silver_percent": "98.00",
            "melt_loss_percent": "0.1",
        },
    )
    yield (
        "dispatch.received",
        SHIPPING,
        {
            "shipment": "OF-SH-02",
            "received_by": "Sela Marchbanks (invented)",
            "receipt": "MR-722",
            "boxes": [{"box": mine.BOXES[1]}],
        },
    )
    yield (
        "dispatch.melted",
        SHIPPING,
        {
            "shipment": "OF-SH-02",
            "melt": "MR-9001",
            "items": shipped,
            "after_melt_g": "13000.0",
            "gold_permille": "861.0",
            "silver_permille": "119.0",
            "standing": "refiner",
            "sample": "S-MR-9001",
            "report": "outturn MR-9001 (invented)",
        },
    )
    yield (
        "refiner_assay.challenged",
        DESK,
        {
            "melt": "MR-9001",
            "reason": "a gold figure under every assay of ours",
            "notice": "letter of the same day (invented)",
        },
    )


def keys_and_policy(ledger_id):
    old, lost = (one(ledger_id, Person, each).keys[-1] for each in ("p-wren", "p-hale"))
    yield (
        "key.rotated",
        (*GUARDS, "p-wren:witness"),
        {
            "person": "p-wren",
            "old_key": old,
            "key": enrolled_key(
                NEW_KEY, origin=read.ledgers()[0].origin, person="p-wren"
            ),
        },
    )
    yield (
        "key.revoked",
        GUARDS,
        {"person": "p-hale", "key": lost, "reason": "the stick it was on is lost"},
    )
    yield (
        "policy.set",
        GUARDS,
        {"policy": roles.default_policy(), "classes": roles.default_classes()},
    )


@pytest.fixture(scope="module")
def folder(tmp_path_factory, django_db_blocker):
    """Return the folder of a demonstration with November's lines in its ledger."""
    folder = DemoFolder(tmp_path_factory.mktemp("every") / "demo")
    with django_db_blocker.unblock():
        call_command("demo", into=folder.path, stdout=StringIO())
        with working_on(folder.database):
            ledger_id = read.ledgers()[0].pk
            record(folder, lines_after_the_month(ledger_id))
            record(folder, [restated(), trued_up(ledger_id)])
    return folder


def record(folder, lines):
    path = folder.path / "later.jsonl"
    path.write_text("".join(json.dumps(line) + "\n" for line in lines), "utf-8")
    call_command(
        "record",
        path,
        keys=folder.keys,
        passphrase_file=folder.keys / "passphrase.txt",
        stdout=StringIO(),
    )


def restated():
    """Return the line that `close_period` draws for the month reported anew."""
    said = StringIO()
    call_command(
        "close_period",
        "--restate=2026-10",
        "--reason=the last loads were assayed after the closing",
        *(f"--signer={each}" for each in DESK),
        "--at=2026-11-03T09:00:00+02:00",
        stdout=said,
    )
    line = json.loads(said.getvalue().splitlines()[-1])
    return {**line, "received_at": "2026-11-03T09:05:00+02:00"}


def trued_up(ledger_id):
    newest = max(read.entries(ledger_id), key=lambda each: each.seq)
    return {
        "kind": "period.trued_up",
        "occurred_at": "2026-11-03T09:30:00+02:00",
        "received_at": "2026-11-03T09:35:00+02:00",
        "signers": [
            {"person": "p-loris", "role": "accountant"},
            {"person": "p-ysolt", "role": "metallurgist"},
        ],
        "data": {
            "period": "2026-10",
            "entries": [newest.entry_id],
            "lines": [
                {
                    "step": "hopper",
                    "metal": "gold",
                    "amount_g": "0.1",
                    "cause": "measurement",
                    "reason": "the last loads held more than was thought",
                }
            ],
        },
    }


@pytest.fixture
def ledger_id(folder, django_db_blocker):
    with django_db_blocker.unblock(), working_on(folder.database):
        yield read.ledgers()[0].pk


def test_every_kind_is_said_from_a_file(ledger_id):
    said = {each.kind for each in read.entries(ledger_id)}
    assert said == set(kinds())


def test_the_record_holds_with_all_of_them_in_it(ledger_id):
    found = audit(None)
    assert not found.findings
    assert not any(each.findings for each in found.ledgers)
    moved = one(ledger_id, Instrument, mine.SMALL.instrument)
    assert moved.place == "laboratory"


def test_a_rotated_key_signs_from_then_on(ledger_id, folder):
    held = one(ledger_id, Person, "p-wren")
    assert NEW_KEY.key_id in held.keys
    assert sealed_keys.read(folder.keys / "p-wren.key.json", PASSPHRASE)
