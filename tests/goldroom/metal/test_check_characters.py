"""Check characters against published numbers, a reference library, and every slip.

The library is the test-only package python-stdnum, which implements the standard
apart from us. The last cases show, with its help, why the usual digits for cards and
goods were not chosen.
"""

import random
from itertools import pairwise, product

import pytest
from stdnum import damm, ean, luhn, verhoeff
from stdnum.iso7064 import mod_11_2, mod_11_10, mod_37_2, mod_37_36, mod_97_10

from goldroom.errors import NotInAlphabet
from goldroom.metal.check_characters import (
    LETTERS_AND_DIGITS,
    MOD_11_2,
    MOD_11_10,
    MOD_37_2,
    MOD_37_36,
    MOD_97_10,
    check_characters,
    holds,
    id_check_character,
    id_holds,
)

source = pytest.mark.source
LIBRARY = "python-stdnum, stdnum.iso7064, worked numbers; seen"


@pytest.mark.parametrize(
    ("system", "number", "check"),
    [
        pytest.param(MOD_11_2, "0794", "0", marks=source(LIBRARY)),
        pytest.param(MOD_11_2, "079", "X", marks=source(LIBRARY)),
        pytest.param(
            MOD_11_2,
            "000000021825009",
            "7",
            marks=source("ORCID, structure of the identifier, example; from memory"),
        ),
        pytest.param(MOD_37_2, "G123489654321", "Y", marks=source(LIBRARY)),
        pytest.param(MOD_97_10, "4354111611551114", "31", marks=source(LIBRARY)),
        pytest.param(
            MOD_97_10, "794", "44", marks=source("ISO/IEC 7064, example; from memory")
        ),
        pytest.param(MOD_11_10, "79462", "3", marks=source(LIBRARY)),
        pytest.param(MOD_37_36, "A12425GABC1234002", "M", marks=source(LIBRARY)),
    ],
)
def test_published_numbers_get_their_check_characters(system, number, check):
    assert check_characters(system, number) == check
    assert holds(system, number + check)


ORACLES = {
    MOD_11_2: mod_11_2.calc_check_digit,
    MOD_37_2: mod_37_2.calc_check_digit,
    MOD_97_10: mod_97_10.calc_check_digits,
    MOD_11_10: mod_11_10.calc_check_digit,
    MOD_37_36: mod_37_36.calc_check_digit,
}


@pytest.mark.parametrize(
    "system",
    [
        pytest.param(
            system,
            id=system.name,
            marks=source(f"python-stdnum, stdnum.iso7064, {system.name}"),
        )
        for system in ORACLES
    ],
)
def test_every_system_agrees_with_the_library_on_a_thousand_numbers(system):
    draw = random.Random(7064)
    for _ in range(1000):
        length = draw.randint(1, 14)
        number = "".join(draw.choices(system.alphabet, k=length))
        check = check_characters(system, number)
        assert check == ORACLES[system](number), number
        assert holds(system, number + check)


@pytest.mark.parametrize("system", [MOD_11_2, MOD_97_10, MOD_11_10])
def test_a_letter_in_a_numeric_system_is_refused(system):
    with pytest.raises(NotInAlphabet, match="Read the number again"):
        check_characters(system, "12A4")


def test_nothing_but_check_characters_is_no_number():
    assert not holds(MOD_37_36, "1")
    assert not holds(MOD_97_10, "01")


def test_separators_and_case_of_an_id_do_not_count():
    check = id_check_character("E-0041")
    assert check == id_check_character("e0041") == id_check_character("E_00.41")
    assert id_holds(f"E-0041{check}")
    assert id_holds(f"e-0041{check.lower()}")
    assert not id_holds(f"E-0042{check}")


def ids(count: int = 200) -> list[str]:
    """Return random ids with their check character: a prefix and four digits."""
    draw = random.Random(36)
    made = []
    for _ in range(count):
        prefix = "".join(draw.choices(LETTERS_AND_DIGITS, k=draw.randint(1, 4)))
        number = f"{prefix}{draw.randrange(10_000):04d}"
        made.append(number + id_check_character(number))
    return made


def test_every_wrong_character_of_two_hundred_ids_is_caught():
    tried = 0
    for whole in ids():
        for place, other in product(range(len(whole)), LETTERS_AND_DIGITS):
            if whole[place] != other:
                tried += 1
                spoiled = whole[:place] + other + whole[place + 1 :]
                assert not id_holds(spoiled), (whole, spoiled)
    assert tried > 50_000


def swapped(number: str, place: int) -> str:
    """Return the number with two neighbours changed about."""
    return number[:place] + number[place + 1] + number[place] + number[place + 2 :]


def test_swaps_of_neighbours_of_two_hundred_ids_are_caught_but_for_those_counted():
    """The exceptions are counted as found: none of our making is hidden."""
    tried = 0
    missed = []
    for whole in ids():
        for place in range(len(whole) - 1):
            if whole[place] != whole[place + 1]:
                tried += 1
                other = swapped(whole, place)
                missed += [(whole, other)] if id_holds(other) else []
    assert tried == 1251
    assert len(missed) == 4, missed
    assert all(mod_37_36.is_valid(other) for _, other in missed)


@pytest.mark.parametrize("start", ["", *LETTERS_AND_DIGITS])
def test_after_any_beginning_the_swaps_of_one_pair_pass_and_no_other(start):
    """The 36 beginnings of one character and none leave every state there is."""
    missed = []
    for first, second in product(LETTERS_AND_DIGITS, repeat=2):
        number = start + first + second
        whole = number + check_characters(MOD_37_36, number)
        if first != second and holds(MOD_37_36, swapped(whole, len(start))):
            missed.append({first, second})
    assert len(missed) == 2
    assert missed[0] == missed[1]


@pytest.mark.source("ISO/IEC 7064: check characters of the systems; from memory")
def test_a_check_by_mod_37_2_may_be_an_asterisk_and_by_mod_37_36_never():
    numbers = [f"E{n:04d}" for n in range(2000)]
    assert any(check_characters(MOD_37_2, each) == "*" for each in numbers)
    found = {check_characters(MOD_37_36, each) for each in numbers}
    assert found <= set(LETTERS_AND_DIGITS)


# Why not the others: their published rows, and what passes them by.


@pytest.mark.parametrize(
    ("scheme", "number", "digit"),
    [
        pytest.param(luhn, "7894", "9", marks=source("python-stdnum, stdnum.luhn")),
        pytest.param(
            luhn,
            "7992739871",
            "3",
            marks=source("ISO/IEC 7812-1, worked number in common use; from memory"),
        ),
        pytest.param(
            verhoeff, "1234", "0", marks=source("python-stdnum, stdnum.verhoeff")
        ),
        pytest.param(
            verhoeff, "236", "3", marks=source("Verhoeff, textbook case; from memory")
        ),
        pytest.param(damm, "572", "4", marks=source("python-stdnum, stdnum.damm")),
        pytest.param(
            ean, "629104150021", "3", marks=source("GS1, how to work a check digit")
        ),
    ],
)
def test_the_library_gives_other_schemes_their_published_digits(scheme, number, digit):
    assert scheme.calc_check_digit(number) == digit


@pytest.mark.source("python-stdnum, stdnum.luhn and stdnum.damm")
def test_luhn_lets_09_and_90_change_places_where_mod_37_36_does_not():
    assert luhn.checksum("0907") == luhn.checksum("9007")
    assert damm.checksum("0907") != damm.checksum("9007")
    assert id_check_character("0907") != id_check_character("9007")


@pytest.mark.source("python-stdnum, stdnum.ean, weights 3 and 1")
def test_goods_digit_lets_neighbours_five_apart_change_places():
    assert ean.calc_check_digit("1600") == ean.calc_check_digit("6100")
    assert id_check_character("1600") != id_check_character("6100")


def test_mod_37_36_catches_what_those_let_pass_in_every_number_of_four_digits():
    for n in range(10_000):
        number = f"{n:04d}"
        for place, (first, second) in enumerate(pairwise(number)):
            if abs(int(first) - int(second)) in (5, 9):
                other = swapped(number, place)
                assert id_check_character(number) != id_check_character(other)
