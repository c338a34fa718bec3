"""What one item holds: grams of gold and silver, and dry mass, with their effects.

    net   = sum(coefficient x reading)          reading, scale slope
    dry   = net (1 - moisture/100)              moisture repeat, oven
    metal = dry x content                       sample, sampler, laboratory, repeat

and of a solution, volume x content             tank table, dip, and as above.

Each reading, calibration, oven, sampler, sample and laboratory is an effect with a
key of its own (`goldroom.metal.effect_keys`), so figures that share one are seen to
share it. An estimate carries one effect for both metals: closing and next opening
are the same guess.

Of several versions the latest is used; of several standings the mine's own figures
come first, and a refiner's figures are used for melts alone. Products and sums are
exact decimals, rounded once, when posted.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import replace
from decimal import Decimal

from goldroom.custody.figures import WET, calibration_at
from goldroom.custody.records import (
    Assay,
    Estimate,
    Instrument,
    Mass,
    Term,
    Volume,
)
from goldroom.metal import effect_keys
from goldroom.metal.moisture import dry_mass
from goldroom.metal.rounding import exact_arithmetic, to_milligram
from goldroom.metal.uncertainty import Measured, exact, rectangular_u
from goldroom.reconcile.amounts import NOTHING, Amount
from goldroom.reconcile.budget import Budget, Pair
from goldroom.reconcile.contents import Contents as Contents
from goldroom.reconcile.ledger_records import LedgerRecords

METALS = ("gold", "silver")
NOT_THE_MINES = ("party", "umpire", "refiner")
PARTS: Mapping[str, Decimal] = {
    "permille": Decimal("0.001"),
    "gpt": Decimal("0.000001"),
    "percent": Decimal("0.01"),
    "mg_l": Decimal("0.001"),
}
"""Grams of metal per gram (mg_l: per litre), for one of each unit of an assay."""

UNNAMED = "none"
"""Stands in a key for a calibration or name that nobody recorded."""


def measured_contents(item: str, data: LedgerRecords, budget: Budget) -> Contents:
    """Return what was weighed, assayed or estimated of an item.

    With neither an assay of a weighed item nor an estimate, `how` is unknown and only
    the dry mass, if weighed, is there.
    """
    mass = used_mass(data.masses.get(item, ()))
    volumes = data.volumes.get(item)
    litres = None if not volumes else volume_amount(volumes[-1], budget)
    dry = None if mass is None else dry_amount(mass, data, budget)
    bare = Contents(
        item,
        "unknown",
        dry_mass=_rounded(dry) if litres is None else NOTHING,
        litres=litres,
    )
    assay = used_assay(
        [
            each
            for each in data.assays.get(item, ())
            if (each.unit == "mg_l") is (litres is not None)
        ],
        is_melt=mass is not None and mass.wanted_for == "melt",
    )
    size = dry if litres is None else litres
    if size is not None and assay is not None:
        gold, silver = (
            metal_amount(size, assay, metal, budget=budget) for metal in METALS
        )
        return replace(
            bare, how="assay", gold=gold, silver=silver, standing=assay.standing
        )
    estimates = data.estimates.get(item)
    if estimates:
        gold, silver = estimated_amounts(estimates[-1])
        return replace(bare, how="estimate", gold=gold, silver=silver)
    return bare


def used_mass(masses: tuple[Mass, ...]) -> Mass | None:
    """Return the weighing a balance uses, or None: the one that its parcel passed by.

    That is the latest version of the first sort of weighing. A table product weighed
    again into its charge keeps the table's figure, so that what went missing between
    the two is missed at the smelt, which held it; a bar's shipping mass after
    drilling is a later version of the same weighing. What was weighed wet, with no
    moisture, says nothing of its dry mass (`WET`).
    """
    dry = [each for each in masses if each.wanted_for != WET]
    if not dry:
        return None
    return [each for each in dry if each.wanted_for == dry[0].wanted_for][-1]


def used_assay(assays: Sequence[Assay], *, is_melt: bool) -> Assay | None:
    """Return the assay a balance uses, or None: the latest of the right standing.

    For a melt, the settled figure once there is one, else the latest of any
    standing. Otherwise the mine's own latest; a settlement's party or umpire figure
    only where the mine has none.
    """
    if is_melt:
        settled = [each for each in assays if each.standing == "final"]
        usable = settled or assays
        return usable[-1] if usable else None
    mines = [each for each in assays if each.standing not in NOT_THE_MINES]
    others = [each for each in assays if each.standing in ("party", "umpire")]
    usable = mines or others
    return usable[-1] if usable else None


def dry_amount(mass: Mass, data: LedgerRecords, budget: Budget) -> Amount:
    """Return the dry mass in grams, not yet rounded.

    It is the net mass where moisture has no meaning.
    """
    net = net_mass(mass, data, budget)
    with exact_arithmetic():
        net_g = sum((each.coefficient * each.grams for each in mass.terms), Decimal(0))
        if mass.moisture_percent is None:
            return Amount(net_g, net)
        dry_g = net_g * (100 - mass.moisture_percent) / 100
    points = budget.at(mass.at).moisture_points()
    determination = mass.moisture_id or f"{mass.item}/{mass.version}"
    moisture = (
        exact(mass.moisture_percent)
        .shifted_by(points.own, effect_keys.moisture_repeat(determination))
        .shifted_by(points.shared, effect_keys.oven_bias(mass.oven or UNNAMED))
    )
    return Amount(dry_g, dry_mass(wet_mass=net, moisture_percent=moisture))


def volume_amount(volume: Volume, budget: Budget) -> Amount:
    """Return a solution's litres, with the errors of its dip and the tank's table."""
    worth = budget.at(volume.at).volume()
    litres = (
        exact(volume.litres)
        .scaled_by(worth.own, effect_keys.tank_dip(volume.volume_id or UNNAMED))
        .scaled_by(worth.shared, effect_keys.tank_table(volume.tank or UNNAMED, "0"))
    )
    return Amount(volume.litres, litres)


def net_mass(mass: Mass, data: LedgerRecords, budget: Budget) -> Measured:
    """Return the net mass in grams with the errors of its readings and scales."""
    net = exact(sum(float(each.coefficient) * float(each.grams) for each in mass.terms))
    is_melt = mass.wanted_for == "melt"
    for each in mass.terms:
        instrument = data.instruments.get(each.instrument)
        then = budget.at(each.at or mass.at)
        starting = then.weighing(instrument, is_refinery=is_melt)
        term = as_calibrated(each, instrument)
        net = _with_errors(net, term, starting, is_refinery=is_melt)
    if is_melt:
        key = effect_keys.refinery_melt(mass.item)
        return net.shifted_by(budget.at(mass.at).melt_loss_g(), key)
    return net


def as_calibrated(term: Term, instrument: Instrument | None) -> Term:
    """Return the term with the calibration now known to be in force when it was read.

    A calibration that was entered late so makes new figures of earlier weighings.
    """
    if instrument is None or not term.at:
        return term
    found = calibration_at(instrument, term.at)
    if found.calibration_id in ("", term.calibration):
        return term
    return replace(
        term,
        calibration=found.calibration_id,
        reading_u_g=found.reading_u_g,
        slope_u_relative=found.slope_u_relative,
    )


def _with_errors(
    net: Measured, term: Term, starting: Pair, *, is_refinery: bool
) -> Measured:
    """Return the net mass with one reading's own error and its scale's slope.

    The term's own figures win; a registered instrument whose calibration gives none
    takes the starting ones. A constant has neither.
    """
    reading_u_g = float(term.reading_u_g) or starting.own
    slope_u = float(term.slope_u_relative) or starting.shared
    slope = effect_keys.refinery_slope if is_refinery else effect_keys.scale_slope
    weight = float(term.coefficient)
    return net.shifted_by(
        weight * reading_u_g, effect_keys.reading(term.reading_id or UNNAMED)
    ).shifted_by(
        weight * float(term.grams) * slope_u,
        slope(term.instrument or UNNAMED, term.calibration or UNNAMED),
    )


def _rounded(dry: Amount | None) -> Amount | None:
    """Return the dry mass as posted, to the milligram."""
    return None if dry is None else Amount(to_milligram(dry.posted_g), dry.measured)


def metal_amount(size: Amount, assay: Assay, metal: str, *, budget: Budget) -> Amount:
    """Return the metal in a dry mass or a volume by an assay, in grams."""
    reported = assay.gold if metal == "gold" else assay.silver
    with exact_arithmetic():
        share = reported * PARTS[assay.unit]
        metal_g = to_milligram(size.posted_g * share)
    content = _content(assay, share, metal, budget.at(assay.at))
    return Amount(metal_g, size.measured * content)


def _content(assay: Assay, share: Decimal, metal: str, budget: Budget) -> Measured:
    """Return grams of metal per gram with the errors of sample and laboratory.

    The mean of several determinations repeats better by the root of their number.
    What lies below a detection limit may be anything up to it, and that is all that
    is known of it (JCGM 100:2008, 4.3.7).
    """
    content = exact(share)
    repeat = effect_keys.assay_repeat(assay.assay_id or UNNAMED, metal)
    limit = assay.gold_limit if metal == "gold" else assay.silver_limit
    if limit is not None:
        return content.shifted_by(rectangular_u(limit * PARTS[assay.unit] / 2), repeat)
    if assay.wanted_for != "bar" or metal == "gold":
        sampling = budget.sampling(assay.wanted_for)
        content = content.scaled_by(sampling.own, _sample_key(assay)).scaled_by(
            sampling.shared, effect_keys.sampler_bias(assay.sampler or UNNAMED)
        )
    own = budget.assaying(
        assay.wanted_for, metal, method=assay.method, standing=assay.standing
    )
    return content.scaled_by(own.shared, _laboratory_key(assay, metal)).scaled_by(
        own.own / math.sqrt(_determinations(assay, metal)), repeat
    )


def _determinations(assay: Assay, metal: str) -> int:
    """Return how many independent determinations a metal's figure is the mean of."""
    if metal == "gold":
        return assay.gold_determinations
    return assay.silver_determinations


def _sample_key(assay: Assay) -> str:
    """Return whose error a sample shares: a bar's own unevenness, or the sample's."""
    if assay.wanted_for == "bar":
        return effect_keys.segregation(assay.item)
    return effect_keys.fse(assay.sample or assay.assay_id or assay.item)


def _laboratory_key(assay: Assay, metal: str) -> str:
    """Return the key of the bias a laboratory's method has."""
    laboratory, method = assay.laboratory or UNNAMED, assay.method or UNNAMED
    if assay.wanted_for == "melt":
        return effect_keys.refinery_lab(laboratory, method, metal, "0")
    return effect_keys.lab_bias(laboratory, method, metal, "0")


def estimated_amounts(estimate: Estimate) -> tuple[Amount, Amount]:
    """Return the gold and silver of an estimate; one effect for both."""
    key = effect_keys.holding(estimate.item)
    return (
        Amount(
            to_milligram(estimate.gold_g),
            exact(estimate.gold_g).shifted_by(estimate.gold_u_g, key),
        ),
        Amount(
            to_milligram(estimate.silver_g),
            exact(estimate.silver_g).shifted_by(estimate.silver_u_g, key),
        ),
    )
