"""The usual cautions of each kind's work: hazard, caution, and where it is written.

Data for pages and papers. They remind and never authorise: site procedures, local
codes and licensed practice rule, and whoever has not been trained for a task does not
do it. Rescue never waits for a signature. What has no published source is marked as
common practice.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType

RULES_OVER_US = (
    "This reminds, it does not authorise: your site's procedures, local codes and"
    " licensed practice rule."
)
RESCUE_FIRST = (
    "If somebody is hurt or in danger, help first: rescue never waits for a signature."
)
COMMON = "common practice, no source"


@dataclass(frozen=True, slots=True)
class Caution:
    """One hazard of a task, the usual caution, and its source."""

    hazard: str
    caution: str
    source: str


CAUTIONS: Mapping[str, Caution] = MappingProxyType(
    {
        "cyanide": Caution(
            "Cyanide: hydrogen cyanide gas when alkalinity falls, poisoning by skin,"
            " mouth and breath",
            "Keep solutions above pH 10 and act on any drop. Fixed and personal gas"
            " monitors on; leave to fresh air on an alarm. Trained responders and"
            " antidote at hand; wash skin under running water for 20 minutes.",
            "International Cyanide Management Code, audit guidance (pH above 10);"
            " WorkSafe Western Australia, cyanide guidance",
        ),
        "acid_near_cyanide": Caution(
            "Acid where cyanide was: hydrogen cyanide at once",
            "Never the same sump, vessel or drain. Wash and test free of cyanide"
            " before any acid is brought near.",
            COMMON,
        ),
        "acid": Caution(
            "Acid digestion: nitrous fumes, arsine, hydrogen",
            "Only under working extraction. Breathlessness may begin hours after a"
            " short exposure: whoever breathed the fume is observed overnight.",
            "Lung India 2009; 26: 149 (nitric acid fume); WorkSafe Western Australia,"
            " Mines Safety Bulletin 147 (arsine)",
        ),
        "cells": Caution(
            "Cells: hydrogen, ammonia and cyanide mist, direct current",
            "Extraction proven before the current is on; no spark and no hot work near"
            " a running cell. Isolate and lock out the rectifier before a cell is"
            " opened; check its contacts.",
            "WorkSafe Western Australia, Mines Safety Bulletin 150; hydrogen incident"
            " reports of the European HIAD database",
        ),
        "mercury": Caution(
            "Mercury vapour from drying, calcining, retorting and hot charges",
            "Extraction verified by airflow and smoke test; retort sealed and its"
            " condenser cold before heat. Swab surfaces; masonry gives vapour off long"
            " after. Biological monitoring; no work clothes home.",
            "MSHA, Controlling Mercury Hazards in Gold Mining (1997 draft); WorkSafe"
            " Western Australia, Mercury exposure in gold rooms",
        ),
        "fume": Caution(
            "Lead, arsenic and mercury in furnace and cupel fume",
            "Local extraction re-checked after any change of process; blood and urine"
            " monitoring; stricter lead limits for women of child-bearing age.",
            "WorkSafe Western Australia, Mines Safety Bulletins 147 and 150",
        ),
        "molten_metal": Caution(
            "Molten metal and slag: steam explosion, run-out, splash",
            "Everything that meets the melt is dry and preheated: moulds, tools, flux,"
            " returns; closed containers never go in. Full molten-metal clothing even"
            " for a short pour, as few people as can do it, a dry spill pit.",
            "Health and Safety Executive (United Kingdom), molten metals safety alerts",
        ),
        "slag": Caution(
            "Slag: hot inside for hours, sharp, silica dust when crushed",
            "Cool it and label it hot; crush it wet or hooded, with breathing"
            " protection.",
            COMMON,
        ),
        "dust": Caution(
            "Dust of dried concentrate, sludge and sweepings: lead, silica, metal loss",
            "Extraction on, tools that make no dust, breathing protection, wet"
            " cleaning.",
            COMMON,
        ),
        "oxidants": Caution(
            "Oxygen, peroxide and nitre: fire with oil, grease and reducing matter",
            "Clean, oil-free fittings; oxidants stored and added apart from cyanide,"
            " acid and fuel, in the order of the site's procedure.",
            COMMON,
        ),
        "caustic": Caution(
            "Lime and caustic soda: burns of eyes and skin, heat on mixing",
            "Goggles, gloves and apron; add to water slowly, never water to it; eye"
            " wash within reach.",
            COMMON,
        ),
        "turning_parts": Caution(
            "Turning bowls and moving parts",
            "Isolate, lock out and prove dead before a bowl or cover is opened; wait"
            " until it stands still.",
            COMMON,
        ),
        "vessel_entry": Caution(
            "Bad air and falling in at hoppers, tanks and pits",
            "Nobody enters or leans into a vessel without the site's entry permit, gas"
            " test and a second person outside.",
            COMMON,
        ),
        "lifting": Caution(
            "Bars of 10 to 25 kg, drums and boxes: backs, feet, hands",
            "Two people or a lifting aid; safety shoes; clear way before the lift.",
            COMMON,
        ),
        "lone_work": Caution(
            "Working alone: collapse unseen, custody broken",
            "Two persons at all times, in sight of each other; man-down alarm worn.",
            COMMON,
        ),
        "robbery": Caution(
            "Robbery and duress of those who hold keys",
            "No single person can open; days and routes vary and are told to few;"
            " duress code known. Metal is never worth a life: comply, then report.",
            COMMON,
        ),
        "rescue": Caution("Anybody hurt or in danger", RESCUE_FIRST, COMMON),
    }
)
"""Every caution by its short name."""

_LEACHING = ("cyanide", "caustic", "lone_work")
_CELLS = ("cyanide", "cells", "lone_work")
_HEAT = ("molten_metal", "fume", "lone_work")
_HEATED = ("mercury", "fume", "dust", "lone_work")
_BARS = ("lifting", "lone_work")
_VALUABLES = ("robbery", "lifting", "lone_work")

OF_KIND: Mapping[str, tuple[str, ...]] = MappingProxyType(
    {
        "assay.reported": ("fume", "acid"),
        "bar.density_measured": _BARS,
        "bar.numbered": ("molten_metal", *_BARS),
        "bar.reweighed": _BARS,
        "bowl.opened": ("turning_parts", "lone_work"),
        "cells.cleaned": ("cyanide", "cells", "acid_near_cyanide", "lone_work"),
        "cells.closed": _CELLS,
        "cells.opened": ("cyanide", "cells", "acid_near_cyanide", "lone_work"),
        "cells.run": _CELLS,
        "charge.made_up": ("molten_metal", "mercury", "dust", "oxidants", "lone_work"),
        "charge.poured": _HEAT,
        "cleanup.recorded": ("lone_work",),
        "detector.alarmed": ("robbery",),
        "dispatch.handed_over": _VALUABLES,
        "dispatch.received": _VALUABLES,
        "emergency.declared": ("rescue",),
        "emergency.ratified": ("rescue",),
        "fire_assay.reported": ("fume", "molten_metal", "acid"),
        "hopper.closed": ("vessel_entry", "lone_work"),
        "hopper.drawn_off": ("vessel_entry", "lone_work"),
        "hopper.emptied": ("vessel_entry", "lifting", "lone_work"),
        "hopper.opened": ("vessel_entry", "lone_work"),
        "hopper.weighed": ("lone_work",),
        "incident.reported": ("rescue",),
        "instrument.check_weighed": ("lifting",),
        "leach.charged": (
            "cyanide",
            "caustic",
            "oxidants",
            "vessel_entry",
            "lone_work",
        ),
        "leach.discharged": (
            "cyanide",
            "acid_near_cyanide",
            "vessel_entry",
            "lone_work",
        ),
        "leach.dosed": ("cyanide", "caustic", "oxidants", "lone_work"),
        "leach.drained": _LEACHING,
        "leach.released": ("cyanide", "lifting", "lone_work"),
        "leach.sampled": _LEACHING,
        "leach.washed": _LEACHING,
        "material.calcined": _HEATED,
        "material.dried": _HEATED,
        "material.retorted": _HEATED,
        "other_metal.received": ("mercury", "cyanide", "dust", "lifting", "lone_work"),
        "remelt.charged": ("molten_metal", "lifting", "lone_work"),
        "room.entered": ("lone_work", "robbery"),
        "room.left": ("lone_work",),
        "sample.consumed": ("fume", "acid"),
        "sample.moved": ("robbery", "cyanide"),
        "sample.returned": ("cyanide",),
        "sample.split": ("dust", "cyanide"),
        "sample.taken": ("cyanide", "molten_metal", "dust"),
        "screen_assay.reported": ("fume", "dust", "acid"),
        "shift.handed_over": ("lone_work",),
        "slag.released": ("slag", "lone_work"),
        "slag.weighed": ("slag", "molten_metal", "lone_work"),
        "solution_assay.reported": ("cyanide", "acid_near_cyanide"),
        "stock.counted": _VALUABLES,
        "stock.estimated": ("lone_work",),
        "sweepings.collected": ("dust", "mercury", "lone_work"),
        "table.run": ("turning_parts", "dust", "lone_work"),
        "vault.counted": _VALUABLES,
        "vault.placed": _VALUABLES,
        "vault.taken": _VALUABLES,
    }
)
"""Cautions of each kind whose work can hurt; the other kinds are desk work."""


def cautions_of(kind_name: str) -> tuple[Caution, ...]:
    """Return the cautions of a kind's work, the gravest first; none for desk work."""
    return tuple(CAUTIONS[name] for name in OF_KIND.get(kind_name, ()))
