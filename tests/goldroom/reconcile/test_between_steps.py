"""What passes from one step to another does so once, with the mass it had there.

All invented. Expected grams are the stories' own.
"""

from decimal import Decimal
from typing import Any

import pytest

from goldroom.custody.state import State
from goldroom.reconcile.balance import balance_of
from goldroom.reconcile.ledger_records import LedgerRecords
from goldroom.reconcile.network import parcels_of, step_holding
from goldroom.reconcile.priors import Quantities
from goldroom.reconcile.sources import Shares
from goldroom.statements.assays import AssayReported
from goldroom.statements.bars import BarNumbered
from goldroom.statements.drying import MaterialCalcined, MaterialDried
from goldroom.statements.other_metal import OtherMetalReceived
from goldroom.statements.smelt import ChargeMadeUp
from goldroom.statements.table import TableRun
from tests.goldroom import cell_story, story
from tests.goldroom.room import noticed, reading, say
from tests.goldroom.story import CHEMISTS, add_item, crossings, item

PERIOD = ("2026-10-01T00:00:00Z", "2026-11-01T00:00:00Z")
KEPT = {"gross": reading("10.0", "kg", "PS1"), "tare": reading("0.0", "kg", "PS1"),
        "goes_to": "kept", "vessel": "D2"}  # fmt: skip
HEATED = {"tare": reading("0.0", "kg", "PS1"), "vessel": "D2", "start_c": "90",
          "end_c": "600"}  # fmt: skip


def unaccounted(state: State, step: str, metal: str) -> Decimal | None:
    """Return what a step's balance of the month shows missing; None if not drawn."""
    data = LedgerRecords.from_held(state.all_held()).as_known("2027-01-01T00:00:00Z")
    parcels = parcels_of(data, Quantities(data), from_at=PERIOD[0], to_at=PERIOD[1])
    found = balance_of(parcels, frozenset({step}), metal).unaccounted
    return None if found is None else found.posted_g


@pytest.mark.parametrize("step", ["leach", "smelt", "table"])
def test_what_another_step_kept_passes_to_the_table_that_it_is_run_over(step):
    state = story.before("table")
    sort = "residue" if step == "leach" else "other"
    add_item(state, "R-1", sort, step=step, dry_kg="10.0")
    made = {**KEPT, "item": "MID-1", "product": "middlings"}
    values = {"table": "T1", "feed": ["R-1"], "products": [made]}
    say(state, TableRun, values, at="2026-10-07T12:00:00+02:00")
    passed = [] if step == "table" else [(step, "table", "table")]
    assert crossings(state, "R-1") == passed
    for each in {step, "table"}:
        assert unaccounted(state, each, "dry_mass") == 0


def test_what_calcining_drives_off_is_not_missing_from_the_step_it_came_from():
    state = story.before("table")
    add_item(state, "MAG-1", "magnetics", step="table", dry_kg="10.0")
    values = {"item": "MAG-1", "calcine": "CAL-1", "furnace": "OV1",
              "gross": reading("8.5", "kg", "PS1"), "driven_off": "sulphur",
              **HEATED}  # fmt: skip
    say(state, MaterialCalcined, values, at="2026-10-07T12:00:00+02:00")
    assert item(state, "CAL-1").step == "smelt"
    assert unaccounted(state, "table", "dry_mass") == 0


def test_metal_gone_between_drying_and_charging_is_missing_from_the_smelt():
    state = story.before("table")
    received: dict[str, Any] = {
        "item": "OM-1", "origin": "sump", "from_where": "sump 2", "goes_to": "smelt",
        "handed_over_name": "Rell Ambos", "place": "gold_room", "sample": "E-1",
        "gross": reading("20.0", "kg", "PS1"), "condition": "wet",
    }  # fmt: skip
    say(state, OtherMetalReceived, received, at="2026-10-07T12:00:00+02:00")
    dried = {"item": "OM-1", "gross": reading("10.0", "kg", "PS1"), "oven": "OV1",
             **HEATED}  # fmt: skip
    say(state, MaterialDried, dried, at="2026-10-07T18:00:00+02:00")
    story_assay = {
        "laboratory": "lab", "method": "fire_assay", "standing": "final",
        "sampler": "scoop",
        "results": [{"items": ["OM-1"], "sample": "E-1", "unit": "gpt",
                     "gold": "1000", "silver": "100"}],
    }  # fmt: skip
    say_assay(state, story_assay)
    charged = {
        "charge": "CHG-9", "furnace": "F1", "crucible": "K1", "crucible_uses": 0,
        "sources": [{"item": "OM-1", "dry_gross": reading("9.0", "kg", "PS1")}],
    }  # fmt: skip
    say(state, ChargeMadeUp, charged, at="2026-10-08T18:00:00+02:00")
    data = LedgerRecords.from_held(state.all_held())
    assert Quantities(data).of("OM-1").gold.posted_g == 10


def say_assay(state: State, values: dict[str, Any]) -> None:
    """Report assays, signed by the laboratory."""
    say(state, AssayReported, values, at="2026-10-08T08:00:00+02:00", people=CHEMISTS)


def test_as_known_before_a_second_run_its_solution_is_in_no_load():
    state = cell_story.upto("second_run")
    data = LedgerRecords.from_held(state.all_held())
    before = data.as_known("2026-10-07T00:00:00Z")
    assert dict(Shares(Quantities(before)).of("CL-1")).keys() == {"SOL-1"}
    assert Quantities(before).of("CL-1").gold.posted_g == Decimal("1788.200")
    after = data.as_known("2026-10-08T00:00:00Z")
    assert dict(Shares(Quantities(after)).of("CL-1")).keys() == {"SOL-1", "SOL-2"}


@pytest.mark.parametrize(
    "at",
    [
        pytest.param("2026-10-06T13:00:00+02:00", id="after the pour"),
        pytest.param("2026-10-06T05:00:00+02:00", id="by a wrong clock, before it"),
    ],
)
def test_a_bar_is_held_by_one_step_whatever_its_numbering_said_of_the_time(at):
    state = story.before("numbered")
    say(state, BarNumbered, story.values("numbered"), at=at)
    data = LedgerRecords.from_held(state.all_held())
    (bar,) = [each for name, each in data.items.items() if name == "BAR-1"]
    assert step_holding(bar, data.crossings["BAR-1"], PERIOD[1]) == "vault"
    parcels = parcels_of(data, Quantities(data), from_at=PERIOD[0], to_at=PERIOD[1])
    ways = [e.way for e in parcels if e.item == "BAR-1"]
    assert [(e.from_step, e.to_step) for e in ways] == [
        ("smelt", "vault"),
        ("vault", ""),
    ]


@pytest.mark.parametrize(
    ("stage", "at", "found"),
    [
        pytest.param("numbered", "2026-10-06T05:00:00+02:00", ["BAR-1"], id="a bar"),
        pytest.param("numbered", "2026-10-06T13:00:00+02:00", [], id="in its time"),
        pytest.param("table", "2026-10-01T05:00:00+02:00", ["LOT-1"], id="a lot"),
    ],
)
def test_what_is_used_before_it_was_there_is_noticed(stage, at, found):
    state = story.before(stage)
    kind = story.STAGES[stage][0]
    say(state, kind, story.values(stage), at=at)
    early = [e.item for e in noticed(state) if e.code == "used_before_made"]
    assert early == found
