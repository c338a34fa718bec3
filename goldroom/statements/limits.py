"""Limits and parameters, the circuit's gravity model, and the mill's day.

What sways a judgement about metal is an entry, signed by two, never a setting.
`LIMITS` names every limit that may be set, with its unit, the value in force
until one is set, and what it is for. The defaults are common practice without a
published source unless the line names one: starting points, to be set by the site.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from types import MappingProxyType

from goldroom.custody.act import Act
from goldroom.custody.records import (
    EarlierLimit,
    GravityModel,
    Limit,
    MillDay,
    Record,
)
from goldroom.custody.state import State
from goldroom.errors import OccurredInFuture
from goldroom.statements import fields
from goldroom.statements.fields import BadField
from goldroom.statements.kind import Statement, kind


@dataclass(frozen=True)
class LimitMeaning:
    """A limit that may be set: unit, the value until it is, and what it is for."""

    unit: str
    default: Decimal
    meaning: str


def _limit(unit: str, default: str, meaning: str) -> LimitMeaning:
    return LimitMeaning(unit, Decimal(default), meaning)


LIMITS = MappingProxyType(
    {
        "entered_late_h": _limit(
            "h", "4", "a statement entered later than this after the event is noticed"
        ),
        "second_signature_late_min": _limit(
            "min", "30", "time from the first to the second signature"
        ),
        "same_pair_percent": _limit(
            "%", "40", "share of 30 days' statements that one pair may sign"
        ),
        "hopper_fall_intervals": _limit(
            "intervals", "2", "fall of a hopper at equal level that is let pass"
        ),
        "hopper_water_kg_m3": _limit(
            "kg/m3", "1000", "density of the water in the hoppers"
        ),
        "hopper_rise_percent": _limit(
            "%", "5", "a hopper's rise against what its flushes usually bring"
        ),
        "check_weight_intervals": _limit(
            "intervals", "1", "error of a balance under a check weight, let pass"
        ),
        "check_weight_cells_percent": _limit(
            "%", "0.5", "error of hopper cells under a check weight, let pass"
        ),
        "transfer_dry_drop_percent": _limit(
            "%", "3", "drop of dry mass over a transfer"
        ),
        "barren_mg_l_max": _limit(
            "mg/L", "20", "gold left in barren solution out of a cell"
        ),
        "solution_volume_percent": _limit(
            "%", "5", "change of a solution's volume in a run of a cell"
        ),
        "solution_call_percent": _limit(
            "%", "5", "sludge of a cell cleanup against the solution call"
        ),
        "leach_ph_min": _limit(
            "pH", "10", "alkalinity of a leach below which it is noticed at once"
        ),
        "leach_dry_mass_percent": _limit(
            "%", "5", "dry mass of a leach's residue against what was charged"
        ),
        "leach_reagent_kg_t": _limit(
            "kg/t", "200", "a reagent issued at once to a tonne of dry solids"
        ),
        "bar_mass_change_g": _limit(
            "g", "1", "change of a bar between two weighings, beyond its samples"
        ),
        "count_mass_percent": _limit(
            "%", "2", "mass of a thing weighed again at a count against the book's"
        ),
        "sample_loss_g": _limit(
            "g", "0.1", "grams of a sample that its portions need not account for"
        ),
        "sample_loss_ml": _limit(
            "mL", "5", "millilitres of a sample that its portions need not account for"
        ),
        "sample_open_d": _limit(
            "d", "30", "time until a sample is used up, or back from the laboratory"
        ),
        "mine_refinery_mass_percent": _limit(
            "%", "0.05", "refinery's mass of a shipment against the mine's"
        ),
        "splitting_gold_percent": _limit(
            "%", "0.05", "gold assays exchanged: public terms of a refinery"
        ),
        "splitting_silver_percent": _limit(
            "%", "0.20", "silver assays exchanged: public terms of a refinery"
        ),
        "challenge_near_d": _limit(
            "d", "5", "days before a challenge or exchange is due that it is listed"
        ),
        "density_percent": _limit(
            "%", "2", "a bar's density against that of its assay, as a mixture"
        ),
        "stock_age_d": _limit("d", "14", "age of bars held in the vault"),
        "stock_insured_g": _limit(
            "g", "50000", "fine gold that the insurance covers on site"
        ),
        "emergency_ratified_h": _limit(
            "h", "24", "time until an emergency is ratified"
        ),
        "flush_on_sheet_h": _limit(
            "h", "24", "time until a flush that the plant counted is on a sheet"
        ),
        "seal_unused_d": _limit("d", "90", "time until a seal issued is fitted"),
        "final_assay_d": _limit("d", "14", "time until a bar has its final assay"),
        "shipment_open_d": _limit(
            "d", "7", "time from handing a shipment over to its receipt"
        ),
        "duplicates_gold_permille": _limit(
            "permille", "0.5", "gold of a sample's portions (ISO 11426, 8, from memory)"
        ),
        "duplicates_white_gold_permille": _limit(
            "permille",
            "1",
            "gold of a white alloy's portions (ISO 11426, 8, from memory)",
        ),
        "duplicates_fine_gold_permille": _limit(
            "permille",
            "0.2",
            "gold of portions over 990 fine (ISO 11426, 8, from memory)",
        ),
        "duplicates_concentrate_percent": _limit(
            "%", "10", "gold of a sample's portions, of concentrate and other solids"
        ),
        "proofs_gold_mg": _limit(
            "mg", "0.10", "gold that one worksheet's proofs gain or lose unevenly"
        ),
        "proofs_silver_mg": _limit(
            "mg", "1", "silver that one worksheet's proofs gain or lose unevenly"
        ),
        "proofs_unlike_percent": _limit(
            "%", "20", "gold of the proofs against that of a portion"
        ),
        "portion_least_mg": _limit(
            "mg", "125", "portion of bullion, at least (ISO 11426:2014, 7.2)"
        ),
        "portion_most_mg": _limit(
            "mg",
            "300",
            "portion of bullion, at most (ISO 11426:2014, 7.2: lead to 300)",
        ),
        "inquart_least": _limit(
            "mg/mg", "2.3", "silver to gold at parting, at least (ISO 11426:2014, 7.2)"
        ),
        "inquart_most": _limit(
            "mg/mg", "3", "silver to gold at parting, at most (ISO 11426:2014, 7.2)"
        ),
        "screen_fractions_percent": _limit(
            "%", "1", "mass that a sample's screen fractions lack or gain"
        ),
        "solution_samples_percent": _limit(
            "%", "5", "independent samples of one solution against each other"
        ),
        "detector_alarms_count": _limit(
            "alarms",
            "3",
            "alarms of one person, cleared by hand search, that are too many",
        ),
        "detector_alarms_d": _limit(
            "d", "14", "stretch in which those alarms are counted"
        ),
        "paper_form_gap_d": _limit(
            "d", "7", "time for which a form may be passed over by later numbers"
        ),
        "incident_open_d": _limit("d", "30", "time until an incident is closed"),
        "tails_above_usual_s": _limit(
            "s", "2", "gold of tails and residues above the last twelve"
        ),
        "out_of_family_s": _limit(
            "s", "3", "slag, bullion or hopper rises against the last twelve"
        ),
        "refinery_bias_percent": _limit(
            "%", "0.02", "mean of eight gold assays of a refinery against the mine's"
        ),
        "corrections_percent": _limit(
            "%", "10", "share of a person's statements of 30 days put right"
        ),
        "in_process_other_percent": _limit(
            "%", "10", "share of gold in process in sweepings and other things"
        ),
        "count_together_ppm": _limit(
            "ppm", "100", "bars of a count together, of a month's bullion poured"
        ),
        "seal_finding_open_d": _limit(
            "d", "7", "time until a finding about a seal is reviewed"
        ),
        "gravity_drift_u": _limit(
            "u", "5", "running sum of the gravity check over closed periods"
        ),
        "gravity_month_percent": _limit(
            "%", "10", "gravity estimate against poured, one month"
        ),
        "gravity_quarter_percent": _limit(
            "%", "5", "gravity estimate against poured, three months"
        ),
        "gravity_year_percent": _limit(
            "%", "3", "gravity estimate against poured, twelve months"
        ),
    }
)
"""Every limit by name."""


def limit_value(state: State, name: str) -> Decimal:
    """Return the value in force: the one set by an entry, else the default."""
    found = state.get(Limit, name)
    return LIMITS[name].default if found is None else found.value


def _earlier(limit: Limit) -> EarlierLimit:
    """Return a limit's value as one that it had before."""
    return EarlierLimit(
        value=limit.value,
        reason=limit.reason,
        set_by=limit.set_by,
        known_at=limit.known_at,
    )


@kind("limit.set", group="standing", title="Limit set")
@dataclass(frozen=True, kw_only=True)
class LimitSet(Statement):
    """A limit's value from now on, with the reason."""

    limit: str = fields.choice("Limit", tuple(LIMITS))
    value: Decimal = fields.number("Value", "", is_figure=False)
    unit: str = fields.text("Unit", help="The limit's own unit, written out to be sure")
    reason: str = fields.text("Reason")

    def check(self, act: Act, state: State) -> None:
        """Refuse a value in another unit than the limit's."""
        wanted = LIMITS[self.limit].unit
        if self.unit != wanted:
            raise BadField(
                f"unit: {self.limit} is in {wanted}; found {self.unit}. Write"
                f" the value in {wanted}.",
                field="unit",
            )

    def apply(self, act: Act, state: State) -> Iterator[Record]:
        """Yield the limit in force."""
        before = state.get(Limit, self.limit)
        yield Limit(
            name=self.limit,
            value=self.value,
            unit=self.unit,
            reason=self.reason,
            set_by=act.entry,
            known_at=act.known_at,
            earlier=() if before is None else (*before.earlier, _earlier(before)),
        )

    def sentence(self) -> str:
        """Return what the journal reads aloud."""
        meaning = LIMITS[self.limit].meaning
        return (
            f"The limit {self.limit} ({meaning}) is {self.value} {self.unit}"
            f" from now on: {self.reason}."
        )


@kind("gravity_model.set", group="standing", title="Gravity model set")
@dataclass(frozen=True, kw_only=True)
class GravityModelSet(Statement):
    """Parameters of the estimate of gold the gravity circuit should catch."""

    model: str = fields.code("Model", help="The circuit's name, such as main")
    grg_fraction: Decimal = fields.number(
        "Gravity-recoverable share of the feed's gold",
        "fraction",
        high="1",
        help="From a test on the present ore",
        is_figure=False,
    )
    survival_b: Decimal = fields.number(
        "Share still recoverable after a pass of the mill",
        "fraction",
        high="1",
        is_figure=False,
    )
    to_underflow_c: Decimal = fields.number(
        "Share of recoverable gold to the classifier's underflow",
        "fraction",
        high="1",
        is_figure=False,
    )
    treated_p: Decimal = fields.number(
        "Share of the underflow treated", "fraction", high="1", is_figure=False
    )
    recovery_rho0: Decimal = fields.number(
        "Recovery of a fresh bowl", "fraction", high="1", is_figure=False
    )
    saturation_tau_min: Decimal = fields.number(
        "Time in which a bowl fills up",
        "min",
        low="0.1",
        high="10000",
        is_figure=False,
    )
    silver_to_gold: Decimal = fields.number(
        "Silver to gold in the concentrate", "g/g", high="1000", is_figure=False
    )

    def apply(self, act: Act, state: State) -> Iterator[Record]:
        """Yield the model in force."""
        yield GravityModel(
            model=self.model,
            grg_fraction=self.grg_fraction,
            survival_b=self.survival_b,
            to_underflow_c=self.to_underflow_c,
            treated_p=self.treated_p,
            recovery_rho0=self.recovery_rho0,
            saturation_tau_min=self.saturation_tau_min,
            silver_to_gold=self.silver_to_gold,
            at=act.at,
            entry=act.entry,
            known_at=act.known_at,
        )

    def sentence(self) -> str:
        """Return what the journal reads aloud."""
        return (
            f"The gravity estimate of {self.model} takes {self.grg_fraction} of the"
            f" feed's gold as gravity-recoverable, {self.survival_b} of it still so"
            f" after a pass of the mill, {self.to_underflow_c} to the underflow,"
            f" {self.treated_p} of that treated, a fresh bowl recovering"
            f" {self.recovery_rho0} and filling up in {self.saturation_tau_min}"
            f" minutes, and {self.silver_to_gold} g of silver to a gram of gold."
        )


@kind("mill_day.reported", group="assay", title="Mill day reported")
@dataclass(frozen=True, kw_only=True)
class MillDayReported(Statement):
    """A production day of the mill: dry tonnes fed and the head assay."""

    day: date = fields.day("Production day")
    feed_t: Decimal = fields.number("Dry feed", "t", high="1000000")
    gold_gpt: Decimal = fields.number("Gold in the feed", "g/t", high="10000")
    silver_gpt: Decimal = fields.number("Silver in the feed", "g/t", high="100000")

    def check(self, act: Act, state: State) -> None:
        """Refuse a day that has not come."""
        if self.day > act.received_at.date():
            raise OccurredInFuture(
                f"day: {self.day} has not come yet. Write the day that was milled.",
                field="day",
            )

    def measures(self, act: Act, state: State) -> Iterator[Record]:
        """Yield the day as reported, a version after any before it."""
        version = 1
        while state.get(MillDay, f"{self.day}/{version:03d}") is not None:
            version += 1
        yield MillDay(
            day=self.day.isoformat(),
            feed_t=self.feed_t,
            gold_gpt=self.gold_gpt,
            silver_gpt=self.silver_gpt,
            version=version,
            at=act.at,
            entry=act.entry,
            known_at=act.known_at,
        )

    def sentence(self) -> str:
        """Return what the journal reads aloud."""
        return (
            f"On {self.day} the mill was fed {self.feed_t} t of dry ore at"
            f" {self.gold_gpt} g/t gold and {self.silver_gpt} g/t silver."
        )
