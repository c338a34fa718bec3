"""What people get wrong in the rest of the room, through the front door.

Samples, laboratory, leach, cells, furnace, refinery, door, paper, stock and month: each
refusal names what was found, what was expected and what to do, and changes nothing;
what people saw is taken and noticed. The same holds for a file of statements, which
tells the wrong line by number and is taken whole or not at all.
"""

import copy
import json
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from io import StringIO
from pathlib import Path
from typing import Any

import pytest
from django.core.management import call_command
from django.core.management.base import CommandError
from django.db import connections

from goldroom.custody.records import Noticed
from goldroom.demo.folder import PASSPHRASE, SCRYPT_N
from goldroom.errors import Refusal
from goldroom.keys import seal_into
from goldroom.metal.check_characters import id_check_character
from goldroom.reports.aloud import aloud
from goldroom.roles import default_policy
from goldroom.sayings import line_of
from goldroom.tables import TABLES, read_all
from ledger import attachments, read
from ledger.core.errors import LedgerRefusal
from tests.conftest import copied_database
from tests.goldroom import dealings, leach_story, sampled, story
from tests.goldroom.room import PAIR, reading, removed
from tests.goldroom.statements import worksheets
from tests.goldroom.statements.test_error_budget import BUDGET
from tests.goldroom.statements.test_period import CLOSED, NOVEMBER
from tests.rest_of_the_room import (
    ACCOUNTS,
    CHEMISTS,
    COUNTERS,
    GUARDS,
    KEYS,
    MENDERS,
    Room,
    Told,
    later,
    renamed,
    saying,
    told,
)
from tests.test_remedies import tells_what_to_do

Values = dict[str, Any]
AT = "2026-11-03T09:00:00+02:00"
BEFORE = "2026-11-02T09:00:00+02:00"
SOON = "2026-10-15T10:00:00+02:00"
"""Within the dates that the contract sets."""


def changed(values: Values, path: str, value: Any) -> Values:
    """Return the values with one of them changed; None takes it out."""
    new = copy.deepcopy(values)
    where: Any = new
    *way, last = [int(part) if part.isdigit() else part for part in path.split(".")]
    for part in way:
        where = where[part]
    if value is None:
        del where[last]
    else:
        where[last] = value
    return new


def this(kind: str, data: Values, hands: Any = PAIR, at: str = AT) -> Told:
    """Return what is said, at the usual time by the usual two."""
    return at, kind, hands, data


# --- what is said before, and what is said wrongly -----------------------------

EXCHANGED = this("assay.exchanged", dealings.values("exchanged"), ACCOUNTS, BEFORE)
APART = this(
    "assay.exchanged",
    dealings.values("exchanged", **dealings.apart("843.9", "842.7")),
    ACCOUNTS,
    BEFORE,
)
UMPIRED = this("umpire.reported", dealings.values("umpired"), ACCOUNTS)
SETTLED = this("melt.settled", dealings.values("settled"), ACCOUNTS)
STANDS = this(
    "refining_contract.set",
    dealings.values("contract", basis="refiners_assay", challenge_d=7),
    GUARDS,
    BEFORE,
)
CHALLENGED = this("refiner_assay.challenged", dealings.values("challenged"), ACCOUNTS)

FIRE = this("fire_assay.reported", worksheets.FIRE, CHEMISTS)
SCREEN = this(
    "screen_assay.reported",
    renamed(worksheets.SCREEN, {"SMP-1": "LS-1", "LOT-1": "LOT-2"}),
    CHEMISTS,
)
WASTE = this(
    "sample.taken",
    {
        "item": "BRN-2",
        "way": "dip",
        "samples": [{"item": name, "volume_ml": "100"} for name in ("BS-1", "BS-2")],
    },
    at=BEFORE,
)
WASTE_AGAIN = this(
    "sample.taken",
    {
        "item": "BRN-2",
        "way": "dip",
        "samples": [{"item": "BS-3", "volume_ml": "100", "replaces": "BS-2"}],
    },
    at=BEFORE,
)
SOLUTION = this(
    "solution_assay.reported",
    renamed(worksheets.SOLUTION, {"PREG-1": "BRN-2", "SMP-2": "BS-1", "SMP-3": "BS-2"}),
    CHEMISTS,
)
REPORTED = this(
    "assay.reported",
    leach_story.results("gpt", (["LOT-2"], "5000", "600")),
    CHEMISTS,
)

CHARGED = this(
    "leach.charged",
    {
        "batch": "LB-2",
        "vessel": "LV1",
        "sources": [{"item": "LOT-3"}],
        "reagents": [{"reagent": "caustic soda", "mass_kg": "6"}],
        "target_ph": "12.0",
    },
    at=BEFORE,
)
DRAINED = this(
    "leach.drained",
    {"batch": "LB-2", "solution": leach_story.solution("SOL-9", "3000", "TK2")},
    at=BEFORE,
)
RESIDUE = {
    "item": "RES-9",
    "gross": reading("515.7", "kg", "PS1"),
    "moisture_percent": "20",
    "oven": "OV1",
    "vessel": "D4",
    "goes_to": "kept",
}
DISCHARGED = this("leach.discharged", {"batch": "LB-2", "residues": [RESIDUE]})

SMELT = {"furnace": "F1", "crucible": "K7", "crucible_uses": 4}
MADE_UP = this(
    "charge.made_up", {**SMELT, "charge": "CHG-9", "sources": [{"item": "LOT-3"}]}
)
CLEANED = this(
    "cells.cleaned",
    {
        "cell": "EC1",
        "load": "CL-2",
        "cathodes": 6,
        "sludges": [
            {
                "item": "SLU-9",
                "came_off": "cathodes",
                "vessel": "TR2",
                "gross": reading("4.5", "kg", "PS1"),
            }
        ],
    },
)

POURED = (
    this(
        "charge.made_up",
        {**SMELT, "charge": "CHG-8", "sources": [{"item": "CAL-1"}]},
        at="2026-10-20T07:00:00+02:00",
    ),
    this(
        "charge.poured",
        {
            "charge": "CHG-8",
            "place": "gold_room",
            "castings": [
                {"item": "BAR-8", "mould": "M1"},
                {"item": "BAR-9", "mould": "M2"},
            ],
        },
        at="2026-10-20T09:00:00+02:00",
    ),
    this(
        "bar.numbered",
        {
            "item": "BAR-8",
            "stamped": "KR-0108",
            "first": reading("1600.4", "g", "BU1"),
        },
        at="2026-10-20T13:00:00+02:00",
    ),
)
"""Two castings from the calcine; only BAR-8 bears a number."""

NUMBERED_TOO = this(
    "bar.numbered",
    {"item": "BAR-9", "stamped": "KR-0109", "first": reading("1500.0", "g", "BU1")},
    at="2026-10-20T13:20:00+02:00",
)
ONLY_BARS = {
    "assayed": leach_story.results("permille", (["BAR-1", "BAR-2"], "842.6", "119.2"))
}
ON_THEIR_WAY = tuple(
    (
        later(story.STAGES[stage][1], 16),
        story.STAGES[stage][0].kind_name,
        story.SIGNED_BY[stage],
        later(
            renamed(
                story.values(stage, **ONLY_BARS.get(stage, {})),
                {"BAR-1": "BAR-8", "BAR-2": "BAR-9", "SHP-1": "SHP-8", "B1": "B2"},
                seals=20,
            ),
            16,
        ),
    )
    for stage in ("assayed", "placed", "advised", "taken", "handed_over")
)
REMELT = this(
    "remelt.charged",
    {
        **SMELT,
        "charge": "CHG-9",
        "bars": [{"item": "BAR-8", "stamped": "KR-0108"}],
        "reason": "not_homogeneous",
    },
)

CONSUMED = this(
    "sample.consumed",
    {"laboratory": "lab", "used": [{"sample": "SP-2", "used_g": "498.6"}]},
    CHEMISTS,
)
OF_LOT_3 = this(
    "sample.taken",
    {
        "item": "LOT-3",
        "way": "spear",
        "samples": [{"item": "SP-9", "mass": sampled.grams("500.0")}],
    },
)
SERIES = this(
    "number_series.set",
    {"numbers": "sample", "prefix": "E-", "digits": 4, "with_check": True},
    GUARDS,
    BEFORE,
)
WRONG_CHECK = "E-0001" + ("A" if id_check_character("E-0001") != "A" else "B")
SPLIT = this(
    "sample.split",
    {
        "sample": "LS-1",
        "portions": [
            {"item": "Q-1", "portion": "mine", "mass": sampled.grams("800.0")},
            {"item": "Q-2", "portion": "umpire", "mass": sampled.grams("690.0")},
        ],
    },
)

VISITED = this(
    "room.entered",
    {
        "place": "gold_room",
        "persons": ["p-amara", "p-leith"],
        "visitors": [
            {
                "name": "Mirel Tanco",
                "organisation": "Bureau of Weights (invented)",
                "escort": "p-brandt",
            }
        ],
    },
)
LEFT = this(
    "room.left",
    {"place": "gold_room", "persons": [{"person": "p-amara"}, {"person": "p-leith"}]},
)
INCOMING = (("p-jonas", "officer"), ("p-sefu", "security"))
HANDED_OVER = this(
    "shift.handed_over",
    {
        "place": "hopper_bay",
        "outgoing": ["p-amara", "p-leith"],
        "incoming": ["p-jonas", "p-sefu"],
        "way": "all_sign",
        "vessels": [{"vessel": "H1"}],
    },
    PAIR + INCOMING,
)
FORMS = this(
    "paper_forms.issued",
    {
        "series": "F", "first": 11, "last": 14, "issued_to": "p-amara",
        "place": "gold_room",
    },
    GUARDS,
    "2026-10-01T06:30:00+02:00",
)  # fmt: skip
WRITTEN_UP = this(
    "paper_form.written_up",
    {
        "form": "F-0012",
        "happened_at": story.STAGES["pour"][1],
        "entries": ["@charge.poured"],
        "signed_in_ink": [
            {"name": "A. Venn", "person": "p-amara"},
            {"name": "L. Orban", "person": "p-leith"},
        ],
        "scan": "form F-0012.pdf",
    },
    MENDERS,
)
ESTIMATED = this(
    "stock.estimated",
    {
        "item": "LOT-3",
        "gold_g": "1900",
        "gold_u_g": "200",
        "silver_g": "230",
        "silver_u_g": "40",
        "method": "by eye",
    },
    COUNTERS,
)
PERIOD = this("period.closed", CLOSED, ACCOUNTS)
INSPECTED = this(
    "seal.inspected",
    {
        "vessel": "EC1",
        "seals_seen": [{"point": "lid", "seal": "S-0007", "tamper_signs": "none"}],
    },
    (("p-amara", "officer"), ("p-sefu", "security")),
    BEFORE,
)
REVIEWED = this(
    "finding.reviewed",
    {
        "entry": "@seal.inspected",
        "number": 1,
        "outcome": "explained",
        "words": "the seal was changed on the night shift",
    },
    (("p-sefu", "security"), ("p-amara", "officer")),
)
OTHER = this(
    "other_metal.received",
    {
        "item": "OM-1",
        "origin": "sump",
        "from_where": "the mill's sump",
        "handed_over_name": "Pell Draven",
        "goes_to": "smelt",
        "place": "gold_room",
        "gross": reading("12.4", "kg", "PS1"),
        "condition": "dry",
        "sample": "OS-1",
    },
)


def locked_out() -> Values:
    """Return rules by which only one person could ever sign for standing."""
    policy = default_policy()
    for group in policy["groups"]:
        if group["name"] == "standing":
            group["slots"] = [["security"], ["security"]]
    return policy


def spoilt(of: Told, path: str, value: Any) -> Told:
    """Return what is said with one value of it changed; None takes it out."""
    at, kind, hands, data = of
    return at, kind, hands, changed(data, path, value)


def signed_by(of: Told, hands: Any) -> Told:
    """Return what is said with other signers."""
    return of[0], of[1], hands, of[3]


def at(of: Told, time: str) -> Told:
    """Return what is said at another time."""
    return time, *of[1:]


@dataclass(frozen=True)
class Wrong:
    """Something that is refused: the code, the field, and words of its message."""

    name: str
    said: Told
    code: str
    field: str
    words: tuple[str, ...]
    before: tuple[Told, ...] = ()
    is_attached: bool = True


CORNET = "samples.0.portions.0.cornet_mg"
REFUSED = [
    # --- the refinery
    Wrong("an umpire before the exchange", UMPIRED, "umpire_before_exchange", "melt",
          ("no assays of MELT-1", "Exchange the two results first")),
    Wrong("an umpire where none was called", UMPIRED, "not_in_this_state", "gold",
          ("MELT-1 are within the splitting limit", "0.5"), (EXCHANGED,)),
    Wrong("an umpire twice", UMPIRED, "not_in_this_state", "gold",
          ("gold of MELT-1 was reported already",),
          (APART, at(UMPIRED, BEFORE))),
    Wrong("an umpire's sample that was replaced", spoilt(UMPIRED, "sample", "LS-0"),
          "sample_replaced", "sample", ("LS-0 was replaced by LS-1",), (APART,)),
    Wrong("an umpire of a party", spoilt(UMPIRED, "laboratory", "lab"), "bad_field",
          "laboratory", ("lab is a party to this melt",), (APART,)),
    Wrong("an exchange twice", EXCHANGED, "not_in_this_state", "melt",
          ("MELT-1 were exchanged already",), (EXCHANGED,)),
    Wrong("a settlement before the exchange", SETTLED, "not_in_this_state", "melt",
          ("no assays were exchanged yet",)),
    Wrong("a settlement before the umpire", SETTLED, "not_in_this_state", "melt",
          ("umpire's figure for the gold", "still to come"), (APART,)),
    Wrong("a second settlement", SETTLED, "not_in_this_state", "melt",
          ("MELT-1 was settled already",), (EXCHANGED, at(SETTLED, BEFORE))),
    Wrong("a challenge after its date", CHALLENGED, "challenge_date_passed", "melt",
          ("2026-10-17T08:00:00Z", "7 days", "2026-11-03T07:00:00Z"), (STANDS,)),
    Wrong("a challenge of what is exchanged anyhow", at(CHALLENGED, SOON),
          "not_in_this_state", "melt", ("nothing to challenge",)),
    # --- the laboratory
    Wrong("a fire assay of a sample never taken",
          spoilt(FIRE, "samples.0.sample", "DIP-7"), "unknown_sample",
          "samples[0].sample", ("'DIP-7'", "taken before it is assayed")),
    Wrong("a screen assay of a sample never taken",
          spoilt(SCREEN, "samples.0.sample", "LS-7"), "unknown_sample",
          "samples[0].sample", ("'LS-7'", "taken before it is assayed")),
    Wrong("a solution assay of a sample never taken", SOLUTION, "unknown_sample",
          "solutions[0].readings[0].sample", ("'BS-1'", "taken before it is")),
    Wrong("a fire assay of a sample replaced",
          spoilt(FIRE, "samples.0.sample", "LS-0"), "sample_replaced",
          "samples[0].sample", ("LS-0 was replaced by LS-1",)),
    Wrong("a screen assay of a sample replaced",
          spoilt(SCREEN, "samples.0.sample", "LS-0"), "sample_replaced",
          "samples[0].sample", ("LS-0 was replaced by LS-1",)),
    Wrong("a solution assay of a sample replaced", SOLUTION, "sample_replaced",
          "solutions[0].readings[1].sample", ("BS-2 was replaced by BS-3",),
          (WASTE, WASTE_AGAIN)),
    Wrong("a plain report of a sample replaced",
          spoilt(REPORTED, "results.0.sample", "LS-0"), "sample_replaced",
          "results[0].sample", ("LS-0 was replaced by LS-1",)),
    Wrong("a fire assay of a solution's sample",
          spoilt(FIRE, "samples.0.sample", "BS-1"), "wrong_sort", "samples[0].sample",
          ("BS-1 is a sample of a solution",), (WASTE,)),
    Wrong("an assay by no laboratory", spoilt(REPORTED, "laboratory", "mill"),
          "wrong_sort", "laboratory", ("mill is a mill", "a laboratory")),
    Wrong("an assay that speaks for a charge",
          spoilt(REPORTED, "results.0.items", ["CHG-1"]), "wrong_sort",
          "results[0].items[0]", ("CHG-1 is a charge",)),
    Wrong("a cornet heavier than its portion", spoilt(FIRE, CORNET, "250.13"),
          "cornet_heavier_than_portion", "samples[0].portions[0].cornet_mg",
          ("250.13 mg", "250.12 mg")),
    Wrong("a bead lighter than its cornet",
          spoilt(FIRE, "samples.0.portions.0.bead_mg", "210.85"), "bead_does_not_fit",
          "samples[0].portions[0].bead_mg", ("210.85 mg", "210.86 mg", "800.12 mg")),
    Wrong("no proofs", spoilt(FIRE, "proofs", None), "proof_missing", "proofs",
          ("found 0, expected at least 2",)),
    Wrong("one proof", spoilt(FIRE, "proofs", worksheets.FIRE["proofs"][:1]),
          "proof_missing", "proofs", ("found 1, expected at least 2",)),
    Wrong("gold alone over the whole",
          spoilt(REPORTED, "results.0", {
              "items": ["BAR-1"], "sample": "DIP-1", "unit": "permille",
              "gold": "1000.1", "silver": "0"}),
          "fineness_over_1000", "results[0].gold", ("1000.1", "the whole is 1000")),
    Wrong("a worksheet whose gold comes to more than the whole",
          spoilt(spoilt(FIRE, "samples.0.portions", [
              {"portion_mg": "250.00", "cornet_mg": "249.95", "bead_mg": "786.30",
               "silver_added_mg": "550.00"}] * 2),
              "proofs", [{**each, "gold_found_mg": "210.40"}
                         for each in worksheets.FIRE["proofs"]]),
          "fineness_over_1000", "samples[0]", ("gold comes to", "1000")),
    Wrong("a dilution missing",
          spoilt(SOLUTION, "solutions.0.readings.1.dilution", None),
          "dilution_missing", "solutions[0].readings[1].dilution",
          ("dilution of BS-2 is missing", "1 if undiluted"), (WASTE,)),
    Wrong("a sample read twice",
          spoilt(SOLUTION, "solutions.0.readings.1.sample", "BS-1"), "bad_field",
          "solutions[0].readings[1].sample", ("BS-1 is listed twice",), (WASTE,)),
    # --- samples
    Wrong("a sample id with a wrong check character",
          spoilt(OF_LOT_3, "samples.0.item", WRONG_CHECK), "check_character_wrong",
          "samples[0].item", (WRONG_CHECK, "E-, 4 digits and a check character"),
          (SERIES,)),
    Wrong("an umpire's portion without a seal", SPLIT, "seal_missing",
          "portions[1].seal", ("umpire portion has no seal",)),
    Wrong("a sealed sample used, its seal not named", CONSUMED, "vessel_sealed",
          "used[0].seal_cut", ("the envelope of SP-2 is sealed",)),
    Wrong("the umpire's portion used by another",
          spoilt(CONSUMED, "used.0", {"sample": "P-3", "used_g": "2.7"}),
          "umpire_portion_kept", "used[0].sample", ("P-3 is the umpire's portion",)),
    Wrong("a sample of a numbered bar", spoilt(OF_LOT_3, "item", "BAR-8"),
          "wrong_sort", "item", ("BAR-8 is a bar", "bar.reweighed"), POURED),
    Wrong("a sample of a sample", spoilt(OF_LOT_3, "item", "LS-1"), "wrong_sort",
          "item", ("LS-1 is a sample", "sample.split")),
    Wrong("a sample older than its source",
          at(OF_LOT_3, "2026-10-01T05:59:00+02:00"), "before_its_source", "item",
          ("2026-10-01T03:59:00Z", "LOT-3", "2026-10-01T04:00:00Z")),
    Wrong("a sample heavier than its source",
          spoilt(spoilt(OF_LOT_3, "item", "CAL-1"), "samples.0.mass",
                 sampled.grams("3700.0")), "out_of_range",
          "samples[0]", ("3700.0 g", "CAL-1 is 3600.000 g")),
    Wrong("a sample in one portion",
          spoilt(SPLIT, "portions", SPLIT[3]["portions"][:1]), "bad_field", "portions",
          ("LS-1 is divided into one portion",)),
    # --- leach, cells and furnace
    Wrong("a lot leached after it was leached",
          spoilt(CHARGED, "sources.0.item", "LOT-2"), "item_consumed",
          "sources[0].item", ("LOT-2 was used already", "went into LB-1")),
    Wrong("a lot leached after it was charged to the furnace", CHARGED,
          "item_consumed", "sources[0].item", ("LOT-3 was used already", "CHG-9"),
          (at(MADE_UP, BEFORE),)),
    Wrong("a lot charged to the furnace after it was leached", MADE_UP,
          "item_consumed", "sources[0].item", ("LOT-3 was used already", "LB-2"),
          (CHARGED,)),
    Wrong("a lot twice in one leach",
          spoilt(CHARGED, "sources", [{"item": "LOT-3"}] * 2), "bad_field",
          "sources[1].item", ("LOT-3 is listed twice",)),
    Wrong("a lot twice in one charge",
          spoilt(MADE_UP, "sources", [{"item": "LOT-3"}] * 2), "bad_field",
          "sources[1].item", ("LOT-3 is listed twice",)),
    Wrong("a lot twice over one table",
          this("table.run", {"table": "T1", "feed": ["LOT-3", "LOT-3"],
                             "products": [{"item": "CON-9", "product": "concentrate",
                                           "gross": reading("30.7", "kg", "PS1"),
                                           "vessel": "D2", "goes_to": "kept"}]}),
          "bad_field", "feed[1]", ("LOT-3 is listed twice",)),
    Wrong("a leach vessel that still holds a batch",
          spoilt(spoilt(CHARGED, "batch", "LB-3"), "sources.0.item", "RES-1"),
          "not_in_this_state", "vessel", ("LV1 still holds LB-2",), (CHARGED,)),
    Wrong("a leach in a drum", spoilt(CHARGED, "vessel", "D2"), "wrong_sort",
          "vessel", ("D2 is a drum", "a leach vessel")),
    Wrong("a solution drained twice",
          spoilt(DRAINED, "solution.item", "SOL-10"), "not_in_this_state", "batch",
          ("LB-2 was drained by entry", "cannot be drained twice"),
          (CHARGED, DRAINED)),
    Wrong("a solution drained from a batch already discharged",
          spoilt(DRAINED, "batch", "LB-1"), "item_consumed", "batch",
          ("LB-1 is finished", "its residue was taken out in entry")),
    Wrong("a residue out of a batch not drained", DISCHARGED, "not_in_this_state",
          "batch", ("LB-2 was not drained yet",), (CHARGED,)),
    Wrong("a residue without a destination",
          spoilt(DISCHARGED, "residues.0.goes_to", None), "bad_field",
          "residues[0].goes_to", ("one of mill, kept, leach, table",),
          (CHARGED, DRAINED)),
    Wrong("a residue kept in no vessel",
          spoilt(spoilt(DISCHARGED, "residues.0.vessel", None), "residues.0.tare",
                 reading("18.2", "kg", "PS1")),
          "bad_field", "residues[0].vessel", ("RES-9 stays here, but in no vessel",),
          (CHARGED, DRAINED)),
    Wrong("a residue charged to the furnace",
          spoilt(MADE_UP, "sources.0.item", "RES-1"), "wrong_sort",
          "sources[0].item", ("RES-1 is residue", "Leach it again")),
    Wrong("a sludge not dried charged to the furnace",
          spoilt(MADE_UP, "sources.0.item", "SLU-2"), "not_dried",
          "sources[0].item", ("SLU-2 was weighed wet", "Water under metal explodes")),
    Wrong("a sludge from cells not opened", CLEANED, "cell_not_opened", "cell",
          ("EC1 is sealed (S-0060)", "not opened")),
    Wrong("a sludge of another load",
          spoilt(spoilt(CLEANED, "load", "CL-1"), "opened", [
              {"vessel": "EC1", "seals_removed": [removed("lid", "S-0060")]}]),
          "not_in_this_state", "load", ("holds load CL-2; found CL-1",)),
    Wrong("a run of a solution used already",
          this("cells.run", {
              "cell": "EC1", "solutions": ["SOL-1"],
              "started_at": BEFORE, "ended_at": AT, "charge_ah": "5400",
              "barren": {"item": "BRN-9", "volume_l": "1000", "gold_mg_l": "5",
                         "silver_mg_l": "1", "goes_to": "mill"}}),
          "item_consumed", "solutions[0]", ("SOL-1 was used already", "CL-1")),
    Wrong("a bar in a plain charge",
          spoilt(MADE_UP, "sources.0.item", "BAR-8"), "wrong_sort",
          "sources[0].item", ("BAR-8 is a bar", "remelt.charged"), POURED),
    # --- bars melted again
    Wrong("a bar never numbered melted again",
          spoilt(REMELT, "bars.0", {"item": "BAR-9", "stamped": "KR-0109"}),
          "not_in_this_state", "bars[0].item", ("BAR-9 has no number yet",), POURED),
    Wrong("a bar on its way melted again", REMELT, "not_in_this_state",
          "bars[0].item", ("BAR-8 was handed over and is on its way",),
          (*POURED, NUMBERED_TOO, *ON_THEIR_WAY)),
    Wrong("a bar melted at the refinery melted again",
          spoilt(REMELT, "bars.0", {"item": "BAR-1", "stamped": "KR-0101"}),
          "item_consumed", "bars[0].item",
          ("BAR-1 was used already", "and went into MELT-1. ")),
    # --- door, crews and paper
    Wrong("a visitor whose escort stays outside", VISITED, "escort_missing",
          "visitors[0].escort", ("p-brandt is not in gold_room",)),
    Wrong("a visitor with no escort named",
          spoilt(VISITED, "visitors.0.escort", None), "bad_field",
          "visitors[0].escort", ("escort",)),
    Wrong("a handover that one of those coming does not sign",
          signed_by(HANDED_OVER, PAIR + INCOMING[:1]), "crew_not_signed", "incoming",
          ("p-jonas", "at least 2")),
    Wrong("a handover that one of those going does not sign",
          signed_by(HANDED_OVER, PAIR[:1] + INCOMING), "crew_not_signed", "outgoing",
          ("p-amara", "at least 2")),
    Wrong("a paper form never issued", spoilt(WRITTEN_UP, "form", "F-0099"),
          "form_never_issued", "form", ("F-0099 was never issued",), (FORMS,)),
    Wrong("a paper form used twice", WRITTEN_UP, "form_already_used", "form",
          ("F-0012 was written up by entry",), (FORMS, WRITTEN_UP)),
    Wrong("a paper form without its scan", WRITTEN_UP, "paper_not_attached",
          "attachments", ("F-0012 is not attached",), (FORMS,), is_attached=False),
    # --- stock, month, standing
    Wrong("an estimate of what was weighed and assayed", ESTIMATED,
          "already_measured", "item", ("LOT-3 was measured and assayed",)),
    Wrong("an exact estimate",
          spoilt(spoilt(ESTIMATED, "item", "SLAG-1"), "gold_u_g", "0"),
          "out_of_range", "gold_u_g", ("1900 g with no uncertainty",)),
    Wrong("a period that leaves a gap",
          at(this("period.closed", {**CLOSED, **NOVEMBER,
                  "first_day": "2026-11-02",
                  "from_at": "2026-11-02T06:00:00+02:00"}, ACCOUNTS),
             "2026-12-02T09:00:00+02:00"),
          "period_not_next", "first_day", ("2026-10-31", "2026-11-02"), (PERIOD,)),
    Wrong("a period that is not over", at(PERIOD, "2026-10-31T09:00:00+02:00"),
          "occurred_in_future", "to_at", ("2026-11-01", "2026-10-31")),
    Wrong("a period whose figures do not add up",
          spoilt(PERIOD, "report.balances.0.unaccounted_g", "11"),
          "figures_do_not_add", "report.balances[0].unaccounted_g",
          ("found 11", "is 10")),
    Wrong("an error budget over the past",
          this("error_budget.set", BUDGET, GUARDS), "bad_field", "in_force_from",
          ("2026-10-06", "Let this one begin at 2026-11-03")),
    Wrong("rules that lock everybody out",
          this("policy.set", {"policy": locked_out(), "classes": "@classes"}, GUARDS),
          "nobody_could_sign", "policy",
          ("person.enrolled", "2 persons sign: security; security")),
    Wrong("a finding reviewed by those who caused it", REVIEWED, "same_signers",
          "signers", ("nobody signs this but p-sefu and p-amara",), (INSPECTED,)),
    # --- other metal
    Wrong("other metal without a mass", spoilt(spoilt(OTHER, "gross", None),
          "condition", None), "bad_field", "gross",
          ("nothing tells how much OM-1 is",)),
    Wrong("eluate without a volume",
          spoilt(spoilt(spoilt(spoilt(OTHER, "gross", None), "condition", None),
                        "origin", "elution_solution"), "goes_to", "electrowinning"),
          "bad_field", "volume_l", ("OM-1 is a solution",)),
]  # fmt: skip

# --- telling it, and reading what comes back -----------------------------------


@pytest.fixture(scope="module")
def told_room(
    template_db: str, tmp_path_factory: pytest.TempPathFactory, django_db_blocker: Any
) -> Iterator[tuple[str, Room]]:
    """Tell the story once; the database's name and the room."""
    folder = tmp_path_factory.mktemp("rest")
    with django_db_blocker.unblock(), copied_database(template_db, folder) as name:
        room = told()
        connections["default"].close()
        yield name, room


@pytest.fixture
def room(told_room: tuple[str, Room], tmp_path: Path) -> Iterator[Room]:
    """Give the test a copy of the story, its own to spoil."""
    name, told_before = told_room
    with copied_database(name, tmp_path):
        yield Room(told_before.ledger_id, list(told_before.said))


def say(room: Room, said: Told, *, is_attached: bool = True) -> None:
    """Say it, with what it names of the ledger looked up and its paper attached."""
    time, kind, hands, data = said
    more: Values = {}
    if kind == "paper_form.written_up" and is_attached:
        more["attachments"] = (scan(room),)
    room.say((time, kind, hands, looked_up(room, data)), **more)


def scan(room: Room) -> Values:
    """Return how a statement cites the scan of a paper."""
    return attachments.put(
        room.ledger_id, b"ink", name="form.pdf", media="application/pdf"
    )


def looked_up(room: Room, values: Any) -> Any:
    """Return values with @kind as the id of the last entry of that kind."""
    if isinstance(values, dict):
        return {key: looked_up(room, each) for key, each in values.items()}
    if isinstance(values, list):
        return [looked_up(room, each) for each in values]
    if values == "@classes":
        return read.entry(room.ledger_id, 0).statement["data"]["classes"]
    if isinstance(values, str) and values.startswith("@"):
        return [each for each in room.said if each.kind == values[1:]][-1].entry_id
    return values


def tables(room: Room) -> list[Any]:
    """Return everything that was derived from the entries."""
    return [list(read_all(room.ledger_id, table)) for table in TABLES]


def refusal_of(room: Room, wrong: Wrong) -> Refusal | LedgerRefusal:
    """Return the refusal with which it is met."""
    with pytest.raises((Refusal, LedgerRefusal)) as caught:
        say(room, wrong.said, is_attached=wrong.is_attached)
    found = caught.value
    assert isinstance(found, Refusal | LedgerRefusal)
    return found


@pytest.mark.parametrize("wrong", REFUSED, ids=[each.name for each in REFUSED])
def test_bad_input_is_refused_at_its_field_and_changes_nothing(room, wrong):
    for each in wrong.before:
        say(room, each)
    head, derived = read.head(room.ledger_id), tables(room)
    refusal = refusal_of(room, wrong)
    assert (refusal.code, refusal.field) == (wrong.code, wrong.field), refusal.message
    for words in wrong.words:
        assert words in refusal.message, refusal.message
    assert refusal.message.startswith(f"{wrong.field}: "), refusal.message
    assert tells_what_to_do(refusal.message), refusal.message
    assert read.head(room.ledger_id) == head
    assert tables(room) == derived


# --- what people saw -----------------------------------------------------------


def noticed(room: Room) -> list[tuple[str, str, str, str]]:
    """Return every finding: code, item, found and expected, in the order of keys."""
    rows = [
        json.loads(row.value)
        for row in read_all(room.ledger_id, "goldroom_row")
        if row.record == Noticed.table
    ]
    return [(row["code"], row["item"], row["found"], row["expected"]) for row in rows]


def with_base(base: str) -> Told:
    """Return the worksheet with a base metal that brings its sum to near 1000."""
    return spoilt(FIRE, "samples.0.base", base)


@dataclass(frozen=True)
class Seen:
    """Something that is taken: the finding's code and item, what found and expected."""

    name: str
    said: Told
    code: str
    item: str
    found: str
    expected: str
    before: tuple[Told, ...] = ()


POURED_AGAIN = (
    *POURED,
    NUMBERED_TOO,
    at(REMELT, "2026-10-21T07:00:00+02:00"),
    this(
        "charge.poured",
        {
            "charge": "CHG-9",
            "place": "gold_room",
            "castings": [{"item": "BAR-10", "mould": "M1"}],
        },
        at="2026-10-21T09:00:00+02:00",
    ),
)
STAMPED_AGAIN = this(
    "bar.numbered",
    {"item": "BAR-10", "stamped": "KR-0108", "first": reading("1590.0", "g", "BU1")},
)
TAKEN = [
    Seen("proofs that disagree",
         spoilt(FIRE, "proofs.1.gold_found_mg", "210.69"), "proofs_differ", "BAR-1",
         "+0.08 mg and +0.19 mg", "within 0.10 mg of each other"),
    Seen("duplicates that disagree",
         spoilt(FIRE, "samples.0.portions.1.cornet_mg", "210.40"),
         "duplicates_differ", "BAR-1", "842.676 and 841.644 ‰ gold",
         "within 0.5 ‰ of each other"),
    Seen("samples of one solution that disagree",
         spoilt(SOLUTION, "solutions.0.readings.1.dilution", "10"),
         "solution_samples_differ", "BRN-2", "410.0000 and 40.6000 mg/L gold",
         "within 5 % of each other", (WASTE,)),
    Seen("metals together over the whole, as a laboratory reports them",
         spoilt(REPORTED, "results.0", {
             "items": ["BAR-1"], "sample": "DIP-1", "unit": "permille",
             "gold": "850.0", "silver": "120.0", "base": "30.2"}),
         "fineness_sum_over_1000", "BAR-1", "1000.2 parts per thousand",
         "at most 1000 together"),
    Seen("the number of a bar melted again, stamped again", STAMPED_AGAIN,
         "stamped_number_twice", "BAR-10", "KR-0108", "a number stamped once",
         POURED_AGAIN),
    Seen("another number read off a bar melted again",
         spoilt(REMELT, "bars.0.stamped", "KR-0103"), "stamped_number_differs",
         "BAR-8", "KR-0103", "KR-0108", POURED),
    Seen("a settlement on another fineness",
         spoilt(SETTLED, "gold_permille", "842.8"), "settlement_differs", "MELT-1",
         "842.8 ‰", "842.9 ‰", (EXCHANGED,)),
    Seen("a settlement on another mass",
         spoilt(SETTLED, "settlement_mass_g", "10885.0"), "settlement_differs",
         "MELT-1", "10885.0 g", "10885.100 g", (EXCHANGED,)),
    Seen("a settlement with another credit",
         spoilt(SETTLED, "credited_gold", "9165.000"), "payable_differs", "MELT-1",
         "9165.000 g of gold credited", "9165.876 g payable by the contract",
         (EXCHANGED,)),
    Seen("somebody leaving who never went in", LEFT, "left_without_entering",
         "gold_room", "p-amara leaving", "somebody signed in before"),
    Seen("a vessel standing open at the handover", HANDED_OVER,
         "handover_open_vessel", "H1", "open, by the record", "sealed on every point"),
    Seen("a seal read that is not the one fitted", INSPECTED,
         "seal_not_the_one_fitted", "EC1", "S-0007", "S-0060"),
    Seen("other metal without a sample or an estimate", spoilt(OTHER, "sample", None),
         "other_metal_unsampled", "OM-1", "no sample, no estimate",
         "one of the two, before it joins anything"),
    Seen("a sample used where nobody handed it over",
         spoilt(CONSUMED, "used.0.seal_cut", sampled.cut("S-0020")),
         "sample_not_handed_over", "SP-2", "used at lab", "at gold_room"),
    Seen("another seal cut off an envelope",
         spoilt(CONSUMED, "used.0.seal_cut", sampled.cut("S-0022")),
         "seal_not_the_one_fitted", "SP-2", "S-0022", "S-0020"),
    Seen("a paper signed by one",
         spoilt(WRITTEN_UP, "signed_in_ink", [{"name": "A. Venn"}]),
         "paper_signed_by_one", "F-0012", "signed in ink by A. Venn alone",
         "at least 2 signatures in ink", (FORMS,)),
]  # fmt: skip


@pytest.mark.parametrize("seen", TAKEN, ids=[each.name for each in TAKEN])
def test_what_people_saw_is_taken_and_noticed(room, seen):
    for each in seen.before:
        say(room, each)
    size, before = read.head(room.ledger_id).size, noticed(room)
    say(room, seen.said)
    assert read.head(room.ledger_id).size == size + 1
    new = [each for each in noticed(room) if each not in before]
    assert (seen.code, seen.item, seen.found, seen.expected) in new


@pytest.mark.source("common practice, no source")
@pytest.mark.parametrize(("base", "is_noticed"), [("43.4", False), ("43.5", True)])
def test_a_worksheets_metals_may_exceed_the_whole_by_their_own_error(
    room, base, is_noticed
):
    """The sheet has 842.6 gold and 119.64 silver: 5.64 or 5.74 over with the base.

    A new site starts with 0.05 % and 0.2 % on gold, 0.3 % and 0.5 % on the others:
    3 x sqrt(842.6^2 x 4.25e-6 + (119.64^2 + 43.4^2) x 3.4e-5) = 5.67.
    """
    say(room, with_base(base))
    assert ("fineness_sum_over_1000" in [each[0] for each in noticed(room)]) is (
        is_noticed
    )


def test_a_sludge_weighed_only_wet_may_be_estimated(room):
    say(room, spoilt(ESTIMATED, "item", "SLU-2"))
    assert room.said[-1].data["item"] == "SLU-2"


# --- the same in a file --------------------------------------------------------

BY_FILE = (
    "an umpire twice",
    "a second settlement",
    "a challenge after its date",
    "a solution assay of a sample replaced",
    "a cornet heavier than its portion",
    "no proofs",
    "a dilution missing",
    "gold alone over the whole",
    "a sample id with a wrong check character",
    "a sealed sample used, its seal not named",
    "a lot charged to the furnace after it was leached",
    "a lot twice in one leach",
    "a solution drained twice",
    "a residue without a destination",
    "a sludge not dried charged to the furnace",
    "a sludge from cells not opened",
    "a bar never numbered melted again",
    "a visitor whose escort stays outside",
    "a handover that one of those coming does not sign",
    "a paper form never issued",
    "an estimate of what was weighed and assayed",
    "a period that leaves a gap",
    "rules that lock everybody out",
    "other metal without a mass",
)
WRONG_LINES = [each for each in REFUSED if each.name in BY_FILE]
GOOD = this(
    "seal.inspected",
    {
        "vessel": "EC1",
        "seals_seen": [{"point": "lid", "seal": "S-0060", "tamper_signs": "none"}],
    },
)


@pytest.fixture
def record(room: Room, tmp_path: Path) -> Callable[[list[str]], str]:
    """Return a function that records lines and returns what the command said."""
    folder = tmp_path / "keys"
    seal_into(folder, KEYS, PASSPHRASE, n=SCRYPT_N)
    (folder / "passphrase.txt").write_text(PASSPHRASE, encoding="utf-8")

    def run(lines: list[str]) -> str:
        file, spoken = tmp_path / "said.jsonl", StringIO()
        file.write_text("".join(f"{each}\n" for each in lines), encoding="utf-8")
        call_command(
            "record", file, keys=folder, passphrase_file=folder / "passphrase.txt",
            stdout=spoken,
        )  # fmt: skip
        return spoken.getvalue()

    return run


def line(room: Room, said: Told) -> str:
    """Return what is said as a line of a file; nothing is attached to it."""
    time, kind, hands, data = said
    return line_of(saying((time, kind, hands, looked_up(room, data))))


def test_every_wrong_line_named_here_is_one_of_those_refused():
    assert sorted(each.name for each in WRONG_LINES) == sorted(BY_FILE)


@pytest.mark.parametrize("wrong", WRONG_LINES, ids=[each.name for each in WRONG_LINES])
def test_a_wrong_line_is_told_and_the_file_is_taken_whole_or_not_at_all(
    room, record, wrong
):
    good = [line(room, GOOD), *(line(room, each) for each in wrong.before)]
    after = line(room, at(GOOD, "2026-11-03T12:00:00+02:00"))
    head, derived = read.head(room.ledger_id), tables(room)
    with pytest.raises(CommandError) as caught:
        record([*good, line(room, wrong.said), after])
    report = str(caught.value)
    assert f"line {len(good) + 1}, {wrong.field}: " in report
    assert f"[{wrong.code}]" in report
    assert "1 thing is wrong, and nothing of the file was taken" in report
    told = aloud(room.ledger_id, wrong.words)
    for words in wrong.words:
        assert told.message(words) in report
    (told_line,) = (each for each in report.splitlines() if "  line " in each)
    assert tells_what_to_do(told_line.rpartition(" [")[0]), told_line
    assert (read.head(room.ledger_id), tables(room)) == (head, derived)
    assert f"{len(good) + 1} of {len(good) + 1}" in record([*good, after])
    assert read.head(room.ledger_id).size == head.size + len(good) + 1


@pytest.mark.parametrize("seen", TAKEN[:4], ids=[each.name for each in TAKEN[:4]])
def test_what_was_seen_is_taken_from_a_file_and_told_by_its_line(room, record, seen):
    lines = [line(room, each) for each in (*seen.before, seen.said)]
    report = record(lines)
    assert f"line {len(lines)}: " in report
    assert f"found {seen.found}, expected {seen.expected}" in report
    assert f", {seen.code}]" in report


def test_every_wrong_line_of_a_file_is_told(room, record):
    wrong = [each for each in WRONG_LINES if not each.before]
    lines = [line(room, GOOD), *(line(room, each.said) for each in wrong)]
    with pytest.raises(CommandError) as caught:
        record(lines)
    report = str(caught.value)
    assert f"{len(wrong)} things are wrong" in report
    for n, each in enumerate(wrong, start=2):
        assert f"line {n}, {each.field}: " in report
