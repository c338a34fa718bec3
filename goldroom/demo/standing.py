"""The first day: the ledger opened, everything registered, stock taken over."""

from datetime import datetime, timedelta
from typing import Any

from goldroom.demo import mine, truth
from goldroom.demo.looking import CONCENTRATES
from goldroom.demo.room import SERIES, Room, at, hands
from goldroom.demo.smelting import FIRST_STAMP
from goldroom.demo.truth import Matter

LAST_FLUSHES = {"U1": 4210, "U2": 4187}
SEALS_A_MONTH = 200
RUVI, HALE = mine.SECURITY


def open_mine(room: Room, day: datetime) -> None:
    """Write the opening, and what stands in the mine, on the day before the first."""
    opened_at = at(day, "09:00", days=-1)
    _open_ledger(room, opened_at)
    when = opened_at + timedelta(minutes=20)
    for kind, name, values in _registrations():
        when += timedelta(minutes=2)
        room.diary.say(
            f"register/{kind}/{name}", kind, values, when,
            hands(RUVI, mine.METALLURGIST), taken_down=when + timedelta(minutes=1),
        )  # fmt: skip
    issue_seals(room, when + timedelta(minutes=10))
    _set_model(room, when + timedelta(minutes=20))
    _first_seals(room, at(day, "05:00"))
    _take_stock(room, at(day, "05:30"))


def issue_seals(room: Room, when: datetime) -> None:
    """Write the issue of a month's box of seals."""
    box = room.number("seal box")
    values = {
        "series": SERIES,
        "first": (box - 1) * SEALS_A_MONTH + 1,
        "last": box * SEALS_A_MONTH,
        "issued_to": RUVI,
    }
    room.diary.say(
        f"seals issued/{box}", "seals.issued", values, when, hands(RUVI, mine.MANAGER)
    )


def _open_ledger(room: Room, opened_at: datetime) -> None:
    values = {
        "origin_name": mine.ORIGIN_NAME,
        "site": mine.SITE,
        "demo": True,
        "production_day_start": mine.DAY_START,
        "time_zone": mine.TIME_ZONE,
        "persons": [member.values() for member in mine.PEOPLE],
    }
    room.diary.say("opening", "ledger.opened", values, opened_at, ())


def _registrations() -> list[tuple[str, str, dict[str, Any]]]:
    """Return kind, name and values of all that is registered, in a good order."""
    made: list[tuple[str, str, dict[str, Any]]] = [
        ("place.registered", place, {"place": place, "name": name, "sort": sort})
        for place, name, sort in mine.PLACES
    ]
    for scale in mine.SCALES:
        made.append(("instrument.registered", scale.instrument, scale.values()))
        made.append(("instrument.calibrated", scale.instrument, calibration(scale)))
    for oven, name, place in (
        (mine.OVEN, "Drying oven", "laboratory"),
        (mine.DRYER, "Muffle oven", "gold_room"),
    ):
        values = {"instrument": oven, "name": name, "sort": "oven", "place": place}
        made.append(("instrument.registered", oven, values))
    made += [
        ("vessel.registered", str(values["vessel"]), values) for values in mine.VESSELS
    ]
    units = [(unit, _flushing(unit)) for unit in mine.FLUSHING]
    units += [(unit, _continuous(unit, *tandem)) for unit, *tandem in mine.STREAMS]
    made += [("concentrator.registered", *unit) for unit in units]
    return made


def calibration(scale: mine.Scale, *, name: str = "", due: str = "") -> dict[str, Any]:
    """Return the values of a scale's calibration, the opening one if not named."""
    named = name or scale.calibration
    return {
        "instrument": scale.instrument,
        "calibration": named,
        "due": due or scale.due,
        "certificate": f"{named}, invented laboratory of weights",
        "reading_u_g": scale.reading_u_g,
        "slope_u_relative": scale.slope_u_relative,
        "place": scale.place,
    }


def _flushing(unit: str) -> dict[str, Any]:
    return {
        "unit": unit,
        "name": f"Concentrator {unit[1:]}",
        "sort": "semi_continuous",
        "hopper": mine.HOPPER,
        "counter_epoch": 1,
        "minimum_cycle_min": 30,
        "usual_flush_kg_min": "10",
        "usual_flush_kg_max": "30",
    }


def _continuous(unit: str, stage: str, feeds: str) -> dict[str, Any]:
    return {
        "unit": unit,
        "name": f"Tailings {stage} {unit[1:]}",
        "sort": "continuous",
        "counter_epoch": 1,
        "minimum_cycle_min": 0,
        "stage": stage,
        "feeds": feeds,
    }


def _set_model(room: Room, when: datetime) -> None:
    values = {
        "model": "main",
        "grg_fraction": str(truth.GRG_FRACTION),
        "survival_b": str(truth.SURVIVAL_B),
        "to_underflow_c": str(truth.TO_UNDERFLOW_C),
        "treated_p": str(truth.TREATED_P),
        "recovery_rho0": str(truth.RECOVERY_RHO0),
        "saturation_tau_min": str(truth.SATURATION_TAU_MIN),
        "silver_to_gold": str(truth.SILVER_TO_GOLD),
    }
    room.diary.say(
        "gravity model", "gravity_model.set", values, when,
        hands(HALE, mine.METALLURGIST),
    )  # fmt: skip
    limit = {
        "limit": "stock_insured_g",
        "value": "30000",
        "unit": "g",
        "reason": "the insurer's letter of September (invented)",
    }
    room.diary.say(
        "insured limit", "limit.set", limit, when + timedelta(minutes=10),
        hands(RUVI, mine.ACCOUNTANT),
    )  # fmt: skip


def _first_seals(room: Room, when: datetime) -> None:
    """Write the sealing of the empty hopper and of the safes."""
    fitted = room.seals.fit(mine.HOPPER, "lid", "drain")
    room.diary.say(
        "first hopper seals", "hopper.closed",
        {"hopper": mine.HOPPER, "seals_fitted": fitted}, when, room.crew(0),
    )  # fmt: skip
    for n, safe in enumerate((mine.CONCENTRATE_SAFE, mine.BAR_SAFE)):
        values = {"vessel": safe, "seals_fitted": room.seals.fit(safe, "door")}
        room.diary.say(
            f"first seal/{safe}", "seal.fitted", values,
            when + timedelta(minutes=6 + 4 * n), room.crew(n + 1),
        )  # fmt: skip


def _take_stock(room: Room, when: datetime) -> None:
    """Write what was held as the ledger began, and where the counters stood."""
    concentrate = Matter(1980.0, 812.0, 113.0)
    item, sample = "CON-000", "K-CON-000"
    room.truth[item] = concentrate
    room.in_concentrate_safe.append(item)
    slag = {
        "item": "SLG-00",
        "sort": "slag",
        "step": "smelt",
        "source": "gravity",
        "place": "gold_room",
        "estimate": {
            "gold_g": "14.0",
            "gold_u_g": "4.0",
            "silver_g": "9.0",
            "silver_u_g": "3.0",
            "method": "panned assay of earlier slags",
        },
    }
    held = {
        "item": item,
        "sort": "concentrate",
        "step": "smelt",
        "source": "gravity",
        "place": "gold_room",
        "vessel": mine.CONCENTRATE_SAFE,
        "net": room.look.reading(mine.BENCH, concentrate.dry_g, f"net/{item}"),
        "content": {
            "assay": sample,
            "sample": sample,
            "standing": "final",
            "unit": CONCENTRATES.unit,
            **room.look.contents(
                CONCENTRATES, concentrate, sample=sample, assay=sample
            ),
            "laboratory": "laboratory",
            "method": CONCENTRATES.method,
            "sampler": CONCENTRATES.sampler,
        },
    }
    values = {
        "stock": [held, slag],
        "last_flushes": [
            {"unit": unit, "counter_epoch": 1, "last_flush": last}
            for unit, last in LAST_FLUSHES.items()
        ],
        "last_bar_number": f"OF-{FIRST_STAMP - 1:04d}",
    }
    room.flush_numbers.update(LAST_FLUSHES)
    signers = hands(RUVI, mine.ACCOUNTANT, mine.METALLURGIST)
    room.diary.say("opening stock", "stock.opened", values, when, signers)
