"""Refusals: what the gold room cannot accept, and what to do about it.

A refusal is an exception. Its `code` never changes (pages, API, tests and
documents use it), its `message` says what was found, what was expected and
what to do next, and its `field` names the figure or box it speaks of (empty
when it speaks of the whole statement).

What people *saw* is recorded and may raise a finding; only what cannot be a
figure, or must not be done, is refused.
"""

from __future__ import annotations

from typing import ClassVar


class Refusal(Exception):
    """This cannot be accepted; the message says why and what to do."""

    code: ClassVar[str] = "refused"

    def __init__(self, message: str, *, field: str = "") -> None:
        super().__init__(message)
        self.message = message
        self.field = field


# ---------------------------------------------------------------- figures


class FigureRefused(Refusal):
    """A figure cannot be read, or cannot be true."""

    code = "figure_refused"


class NotAFigure(FigureRefused):
    """The text is not a plain decimal figure."""

    code = "not_a_figure"


class NegativeFigure(FigureRefused):
    """A quantity that cannot be below zero is."""

    code = "negative_figure"


class OutOfRange(FigureRefused):
    """A figure lies outside the range in which the formula holds."""

    code = "out_of_range"


# ------------------------------------------------------------------ units


class UnitRefused(Refusal):
    """A unit cannot be used as it was written."""

    code = "unit_refused"


class BareOunce(UnitRefused):
    """An ounce was written without saying which ounce."""

    code = "bare_ounce"


class AmbiguousUnit(UnitRefused):
    """A unit was written by a name that two units share."""

    code = "ambiguous_unit"


class UnknownUnit(UnitRefused):
    """A unit was written that the gold room does not know."""

    code = "unknown_unit"


# --------------------------------------------------------------- weighing


class WeighingRefused(Refusal):
    """A weighing contradicts itself or its instrument."""

    code = "weighing_refused"


class MoreDigitsThanInstrument(WeighingRefused):
    """More digits were typed than the instrument can show."""

    code = "more_digits_than_instrument"


class NotOnScaleDivision(WeighingRefused):
    """The figure lies between two divisions of the instrument."""

    code = "not_on_scale_division"


class TareOverGross(WeighingRefused):
    """The empty container outweighs the full one."""

    code = "tare_over_gross"


class UnknownAccuracyClass(WeighingRefused):
    """An accuracy class was named that the standard does not have."""

    code = "unknown_accuracy_class"


class UnknownNominalMass(WeighingRefused):
    """A check weight's nominal mass is not in the standard's table."""

    code = "unknown_nominal_mass"


class ClassDoesNotFit(WeighingRefused):
    """An instrument's divisions do not fit the class claimed for it."""

    code = "class_does_not_fit"


# --------------------------------------------------- moisture, pulp, assay


class MoistureOver100(FigureRefused):
    """A moisture is above one hundred per cent of the wet mass."""

    code = "moisture_over_100"


class DryHeavierThanWet(FigureRefused):
    """A dried sample outweighs itself wet."""

    code = "dry_heavier_than_wet"


class NotAPulp(FigureRefused):
    """A density lies outside what water and these solids can make."""

    code = "not_a_pulp"


class FinenessOver1000(FigureRefused):
    """A fineness is above one thousand parts per thousand."""

    code = "fineness_over_1000"


class NotTwoProducts(FigureRefused):
    """Feed is not richer than tails and poorer than concentrate."""

    code = "not_two_products"


class NotACorrelation(FigureRefused):
    """A table of correlations contradicts itself."""

    code = "not_a_correlation"
