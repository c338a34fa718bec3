"""Check characters by ISO/IEC 7064: a slip of the pen shows in the number itself.

A *pure* system has a modulus M and a radix r; the characters a, the check characters
last, weigh falling powers of r and must leave 1:

    sum(a(i) x r^(i-1)) = 1  mod M              i counted from the right

A *hybrid* system has the moduli M and M + 1, M the size of its alphabet:

    p = M;  for each a:  s = (p + a) mod M, M in place of 0;  p = 2 s mod (M + 1)
    check: (p + a) = 1  mod M

Ids of samples, seals and bars are letters and digits, and people read them off
envelopes and write them by hand; so they use MOD 37,36. Its check character is itself
one letter or digit: MOD 37-2 may need an asterisk, which no id here may hold, and
the numeric systems know no letters. It is a single character, so numbers stay short.
It finds every wrong character, and every swap of two unlike neighbours but those of
one pair in 630 (which pair depends on what stands before). The separators of an id
(dash, dot, underscore) do not count, nor does the case of its letters.
"""

from dataclasses import dataclass
from string import ascii_uppercase, digits

from goldroom.errors import NotInAlphabet

LETTERS_AND_DIGITS = digits + ascii_uppercase
SEPARATORS = str.maketrans("", "", "-._")


@dataclass(frozen=True, kw_only=True)
class CheckSystem:
    """A system of the standard.

    `checks` are the characters that a check character may be, those that a number
    may hold first (`alphabet`); `length` is how many check characters it has, `radix`
    is None for a hybrid one. Two check characters are a number of 02 to 98.
    """

    name: str
    modulus: int
    radix: int | None
    alphabet: str
    checks: str
    length: int = 1


MOD_11_2 = CheckSystem(
    name="MOD 11-2", modulus=11, radix=2, alphabet=digits, checks=digits + "X"
)
MOD_37_2 = CheckSystem(
    name="MOD 37-2",
    modulus=37,
    radix=2,
    alphabet=LETTERS_AND_DIGITS,
    checks=LETTERS_AND_DIGITS + "*",
)
MOD_97_10 = CheckSystem(
    name="MOD 97-10", modulus=97, radix=10, alphabet=digits, checks=digits, length=2
)
MOD_11_10 = CheckSystem(
    name="MOD 11,10", modulus=10, radix=None, alphabet=digits, checks=digits
)
MOD_37_36 = CheckSystem(
    name="MOD 37,36",
    modulus=36,
    radix=None,
    alphabet=LETTERS_AND_DIGITS,
    checks=LETTERS_AND_DIGITS,
)


def check_characters(system: CheckSystem, text: str) -> str:
    """Return the check characters that a number gets at its end.

    Raises NotInAlphabet.
    """
    left = _left(system, text)
    if system.radix is None:
        return system.checks[(1 - left) % system.modulus]
    if system.length == 1:
        return system.checks[(1 - left) % system.modulus]
    check = system.modulus + 1 - left * system.radix % system.modulus
    first, second = divmod(check, system.radix)
    return system.checks[first] + system.checks[second]


def holds(system: CheckSystem, text: str) -> bool:
    """Return whether a number with its check characters is whole.

    Raises NotInAlphabet where the number itself, without them, holds another
    character than the system knows.
    """
    number, check = text[: -system.length], text[-system.length :]
    return bool(number) and check_characters(system, number) == check


def id_check_character(text: str) -> str:
    """Return the check character of an id that stands without it."""
    return check_characters(MOD_37_36, _bare(text))


def id_holds(text: str) -> bool:
    """Return whether an id's last letter or digit is its check character."""
    return holds(MOD_37_36, _bare(text))


def _bare(text: str) -> str:
    return text.translate(SEPARATORS).upper()


def _left(system: CheckSystem, text: str) -> int:
    """Return what the characters have come to, before the check character is added."""
    left = system.modulus if system.radix is None else 0
    for character in text:
        value = system.alphabet.find(character)
        if value < 0:
            raise NotInAlphabet(
                f"found {character!r} in {text!r}; {system.name} knows"
                f" {system.alphabet} only. Read the number again.",
            )
        if system.radix is None:
            total = (left + value) % system.modulus or system.modulus
            left = total * 2 % (system.modulus + 1)
        else:
            left = (left + value) * system.radix % system.modulus
    return left
