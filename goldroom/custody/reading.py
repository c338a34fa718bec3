"""A reading: digits as displayed, in the instrument's own unit.

The instrument, not the field, fixes the decimals. A reading over an instrument's
capacity is questioned once and accepted when confirmed, because people saw it; a
reading on a blocked instrument is refused, because nobody should weigh on it.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from decimal import Decimal

from goldroom.custody.act import Act
from goldroom.custody.figures import calibration_at
from goldroom.custody.lookups import the
from goldroom.custody.notices import notice
from goldroom.custody.records import Instrument, Noticed
from goldroom.custody.state import State
from goldroom.errors import InstrumentBlocked, OverCapacity, WrongUnit
from goldroom.metal.units import to_grams
from goldroom.metal.weighing import check_digits


@dataclass(frozen=True, kw_only=True)
class Reading:
    """Digits as displayed, in the instrument's own unit, and where they came from.

    `confirmed` says that the people saw an unusual reading and stand by it.
    """

    reading: Decimal
    unit: str
    instrument: str
    source: str = "typed"
    confirmed: bool = False

    @property
    def grams(self) -> Decimal:
        """Return the reading in grams, exactly."""
        return to_grams(self.reading, self.unit)

    def __str__(self) -> str:
        """Return the reading as displayed, with its unit."""
        return f"{self.reading} {self.unit}"


def check_reading(state: State, reading: Reading, field: str) -> Instrument:
    """Return the instrument read; refuse what it cannot show or may not be used for.

    Raises UnknownInstrument, InstrumentBlocked, WrongUnit, MoreDigitsThanInstrument,
    NotOnScaleDivision and, unless the reading is confirmed, OverCapacity.
    """
    instrument = the(state, Instrument, reading.instrument, f"{field}.instrument")
    name = instrument.instrument
    if instrument.blocked:
        raise InstrumentBlocked(
            f"{field}: {name} is blocked ({instrument.blocked}). Weigh on another"
            " instrument, or check-weigh this one first.",
            field=f"{field}.instrument",
        )
    check_display(instrument, reading, field)
    return instrument


def check_display(instrument: Instrument, reading: Reading, field: str) -> None:
    """Refuse a reading that the instrument's display cannot have shown.

    Raises WrongUnit, MoreDigitsThanInstrument, NotOnScaleDivision and, unless the
    reading is confirmed, OverCapacity.
    """
    name = instrument.instrument
    if reading.unit != instrument.unit:
        raise WrongUnit(
            f"{field}: found {reading.unit}, but {name} shows {instrument.unit}."
            " Write the digits and unit as displayed.",
            field=f"{field}.unit",
        )
    check_digits(
        format(reading.reading, "f"),
        scale_interval=instrument.interval,
        field=f"{field}.reading",
    )
    if reading.reading > instrument.capacity and not reading.confirmed:
        raise OverCapacity(
            f"{field}: {reading} is over the capacity of {name},"
            f" {instrument.capacity} {instrument.unit}. Read it again; if it stands,"
            " confirm it.",
            field=f"{field}.reading",
        )


def reading_notices(
    state: State, act: Act, reading: Reading, item: str
) -> Iterator[Noticed]:
    """Yield what should be noticed about a reading that people took and stand by."""
    instrument = state.get(Instrument, reading.instrument)
    assert instrument is not None
    if reading.reading > instrument.capacity:
        yield notice(
            state,
            act,
            "reading_over_capacity",
            item=item,
            found=str(reading),
            expected=f"at most {instrument.capacity} {instrument.unit}",
            message=f"{instrument.instrument} was read over its capacity and confirmed",
        )
    calibration = calibration_at(instrument, act.at)
    if not calibration.calibration_id or act.at > calibration.due_at:
        last_day = calibration.due_at[:10] or "never set"
        yield notice(
            state,
            act,
            "instrument_out_of_date",
            item=item,
            found=f"{instrument.instrument}, due {last_day}",
            expected="a calibration in force",
            message=f"metal was weighed on {instrument.instrument} out of date",
        )
    elif calibration.place and calibration.place != instrument.place:
        yield notice(
            state,
            act,
            "instrument_moved",
            item=item,
            found=instrument.place,
            expected=calibration.place,
            message=f"{instrument.instrument} has moved since it was calibrated",
        )
