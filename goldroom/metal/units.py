"""Units of mass and grade: every conversion exact, every name unambiguous.

Factors: NIST Handbook 44 (2026) Appendix C, whose avoirdupois pound is
453.59237 g and whose troy ounce is 31.1034768 g, both exact.

A bare "oz" is refused because two ounces exist and one of them is a tenth
heavier; "gr" (gram or grain) and "ton" (short, long or metric) likewise.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from decimal import Decimal
from types import MappingProxyType

from goldroom.errors import (
    AmbiguousUnit,
    BareOunce,
    NegativeFigure,
    NotAFigure,
    UnknownUnit,
)
from goldroom.metal.rounding import EXACT, quotient

GRAMS_PER_TROY_OUNCE = Decimal("31.1034768")

GRAMS_PER_UNIT: Mapping[str, Decimal] = MappingProxyType(
    {
        "mg": Decimal("0.001"),
        "g": Decimal("1"),
        "kg": Decimal("1000"),
        "t": Decimal("1000000"),
        "ozt": GRAMS_PER_TROY_OUNCE,
        "dwt": Decimal("1.55517384"),
        "grain": Decimal("0.06479891"),
        "troy_lb": Decimal("373.2417216"),
        "ozav": Decimal("28.349523125"),
        "lb": Decimal("453.59237"),
        "short_ton": Decimal("907184.74"),
        "long_ton": Decimal("1016046.9088"),
        "tola": Decimal("11.6638038"),
    }
)
"""Grams in one of each unit the gold room knows, exactly."""

UNIT_NAMES: Mapping[str, str] = MappingProxyType(
    {
        "mg": "milligrams",
        "g": "grams",
        "kg": "kilograms",
        "t": "tonnes",
        "ozt": "troy ounces",
        "dwt": "pennyweights",
        "grain": "grains",
        "troy_lb": "troy pounds",
        "ozav": "avoirdupois ounces",
        "lb": "avoirdupois pounds",
        "short_ton": "short tons",
        "long_ton": "long tons",
        "tola": "tolas",
    }
)
"""What each unit is called in a sentence, in the plural."""

FIGURE_CHARACTERS_MAX = 40

_PLAIN_FIGURE = re.compile(r"-?(0|[1-9][0-9]*)(\.[0-9]+)?", re.ASCII)
_NEGATIVE_ZERO = re.compile(r"-0(\.0+)?", re.ASCII)
_BARE_OUNCES = frozenset({"oz", "oz.", "ounce", "ounces", "ozs"})
_AMBIGUOUS = MappingProxyType(
    {
        "gr": "write g for grams or grain for grains",
        "ton": "write t for tonnes, short_ton or long_ton",
        "tons": "write t for tonnes, short_ton or long_ton",
        "pound": "write lb for avoirdupois pounds or troy_lb for troy pounds",
        "pounds": "write lb for avoirdupois pounds or troy_lb for troy pounds",
    }
)

_GPT_PER_OZT_PER_SHORT_TON = (Decimal(240), Decimal(7))
_THRICE_ASSAY_TON_G = {"short_ton": Decimal("87.5"), "long_ton": Decimal("98")}


def parse_decimal(text: str, field: str = "") -> Decimal:
    """Return the figure written in plain digits, exactly as written.

    Accepted: an optional minus, digits without leading zeros, and if there is
    a point, digits on both sides of it. Raises NotAFigure for anything else:
    a binary float, an exponent, a comma, a space, NaN, infinity, ".5", "5.",
    "+5", "-0". Trailing zeros are kept, for they say what the instrument showed.
    """
    if not isinstance(text, str):
        raise NotAFigure(
            f"{_label(field)} is {text!r}, which is no text; a figure must arrive as "
            "text, in quotation marks and written as the instrument shows it, such as "
            '"12.50".',
            field=field,
        )
    readable = (
        len(text) <= FIGURE_CHARACTERS_MAX
        and _PLAIN_FIGURE.fullmatch(text)
        and not _NEGATIVE_ZERO.fullmatch(text)
    )
    if not readable:
        raise NotAFigure(
            f"{_label(field)} reads {text[:FIGURE_CHARACTERS_MAX]!r}; write digits "
            "with a point for decimals, such as 0.5 or 1250, with no exponent, "
            "comma, space or plus sign.",
            field=field,
        )
    return Decimal(text)


def parse_not_negative(text: str, field: str = "") -> Decimal:
    """Return the figure, zero or above. Raises NotAFigure and NegativeFigure."""
    return check_not_negative(parse_decimal(text, field), field)


def check_not_negative(value: Decimal, field: str = "") -> Decimal:
    """Return the value if it is zero or above. Raises NegativeFigure."""
    if value < 0:
        raise NegativeFigure(
            f"{_label(field)} is {value}; it cannot be below zero. Check the sign, "
            "and which figure was taken from which.",
            field=field,
        )
    return value


def grams_per(unit: str, field: str = "") -> Decimal:
    """Return the grams in one of the unit, exactly.

    Raises BareOunce, AmbiguousUnit or UnknownUnit.
    """
    factor = GRAMS_PER_UNIT.get(unit)
    if factor is not None:
        return factor
    written = unit.strip().lower()
    if written in _BARE_OUNCES:
        raise BareOunce(
            f"{unit!r} does not say which ounce: write ozt for troy ounces.",
            field=field,
        )
    if written in _AMBIGUOUS:
        raise AmbiguousUnit(
            f"{unit!r} can mean two units: {_AMBIGUOUS[written]}.", field=field
        )
    raise UnknownUnit(
        f"The unit {unit!r} is not known here; use one of {', '.join(GRAMS_PER_UNIT)}.",
        field=field,
    )


def to_grams(value: Decimal, unit: str) -> Decimal:
    """Return the mass in grams, exactly (never rounded).

    Raises BareOunce, AmbiguousUnit or UnknownUnit.
    """
    return EXACT.multiply(value, grams_per(unit))


def from_grams(value: Decimal, unit: str) -> Decimal:
    """Return grams in the unit: exact where it ends, else to 34 digits half-even.

    Raises BareOunce, AmbiguousUnit or UnknownUnit.
    """
    return quotient(value, grams_per(unit))


def gpt_from_ozt_per_short_ton(grade_ozt_per_short_ton: Decimal) -> Decimal:
    """Return g/t from troy ounces per short ton: times 240/7 exactly."""
    times, over = _GPT_PER_OZT_PER_SHORT_TON
    return quotient(EXACT.multiply(grade_ozt_per_short_ton, times), over)


def ozt_per_short_ton_from_gpt(grade_gpt: Decimal) -> Decimal:
    """Return troy ounces per short ton from g/t: times 7/240 exactly."""
    times, over = _GPT_PER_OZT_PER_SHORT_TON
    return quotient(EXACT.multiply(grade_gpt, over), times)


def permille_from_carat(carat: Decimal) -> Decimal:
    """Return fineness in parts per thousand from carats: 24 carat is 1000.

    Source: ISO 9202 (proportion of 24 parts).
    """
    return quotient(EXACT.multiply(carat, Decimal(1000)), Decimal(24))


def assay_ton_g(ton: str) -> Decimal:
    """Return the assay ton in grams for "short_ton" or "long_ton".

    One milligram of bead from one assay ton is one troy ounce per ton
    (Bugbee, Textbook of Fire Assaying). Raises UnknownUnit for another ton.
    """
    return quotient(_thrice_assay_ton_g(ton), Decimal(3))


def ozt_per_ton_from_bead(*, bead_mg: Decimal, portion_g: Decimal, ton: str) -> Decimal:
    """Return troy ounces per ton from a bead and the portion it came from.

    Source: Beringer, A Text-Book of Assaying, produce table.
    """
    return quotient(
        EXACT.multiply(bead_mg, _thrice_assay_ton_g(ton)),
        EXACT.multiply(portion_g, Decimal(3)),
    )


def _thrice_assay_ton_g(ton: str) -> Decimal:
    """Return three assay tons in grams: unlike one, a figure that ends."""
    thrice = _THRICE_ASSAY_TON_G.get(ton)
    if thrice is None:
        raise UnknownUnit(f"No assay ton for {ton!r}; use short_ton or long_ton.")
    return thrice


def _label(field: str) -> str:
    """Return how a sentence names the field it speaks of."""
    return f"The figure for {field}" if field else "The figure"
