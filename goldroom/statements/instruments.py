"""Balances, scales, load cells and ovens: registered, calibrated, checked, moved.

A calibration is in force from when it was done until another; it names the
certificate's uncertainties and the place it was done in, because an instrument
moved elsewhere weighs by another gravity. A balance that fails its check weight is
blocked until it passes: nobody should weigh on it.

Limits of check weights: OIML R 111-1:2004 Table 1. What a display may differ by is
a limit the site sets.
"""

from collections.abc import Iterator
from dataclasses import dataclass, replace
from datetime import date
from decimal import Decimal

from goldroom.custody.act import Act
from goldroom.custody.lookups import the
from goldroom.custody.notices import notice
from goldroom.custody.reading import Reading, check_display
from goldroom.custody.records import Calibration, Instrument, Place, Record
from goldroom.custody.state import State
from goldroom.errors import AlreadyRegistered, NotInThisState, WrongSort
from goldroom.metal.scale_limits import WEIGHT_CLASSES, weight_limit_mg
from goldroom.metal.units import to_grams
from goldroom.statements import fields
from goldroom.statements.fields import BadField
from goldroom.statements.kind import Statement, kind
from goldroom.statements.limits import limit_value

SORTS = ("hopper_cells", "platform_scale", "bench_balance", "bullion_balance", "oven")
UNITS = ("g", "kg", "ozt")


@kind("instrument.registered", group="standing", title="Instrument registered")
@dataclass(frozen=True, kw_only=True)
class InstrumentRegistered(Statement):
    """A balance, scale, set of load cells or oven, and what its display shows."""

    instrument: str = fields.code("Instrument", help="A new id, such as BU1")
    name: str = fields.text("Name")
    sort: str = fields.choice("Sort", SORTS)
    place: str = fields.code("Place", table="place")
    unit: str | None = fields.choice(
        "Unit shown", UNITS, optional=True, help="Everything but an oven has one"
    )
    interval: Decimal | None = fields.number(
        "Scale interval", "", low="0.0001", high="1000", optional=True,
        is_figure=False, help="The display's step, in its own unit",
    )  # fmt: skip
    capacity: Decimal | None = fields.number(
        "Capacity", "", low="0.0001", optional=True, is_figure=False,
        help="The most it may weigh, in its own unit",
    )  # fmt: skip

    def check(self, act: Act, state: State) -> None:
        """Refuse an id in use, an unknown place, and a scale without its display."""
        if state.get(Instrument, self.instrument) is not None:
            raise AlreadyRegistered(
                f"instrument: {self.instrument} is registered already. Choose another"
                " id.",
                field="instrument",
            )
        the(state, Place, self.place, "place")
        for field in ("unit", "interval", "capacity"):
            is_there = getattr(self, field) is not None
            if is_there == (self.sort == "oven"):
                raise BadField(
                    f"{field}: a scale has unit, interval and capacity, an oven none"
                    " of them. Set it right.",
                    field=field,
                )

    def apply(self, act: Act, state: State) -> Iterator[Record]:
        """Yield the instrument, not calibrated yet."""
        yield Instrument(
            instrument=self.instrument,
            name=self.name,
            sort=self.sort,
            unit=self.unit or "",
            interval=self.interval or Decimal(0),
            capacity=self.capacity or Decimal(0),
            place=self.place,
            blocked="",
            calibrations=(),
        )

    def sentence(self) -> str:
        """Return what the journal reads aloud."""
        shows = ""
        if self.unit:
            shows = (
                f", reading to {self.capacity} {self.unit} in steps of"
                f" {self.interval} {self.unit}"
            )
        return (
            f"{self.name} was registered as {self.sort.replace('_', ' ')}"
            f" {self.instrument} in {self.place}{shows}."
        )


@kind("instrument.calibrated", group="standing", title="Instrument calibrated")
@dataclass(frozen=True, kw_only=True)
class InstrumentCalibrated(Statement):
    """A calibration: certificate, what it is good to, where, and when it is due."""

    instrument: str = fields.code("Instrument", table="instrument")
    calibration: str = fields.code("Calibration", help="A new id for this calibration")
    due: date = fields.day("Due", help="The last day on which it is in date")
    certificate: str = fields.text("Certificate", help="Number, and who issued it")
    reading_u_g: Decimal = fields.number(
        "Standard uncertainty of a reading", "g", high="1000000"
    )
    slope_u_relative: Decimal = fields.number(
        "Standard uncertainty of the slope", "g/g", high="0.1",
        help="Relative: 0.0001 is one part in ten thousand",
    )  # fmt: skip
    place: str = fields.code("Place", table="place", help="Where it was calibrated")

    def check(self, act: Act, state: State) -> None:
        """Refuse an unknown instrument or place, and a calibration id used before."""
        instrument = the(state, Instrument, self.instrument, "instrument")
        the(state, Place, self.place, "place")
        if any(
            each.calibration_id == self.calibration for each in instrument.calibrations
        ):
            raise AlreadyRegistered(
                f"calibration: {self.instrument} has a calibration"
                f" {self.calibration} already. Choose another id.",
                field="calibration",
            )
        if self.due < act.occurred_at.date():
            raise BadField(
                f"due: {self.due} is before the calibration itself. Read the"
                " certificate again.",
                field="due",
            )

    def apply(self, act: Act, state: State) -> Iterator[Record]:
        """Yield the instrument with one more calibration."""
        instrument = the(state, Instrument, self.instrument, "instrument")
        made = Calibration(
            calibration_id=self.calibration,
            from_at=act.at,
            due_at=f"{self.due}T23:59:59Z",
            slope_u_relative=self.slope_u_relative,
            reading_u_g=self.reading_u_g,
            place=self.place,
            known_at=act.known_at,
        )
        yield replace(instrument, calibrations=(*instrument.calibrations, made))

    def sentence(self) -> str:
        """Return what the journal reads aloud."""
        return (
            f"{self.instrument} was calibrated in {self.place} ({self.calibration},"
            f" certificate {self.certificate}): a reading is good to"
            f" {self.reading_u_g} g and the slope to {self.slope_u_relative} g/g,"
            f" one standard uncertainty; due {self.due}."
        )


@kind("instrument.check_weighed", group="room", title="Check weight weighed")
@dataclass(frozen=True, kw_only=True)
class InstrumentCheckWeighed(Statement):
    """A check weight put on an instrument, and what the display showed."""

    reading: Reading = fields.reading("Reading")
    nominal_g: Decimal | None = fields.number(
        "Nominal mass", "g", low="0.001", optional=True,
        help="Of a weight of an OIML class", is_figure=False,
    )  # fmt: skip
    weight_class: str | None = fields.choice(
        "Weight class", WEIGHT_CLASSES, optional=True
    )
    certified_g: Decimal | None = fields.number(
        "Certified mass", "g", low="0.001", optional=True, is_figure=False,
        help="Of a weight with a certificate of its own",
    )  # fmt: skip
    weight: str = fields.text("Check weight", help="Its number")

    def check(self, act: Act, state: State) -> None:
        """Refuse a display that cannot be, and a weight that says too little.

        A blocked instrument may be check-weighed: that is how the block is lifted.
        """
        instrument = the(
            state, Instrument, self.reading.instrument, "reading.instrument"
        )
        if instrument.sort == "oven":
            raise WrongSort(
                f"reading.instrument: {instrument.instrument} is an oven; expected a"
                " balance, scale or load cells. Name the one that was read.",
                field="reading.instrument",
            )
        check_display(instrument, self.reading, "reading")
        by_class = self.nominal_g is not None and self.weight_class is not None
        half = (self.nominal_g is None) != (self.weight_class is None)
        if half or by_class == (self.certified_g is not None):
            raise BadField(
                "nominal_g: write a nominal mass with its class, or a certified mass,"
                " and not both.",
                field="nominal_g",
            )
        self._weight_error_g()

    def _weight_error_g(self) -> Decimal:
        """Return what the weight itself may differ by from its stated mass."""
        if self.nominal_g is None or self.weight_class is None:
            return Decimal(0)
        limit_mg = weight_limit_mg(
            nominal_g=self.nominal_g, weight_class=self.weight_class
        )
        return to_grams(limit_mg, "mg")

    @property
    def stated_g(self) -> Decimal:
        """Return the mass the weight is said to have, in grams."""
        stated = self.certified_g if self.nominal_g is None else self.nominal_g
        assert stated is not None
        return stated

    def limit_g(self, state: State) -> Decimal:
        """Return the difference let pass: the weight's own and the display's."""
        instrument = the(
            state, Instrument, self.reading.instrument, "reading.instrument"
        )
        intervals = limit_value(state, "check_weight_intervals")
        shown_g = intervals * to_grams(instrument.interval, instrument.unit)
        if instrument.sort == "hopper_cells":
            percent = limit_value(state, "check_weight_cells_percent")
            shown_g = max(shown_g, self.stated_g * percent / 100)
        return shown_g + self._weight_error_g()

    def apply(self, act: Act, state: State) -> Iterator[Record]:
        """Yield the instrument blocked, with a finding, or free again."""
        instrument = the(
            state, Instrument, self.reading.instrument, "reading.instrument"
        )
        limit_g = self.limit_g(state)
        difference_g = self.reading.grams - self.stated_g
        if abs(difference_g) <= limit_g:
            yield replace(instrument, blocked="")
            return
        yield replace(
            instrument, blocked=f"failed its check weight at {act.at}, {difference_g} g"
        )
        yield notice(
            state,
            act,
            "check_weight_outside_limit",
            item=instrument.instrument,
            found=f"{self.reading} for {self.stated_g} g",
            expected=f"within {limit_g} g",
            message=f"{instrument.instrument} failed its check weight and is blocked",
        )

    def sentence(self) -> str:
        """Return what the journal reads aloud."""
        stated = f"certified {self.certified_g} g"
        if self.certified_g is None:
            stated = f"{self.nominal_g} g, class {self.weight_class}"
        return (
            f"Check weight {self.weight} ({stated}) on {self.reading.instrument} read"
            f" {self.reading}."
        )


@kind("instrument.moved", group="standing", title="Instrument moved")
@dataclass(frozen=True, kw_only=True)
class InstrumentMoved(Statement):
    """An instrument stands in another place from now on."""

    instrument: str = fields.code("Instrument", table="instrument")
    place: str = fields.code("To place", table="place")
    reason: str = fields.text("Reason")

    def check(self, act: Act, state: State) -> None:
        """Refuse an unknown instrument or place, and a move to where it stands."""
        instrument = the(state, Instrument, self.instrument, "instrument")
        the(state, Place, self.place, "place")
        if instrument.place == self.place:
            raise NotInThisState(
                f"place: {self.instrument} stands in {self.place} already."
                " Check the place.",
                field="place",
            )

    def apply(self, act: Act, state: State) -> Iterator[Record]:
        """Yield the instrument in its new place; calibrations keep theirs."""
        instrument = the(state, Instrument, self.instrument, "instrument")
        yield replace(instrument, place=self.place)

    def sentence(self) -> str:
        """Return what the journal reads aloud."""
        return f"{self.instrument} was moved to {self.place}: {self.reason}."
