"""Units: every factor against NIST Handbook 44, every ambiguous name refused."""

from decimal import Decimal
from fractions import Fraction

import pytest

from goldroom.errors import (
    AmbiguousUnit,
    BareOunce,
    NegativeFigure,
    NotAFigure,
    UnknownUnit,
)
from goldroom.metal import units

source = pytest.mark.source
NIST = "NIST Handbook 44 (2026) Appendix C"


@pytest.mark.parametrize(
    ("unit", "grams"),
    [
        pytest.param("lb", "453.59237", marks=source(f"{NIST}; seen")),
        pytest.param("ozav", "28.349523125", marks=source(f"{NIST}; seen")),
        pytest.param("ozt", "31.1034768", marks=source(f"{NIST}; seen")),
        pytest.param("grain", "0.06479891", marks=source(f"{NIST}; seen")),
        pytest.param("dwt", "1.55517384", marks=source(f"{NIST}; from memory")),
        pytest.param("troy_lb", "373.2417216", marks=source(f"{NIST}; from memory")),
        pytest.param("short_ton", "907184.74", marks=source(f"{NIST}; seen")),
        pytest.param("long_ton", "1016046.9088", marks=source(f"{NIST}; from memory")),
        pytest.param(
            "tola",
            "11.6638038",
            marks=source("bullion weight tables, 180 grains; seen"),
        ),
        pytest.param("kg", "1000", marks=source("SI Brochure, 9th ed.; from memory")),
        pytest.param("mg", "0.001", marks=source("SI Brochure, 9th ed.; from memory")),
        pytest.param("t", "1000000", marks=source("SI Brochure, 9th ed.; from memory")),
    ],
)
def test_one_of_each_unit_is_this_many_grams_exactly(unit, grams):
    assert units.to_grams(Decimal(1), unit) == Decimal(grams)
    assert units.from_grams(Decimal(grams), unit) == 1


@pytest.mark.parametrize(
    ("unit", "part", "count"),
    [
        pytest.param("lb", "grain", 7000, marks=source(f"{NIST}: lb = 7000 gr; seen")),
        pytest.param("lb", "ozav", 16, marks=source(f"{NIST}: lb = 16 oz; seen")),
        pytest.param(
            "ozt", "grain", 480, marks=source(f"{NIST}: oz t = 480 gr; from memory")
        ),
        pytest.param(
            "dwt", "grain", 24, marks=source(f"{NIST}: dwt = 24 gr; from memory")
        ),
        pytest.param(
            "troy_lb", "ozt", 12, marks=source(f"{NIST}: 12 oz t; from memory")
        ),
        pytest.param(
            "short_ton", "lb", 2000, marks=source(f"{NIST}: 2000 lb; from memory")
        ),
        pytest.param(
            "long_ton", "lb", 2240, marks=source(f"{NIST}: 2240 lb; from memory")
        ),
        pytest.param("tola", "grain", 180, marks=source("tola = 180 grains; seen")),
    ],
)
def test_units_are_whole_multiples_of_each_other_exactly(unit, part, count):
    assert units.to_grams(Decimal(1), unit) == units.to_grams(Decimal(count), part)


def test_troy_ounce_is_12_175ths_of_a_pound():
    """UK Weights and Measures Act 1985; seen as a quotation."""
    pound = Fraction(units.to_grams(Decimal(1), "lb"))
    ounce = Fraction(units.to_grams(Decimal(1), "ozt"))
    assert ounce == pound * 12 / 175


@pytest.mark.parametrize(
    ("mass", "unit", "other", "expected"),
    [
        pytest.param(
            "1", "kg", "ozt", "32.150746568627980522", marks=source("own example")
        ),
        pytest.param(
            "1", "t", "ozt", "32150.746", marks=source("published rounding; seen")
        ),
        pytest.param(
            "1", "ozt", "ozav", "1.097142857142857", marks=source("own example")
        ),
        pytest.param(
            "1",
            "short_ton",
            "ozt",
            "29166.66",
            marks=source("published rounding; seen"),
        ),
        pytest.param("1", "long_ton", "ozt", "32666.6666", marks=source("own example")),
        pytest.param(
            "10", "tola", "g", "116.638038", marks=source("ten-tola bar; seen")
        ),
        pytest.param(
            "10", "tola", "ozt", "3.75", marks=source("bullion weight tables; seen")
        ),
    ],
)
def test_conversions_between_units_agree_to_every_printed_digit(
    mass, unit, other, expected
):
    converted = units.from_grams(units.to_grams(Decimal(mass), unit), other)
    assert str(converted).startswith(expected)


@pytest.mark.parametrize(
    ("wrong_g", "why"),
    [
        ("31.1034807", "a public page"),
        ("31.103487", "a public page"),
        ("31.1", "a short form"),
        ("31.103", "a short form"),
    ],
)
def test_wrong_troy_ounces_that_circulate_are_not_ours(wrong_g, why):
    assert units.to_grams(Decimal(1), "ozt") != Decimal(wrong_g), why


def test_thousand_troy_ounces_are_not_31_3_kg():
    """A conversion page prints 31.3 kg; the exact mass is 31.1034768 kg."""
    assert units.to_grams(Decimal(1000), "ozt") == Decimal("31103.4768")


@pytest.mark.parametrize(
    ("grade", "expected"),
    [
        pytest.param(
            "1", "34.285", marks=source("grade conversion table, printed; seen")
        ),
        pytest.param("0.5", "17.142857142857", marks=source("own example")),
    ],
)
def test_ounces_per_short_ton_become_grams_per_tonne(grade, expected):
    converted = units.gpt_from_ozt_per_short_ton(Decimal(grade))
    assert str(converted).startswith(expected)


def test_one_gram_per_tonne_in_ounces_per_short_ton():
    """7/240 exactly; 0.029167 printed in conversion tables, seen."""
    converted = units.ozt_per_short_ton_from_gpt(Decimal(1))
    assert round(converted, 6) == Decimal("0.029167")
    assert units.ozt_per_short_ton_from_gpt(Decimal(240)) == 7
    assert units.gpt_from_ozt_per_short_ton(Decimal(7)) == 240


@pytest.mark.parametrize(
    ("carat", "permille"),
    [
        pytest.param("24", "1000", marks=source("ISO 9202; seen")),
        pytest.param("22", "916.6667", marks=source("ISO 9202; seen")),
        pytest.param("18", "750", marks=source("ISO 9202; seen")),
        pytest.param("14", "583.3333", marks=source("ISO 9202; seen")),
        pytest.param("9", "375", marks=source("ISO 9202; seen")),
    ],
)
def test_carats_become_parts_per_thousand(carat, permille):
    found = units.permille_from_carat(Decimal(carat))
    assert round(found, 4) == Decimal(permille)


@pytest.mark.parametrize(
    ("ton", "grams"),
    [
        pytest.param("short_ton", "29.166667", marks=source("Bugbee; from memory")),
        pytest.param("long_ton", "32.666667", marks=source("Beringer; seen")),
    ],
)
def test_assay_ton_has_this_many_grams(ton, grams):
    assert round(units.assay_ton_g(ton), 6) == Decimal(grams)


@pytest.mark.parametrize(
    ("bead_mg", "portion_g", "ton", "ounces"),
    [
        pytest.param("100", "20", "long_ton", "163.33", marks=source("Beringer; seen")),
        pytest.param(
            "7342", "1000", "long_ton", "239.84", marks=source("Beringer; seen")
        ),
        pytest.param("87.5", "87.5", "short_ton", "29.17", marks=source("own example")),
    ],
)
def test_bead_and_portion_give_ounces_per_ton(bead_mg, portion_g, ton, ounces):
    found = units.ozt_per_ton_from_bead(
        bead_mg=Decimal(bead_mg), portion_g=Decimal(portion_g), ton=ton
    )
    assert round(found, 2) == Decimal(ounces)


@pytest.mark.parametrize("text", ["0", "12.50", "-3.2", "0.0005", "100000.000"])
def test_plain_figures_are_read_exactly_as_written(text):
    assert str(units.parse_decimal(text)) == text


@pytest.mark.parametrize(
    "text",
    [
        "",
        ".5",
        "5.",
        "+5",
        "-0",
        "-0.00",
        "05",
        "1e3",
        "1E3",
        "1,5",
        "1 000",
        " 1",
        "1\n",
        "NaN",
        "Infinity",
        "0x10",
        "1_000",
        "٣",
        "½",
        "9" * 41,
    ],
)
def test_anything_but_a_plain_figure_is_refused_at_its_field(text):
    with pytest.raises(NotAFigure) as refused:
        units.parse_decimal(text, "gross")
    assert refused.value.field == "gross"
    assert refused.value.code == "not_a_figure"
    assert str(refused.value) == refused.value.message


@pytest.mark.parametrize("number", [0.1, 12, Decimal("1.5"), None])
def test_a_number_that_is_not_text_is_refused(number):
    with pytest.raises(NotAFigure, match="must arrive as text"):
        units.parse_decimal(number)


def test_negative_mass_is_refused_and_zero_is_not():
    assert units.parse_not_negative("0", "net") == 0
    with pytest.raises(NegativeFigure) as refused:
        units.parse_not_negative("-0.001", "net")
    assert refused.value.field == "net"


@pytest.mark.parametrize("unit", ["oz", "OZ", "Oz.", "ounce", "ounces", " oz "])
def test_bare_ounce_is_refused_with_what_to_write_instead(unit):
    with pytest.raises(BareOunce, match="write ozt for troy ounces") as refused:
        units.to_grams(Decimal(1), unit)
    assert refused.value.code == "bare_ounce"


@pytest.mark.parametrize("unit", ["gr", "ton", "tons", "pound"])
def test_unit_with_two_meanings_is_refused(unit):
    with pytest.raises(AmbiguousUnit, match="write"):
        units.to_grams(Decimal(1), unit)


@pytest.mark.parametrize("unit", ["", "stone", "KG", "Ozt", "grams"])
def test_unknown_unit_is_refused_with_the_list(unit):
    with pytest.raises(UnknownUnit, match="use one of mg, g, kg"):
        units.from_grams(Decimal(1), unit)


def test_unknown_assay_ton_is_refused():
    with pytest.raises(UnknownUnit, match="short_ton or long_ton"):
        units.assay_ton_g("t")


def test_every_unit_has_a_name_for_sentences():
    assert set(units.UNIT_NAMES) == set(units.GRAMS_PER_UNIT)


def test_conversion_of_a_long_figure_loses_no_digit():
    text = "123456789012345.123456789012345"
    grams = units.to_grams(units.parse_decimal(text), "ozt")
    assert Fraction(grams) == Fraction(text) * Fraction("31.1034768")
