"""The site's things: instruments, vessels with their seals, places, concentrators."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime

from goldroom.custody.act import utc_text
from goldroom.custody.records import Concentrator, Instrument, Place, Vessel
from goldroom.models import JournalLine
from goldroom.reports import rows
from goldroom.reports.journal import Line, lines_at, seqs_mentioning
from goldroom.reports.metal import grams_text

CHECKED = "instrument.check_weighed"


@dataclass(frozen=True, kw_only=True)
class InstrumentNow:
    """An instrument. Texts with units; "" where there is nothing to tell.

    `due` is the calibration's last day in date, `checked_at` when its last check
    weight was weighed (UTC text) and `check_seq` the entry that tells of it.
    """

    instrument: str
    name: str
    sort: str
    place: str
    shows: str
    calibration: str
    due: str
    is_overdue: bool
    blocked: str
    checked_at: str
    check_seq: int | None


@dataclass(frozen=True, kw_only=True)
class VesselNow:
    """A vessel: its tare with unit, its points with the seals on them, what is in it.

    A point that bears no seal has "".
    """

    vessel: str
    name: str
    sort: str
    place: str
    tare: str
    is_open: bool
    points: tuple[tuple[str, str], ...]
    contents: tuple[str, ...]


@dataclass(frozen=True, kw_only=True)
class UnitNow:
    """A concentrator: where it flushes to, and the last flush on a sheet."""

    unit: str
    name: str
    sort: str
    goes_to: str
    last_flush: int


@dataclass(frozen=True, kw_only=True)
class PlaceNow:
    """A place by name and sort."""

    place: str
    name: str
    sort: str


@dataclass(frozen=True, kw_only=True)
class Equipment:
    """Everything registered at the site, by id."""

    instruments: tuple[InstrumentNow, ...]
    vessels: tuple[VesselNow, ...]
    places: tuple[PlaceNow, ...]
    units: tuple[UnitNow, ...]


def equipment(ledger_id: int, *, now: datetime) -> Equipment:
    """Return the site's things as the record has them, judged at a moment."""
    found = rows.all_of(ledger_id, Instrument, Vessel, Place, Concentrator)
    found.sort(key=lambda each: each.key)
    places = [each for each in found if isinstance(each, Place)]
    named = {each.place_id: each.name for each in places}
    instruments = [each for each in found if isinstance(each, Instrument)]
    checks = _last_checks(ledger_id, [each.instrument for each in instruments])
    at = utc_text(now)
    return Equipment(
        instruments=tuple(
            _instrument(each, named, checks.get(each.instrument), at)
            for each in instruments
        ),
        vessels=tuple(_vessel(each, named) for each in found if type(each) is Vessel),
        places=tuple(
            PlaceNow(place=each.place_id, name=each.name, sort=_plain(each.sort))
            for each in places
        ),
        units=tuple(_unit(each) for each in found if isinstance(each, Concentrator)),
    )


def _instrument(
    each: Instrument, named: dict[str, str], check: Line | None, at: str
) -> InstrumentNow:
    last = max(each.calibrations, key=lambda one: one.from_at, default=None)
    due_at = "" if last is None else last.due_at
    return InstrumentNow(
        instrument=each.instrument,
        name=each.name,
        sort=_plain(each.sort),
        place=named.get(each.place, each.place),
        shows=f"{each.capacity} {each.unit} by {each.interval} {each.unit}"
        if each.unit
        else "",
        calibration="" if last is None else last.calibration_id,
        due=due_at[:10],
        is_overdue=bool(due_at) and due_at < at,
        blocked=each.blocked,
        checked_at="" if check is None else check.occurred_at,
        check_seq=None if check is None else check.seq,
    )


def _vessel(each: Vessel, named: dict[str, str]) -> VesselNow:
    return VesselNow(
        vessel=each.vessel,
        name=each.name,
        sort=_plain(each.sort),
        place=named.get(each.place, each.place),
        tare="" if each.tare_kg is None else f"{grams_text(each.tare_kg)} kg",
        is_open=each.is_open,
        points=tuple((one.point, one.seal) for one in each.points),
        contents=each.contents,
    )


def _unit(each: Concentrator) -> UnitNow:
    return UnitNow(
        unit=each.unit,
        name=each.name,
        sort=_plain(each.sort),
        goes_to=each.hopper or each.feeds,
        last_flush=each.last_flush,
    )


def _last_checks(ledger_id: int, instruments: Iterable[str]) -> dict[str, Line]:
    """Return the last check weighing of each instrument."""
    with rows.readable():
        lines = JournalLine.objects.filter(ledger_id=ledger_id, kind=CHECKED)
        checks = set(lines.values_list("seq", flat=True))
    newest: dict[str, int] = {}
    for instrument, seq in seqs_mentioning(ledger_id, "instrument", instruments):
        if seq in checks:
            newest[instrument] = max(seq, newest.get(instrument, 0))
    told = lines_at(ledger_id, newest.values())
    return {name: told[seq] for name, seq in newest.items() if seq in told}


def _plain(sort: str) -> str:
    return sort.replace("_", " ")
