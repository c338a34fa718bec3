"""Gold and silver by cupellation and parting, corrected by proofs run beside.

A test portion is wrapped in lead with silver, cupelled to a bead and parted: what
the acid leaves is the cornet. On the way some gold is lost to the cupel, and some
silver stays in the cornet; a proof, made up like the sample, shows how much:

    surcharge = gold found - gold taken          of the proofs, their mean
    gold      = cornet - surcharge
    silver    = bead - cornet - silver added - (silver found - silver taken)

each over the portion. The correction is additive and wants proofs matched to the
sample in gold, silver and base metal (ISO 11426, section 8, from memory). A proof's
silver, like a sample's, is bead less cornet, so that what the cornet keeps of it
cancels (common practice, no source).

    portion       125 to 250 mg, at least two            ISO 11426:2014, 7.2
    silver        2.3 to 3 times the fine gold            ISO 11426:2014, 7.2
    scope         100 to 999.5 parts per thousand         ISO 11426:2021
    surcharge     about 0 at 700 to 800 fine, positive above, negative below
                  (assaying textbooks)
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal

from goldroom.errors import PortionOfNothing
from goldroom.metal.determinations import mean, spread
from goldroom.metal.rounding import EXACT, exact_arithmetic, quotient
from goldroom.metal.starting_uncertainties import STARTING

PERMILLE = Decimal(1000)
GRAMS_PER_TONNE = Decimal(1000000)

LEAST_PORTIONS = 2
LEAST_PROOFS = 2
INQUART = (Decimal("2.3"), Decimal(3))
USUAL_INQUART = Decimal("2.5")
SCOPE_PERMILLE = (Decimal(100), Decimal("999.5"))
NO_SURCHARGE_PERMILLE = (Decimal(700), Decimal(800))
FINE_GOLD_PERMILLE = Decimal(990)
COVERAGE = 3
"""A sum is over the whole when it is so by more than this many of its u."""


@dataclass(frozen=True, slots=True)
class Portion:
    """A test portion and what came of it; no bead where silver is not by bead."""

    portion_mg: Decimal
    cornet_mg: Decimal
    bead_mg: Decimal | None = None
    silver_added_mg: Decimal | None = None


@dataclass(frozen=True, slots=True)
class Proof:
    """Pure metal taken and found; silver where a bead was weighed before parting."""

    gold_taken_mg: Decimal
    gold_found_mg: Decimal
    silver_taken_mg: Decimal | None = None
    silver_found_mg: Decimal | None = None


def gold_gains_mg(proofs: Sequence[Proof]) -> list[Decimal]:
    """Return what each proof's gold gained (or, below zero, lost)."""
    return [EXACT.subtract(each.gold_found_mg, each.gold_taken_mg) for each in proofs]


def silver_gains_mg(proofs: Sequence[Proof]) -> list[Decimal]:
    """Return what the silver gained, of each proof that tells of silver."""
    return [
        EXACT.subtract(each.silver_found_mg, each.silver_taken_mg)
        for each in proofs
        if each.silver_found_mg is not None and each.silver_taken_mg is not None
    ]


def gold_content(
    portion: Portion, gains_mg: Sequence[Decimal], parts: Decimal
) -> Decimal:
    """Return a portion's gold, corrected by the proofs, to 34 digits.

    In `parts`: `PERMILLE` or `GRAMS_PER_TONNE`. Raises PortionOfNothing.
    """
    return _content(portion, portion.cornet_mg, gains_mg, parts)


def silver_content(
    portion: Portion, gains_mg: Sequence[Decimal], parts: Decimal
) -> Decimal:
    """Return a portion's silver by bead less cornet, as `gold_content` does gold.

    Silver that was added is taken off. Raises PortionOfNothing.
    """
    return _content(portion, silver_mg(portion), gains_mg, parts)


def silver_mg(portion: Portion) -> Decimal:
    """Return the silver of the sample in a bead, not corrected by proofs."""
    assert portion.bead_mg is not None
    added_mg = portion.silver_added_mg or Decimal(0)
    with exact_arithmetic():
        return portion.bead_mg - portion.cornet_mg - added_mg


def _content(
    portion: Portion, found_mg: Decimal, gains_mg: Sequence[Decimal], parts: Decimal
) -> Decimal:
    if portion.portion_mg <= 0:
        raise PortionOfNothing(
            f"The test portion is {portion.portion_mg} mg; it must be above zero."
            " Weigh it again.",
            field="portion_mg",
        )
    with exact_arithmetic():
        corrected_mg = found_mg - mean(gains_mg)
        parts_of_portion = parts * corrected_mg
    return quotient(parts_of_portion, portion.portion_mg)


def silver_wanted_mg(
    gold_mg: Decimal, inquart: tuple[Decimal, Decimal] = INQUART
) -> tuple[Decimal, Decimal]:
    """Return the least and the most silver with which so much gold parts well.

    `inquart` is the silver per gold, least and most.
    """
    least, most = inquart
    return EXACT.multiply(gold_mg, least), EXACT.multiply(gold_mg, most)


def silver_to_add_mg(*, gold_mg: Decimal, silver_present_mg: Decimal) -> Decimal:
    """Return the silver to add for 2.5 times the gold; 0 where there is enough."""
    with exact_arithmetic():
        return max(gold_mg * USUAL_INQUART - silver_present_mg, Decimal(0))


def is_in_scope(gold_permille: Decimal) -> bool:
    """Tell whether the standard's method is meant for such a fineness."""
    least, most = SCOPE_PERMILLE
    return least <= gold_permille <= most


def is_usual_surcharge(
    *, gold_permille: Decimal, surcharge_mg: Decimal, let_pass_mg: Decimal
) -> bool:
    """Tell whether a surcharge has the sign that textbooks expect of the fineness.

    A surcharge within `let_pass_mg` of nothing is usual everywhere.
    """
    low, high = NO_SURCHARGE_PERMILLE
    if gold_permille > high:
        return surcharge_mg >= -let_pass_mg
    if gold_permille < low:
        return surcharge_mg <= let_pass_mg
    return True


def proofs_apart_mg(gains_mg: Sequence[Decimal]) -> Decimal:
    """Return by how much the proofs of one worksheet disagree."""
    return spread(gains_mg)


def is_over_the_whole(
    *, gold_permille: Decimal, silver_permille: Decimal, base_permille: Decimal
) -> bool:
    """Tell whether a sum exceeds 1000 by more than its own error explains.

    That is by more than three standard uncertainties of the sum: each metal's own
    and shared error, as a new site starts with (base metal like silver). Takes
    finenesses as reported, and compares squares, so that no root is rounded.
    """
    with exact_arithmetic():
        excess = gold_permille + silver_permille + base_permille - PERMILLE
        if excess <= 0:
            return False
        variance = gold_permille**2 * _relative_variance("bullion_assay_gold") + (
            silver_permille**2 + base_permille**2
        ) * _relative_variance("bullion_assay_silver")
        return excess**2 > COVERAGE**2 * variance


def _relative_variance(quantity: str) -> Decimal:
    """Return the square of an assay's relative standard uncertainty."""
    row = STARTING[quantity]
    return sum(
        (Decimal(repr(part.u)) ** 2 for part in (row.random, row.shared)), Decimal(0)
    )
