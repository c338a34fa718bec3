"""Words that sentences of the journal share."""

from collections.abc import Sequence
from datetime import datetime
from decimal import Decimal

from goldroom.metal.rounding import MILLIGRAM, half_even


def listed(words: Sequence[str]) -> str:
    """Return words as a list read aloud: "a, b and c"."""
    if len(words) < 2:
        return "".join(words)
    return f"{', '.join(words[:-1])} and {words[-1]}"


def wall_clock(moment: datetime) -> str:
    """Return a time as the signers wrote it, to the minute."""
    return moment.strftime("%Y-%m-%d %H:%M")


def ended(words: str) -> str:
    """Return people's own words, ended with a full stop if they did not end them."""
    return words if words.endswith((".", "!", "?")) else f"{words}."


def plain(figure: Decimal) -> str:
    """Return a worked-out figure without the zeros that no reading stands behind."""
    text = format(figure, "f")
    return text.rstrip("0").rstrip(".") if "." in text else text


def kilograms(grams: Decimal) -> str:
    """Return a mass of tens of kilograms and more, to a tenth of one: "1309.0 kg"."""
    return f"{half_even(grams / 1000, Decimal('0.1'))} kg"


def with_spread(grams: Decimal, u_g: Decimal, metal: str) -> str:
    """Return an amount of metal to the place of its uncertainty's second digit."""
    if not u_g:
        return f"{grams} g of {metal}"
    said = Decimal(1).scaleb(int(u_g.as_tuple().exponent))
    step = max(Decimal(1).scaleb(u_g.adjusted() - 1), said, MILLIGRAM)
    shown, spread = (_on(each, step) for each in (grams, u_g))
    return f"{shown} g of {metal} (± {spread})"


def _on(figure: Decimal, step: Decimal) -> str:
    """Return a figure rounded to a step, which may be tens or hundreds."""
    rounded = half_even(figure / step, Decimal(1)) * step
    return format(rounded.quantize(min(step, Decimal(1))), "f")


def used_before(times: int) -> str:
    """Return how often a crucible was used before: "never used before"."""
    if times == 0:
        return "never used before"
    return "used once before" if times == 1 else f"used {times} times before"
