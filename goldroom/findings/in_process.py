"""Findings about gold in process and counts as a whole: what single limits let pass."""

from collections.abc import Iterable
from dataclasses import dataclass
from decimal import Decimal

from goldroom.findings.found import EXCEPTION, NOTICE, Found, Threshold
from goldroom.findings.runs import in_words

OTHER_SHARE = "in_process_other_percent"
COUNT_PPM = "count_together_ppm"
OTHER_SORTS = ("sweepings", "other")
MILLION = Decimal(1_000_000)


@dataclass(frozen=True, kw_only=True)
class InProcess:
    """Something held before the vault, with its fine gold; None while unknown."""

    item: str
    sort: str
    gold_g: Decimal | None
    held_from: str


def other_share_high(held: Iterable[InProcess], *, at_most: Threshold) -> list[Found]:
    """Return a finding if too much of the gold in process is sweepings and the like.

    `at_most` is the limit `in_process_other_percent`. What nobody knows the gold of is
    in neither sum.
    """
    known = [each for each in held if each.gold_g]
    whole_g = sum((each.gold_g or Decimal(0) for each in known), Decimal(0))
    other = [each for each in known if each.sort in OTHER_SORTS]
    other_g = sum((each.gold_g or Decimal(0) for each in other), Decimal(0))
    if not other or 100 * other_g <= at_most.value * whole_g:
        return []
    newest = max(other, key=lambda each: (each.held_from, each.item))
    return [
        Found(
            code="other_share_high",
            level=NOTICE,
            item=newest.item,
            found=f"{other_g:.0f} g of {whole_g:.0f} g of gold in process"
            f" ({100 * other_g / whole_g:.0f} %) in"
            f" {in_words(each.item for each in other)}",
            expected=f"at most {at_most}",
            message="much of the gold in process is sweepings and other things that"
            " nobody can trace: weigh, assay and smelt them",
            at=newest.held_from,
        )
    ]


@dataclass(frozen=True, kw_only=True)
class CountTogether:
    """What the bars of a count weighed together, less the book, and the throughput.

    `throughput_g` is the bullion poured in the month before the count.
    """

    count: str
    at: str
    bars: tuple[str, ...]
    difference_g: Decimal
    throughput_g: Decimal


def counts_apart_together(
    counts: Iterable[CountTogether], *, within: Threshold
) -> list[Found]:
    """Return the counts whose small differences add up against what was poured.

    Each bar may pass by itself. `within` is the limit `count_together_ppm`, in parts
    of a million of the month's throughput.
    """
    found = []
    for each in counts:
        if abs(each.difference_g) * MILLION > within.value * each.throughput_g:
            side = "lighter" if each.difference_g < 0 else "heavier"
            found.append(
                Found(
                    code="count_apart_together",
                    level=EXCEPTION,
                    item=each.count,
                    found=f"{abs(each.difference_g)} g {side} than the book over"
                    f" {in_words(each.bars)}",
                    expected=f"within {within} of the {each.throughput_g} g poured in"
                    " the month before",
                    message="the bars counted differ from the book by more together"
                    " than weighing explains: check the balance, then weigh them again",
                    at=each.at,
                )
            )
    return found
