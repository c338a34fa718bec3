"""Findings about what is unlike the last twelve: tails, slag, bars, hopper rises.

A single figure far from its family is a question, not a proof: these are notices.
Only a hopper that rose without a flush, or did not rise with one, is looked at now,
for both readings are signed by two.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from decimal import Decimal

from goldroom.findings.family import LAST, Point, Usual, with_usual
from goldroom.findings.found import EXCEPTION, NOTICE, Found, Threshold
from goldroom.findings.runs import plural

TAILS_ABOVE = "tails_above_usual_s"
OUT_OF_FAMILY = "out_of_family_s"
RISE_WITHIN = "hopper_rise_percent"
HUNDRED = Decimal(100)


def tails_above_usual(
    grades: Iterable[Point], *, above: Threshold, since: str
) -> list[Found]:
    """Return the tails and residues richer than usual, of one kind, in g/t of gold.

    `above` is the limit `tails_above_usual_s`. What is older than `since` (UTC text)
    is history, and not found again.
    """
    return [
        Found(
            code="tails_above_usual",
            level=NOTICE,
            item=each.point.item,
            found=f"{each.point.value} g/t of gold",
            expected=f"{_around(each, 'g/t')}, at most {above} above",
            message=f"{each.point.item} left richer than usual: look at the table or"
            " the leach, and at its sample, before it is gone",
            at=each.point.at,
        )
        for each in with_usual(grades)
        if each.point.at >= since and each.apart > above.value * each.s
    ]


def slag_unusual(
    shares: Iterable[Point], *, within: Threshold, since: str
) -> list[Found]:
    """Return the slags heavier or lighter than usual, in kg to a kilogram charged.

    `within` is the limit `out_of_family_s`.
    """
    return [
        Found(
            code="slag_unusual",
            level=NOTICE,
            item=each.point.item,
            found=f"{each.point.value:.2f} kg of slag to a kg charged",
            expected=f"{_around(each, 'kg/kg')}, within {within}",
            message=f"{each.point.item} is not what such a charge leaves: weigh it"
            " again, look for prills, and ask what else went in or out",
            at=each.point.at,
        )
        for each in with_usual(shares)
        if each.point.at >= since and each.is_beyond(within.value)
    ]


@dataclass(frozen=True, kw_only=True)
class Composition:
    """A pour's bars by their assays, in parts per thousand of the bullion."""

    item: str
    at: str
    gold_permille: Decimal
    silver_permille: Decimal

    @property
    def base_permille(self) -> Decimal:
        """Return what is neither gold nor silver."""
        return 1000 - self.gold_permille - self.silver_permille


def composition_unusual(
    pours: Iterable[Composition], *, within: Threshold, since: str
) -> list[Found]:
    """Return the pours whose silver to gold, or base metal, is unlike the others'.

    One finding for each pour. `within` is the limit `out_of_family_s`.
    """
    known = [each for each in pours if each.gold_permille > 0]
    told: dict[str, tuple[str, list[str], list[str]]] = {}
    for name, unit, values in (
        (
            "silver to gold",
            "g/g",
            {each.item: each.silver_permille / each.gold_permille for each in known},
        ),
        ("base metal", "permille", {each.item: each.base_permille for each in known}),
    ):
        points = [
            Point(item=each.item, at=each.at, value=values[each.item]) for each in known
        ]
        for each in with_usual(points):
            if each.point.at >= since and each.is_beyond(within.value):
                _, found, expected = told.setdefault(
                    each.point.item, (each.point.at, [], [])
                )
                found.append(f"{name} {each.point.value:.3f} {unit}")
                expected.append(f"{name} {_around(each, unit)}")
    return [
        Found(
            code="composition_unusual",
            level=NOTICE,
            item=item,
            found="; ".join(found),
            expected=f"{'; '.join(expected)}; within {within}",
            message=f"the bullion of {item} is not made up like the pours before it:"
            " ask what went into the charge, and have it assayed again",
            at=at,
        )
        for item, (at, found, expected) in told.items()
    ]


@dataclass(frozen=True, kw_only=True)
class Rise:
    """What came into a hopper between two readings at the same water level.

    `resolution_g` is what its cells can tell apart, in grams of dry solids.
    """

    load: str
    hopper: str
    flushes: int
    dry_g: Decimal
    resolution_g: Decimal
    at: str


def rises_without_flush(rises: Iterable[Rise], *, since: str) -> list[Found]:
    """Return the rises that no flush explains, and the flushes that raised nothing.

    The threshold is what the cells can tell apart, `hopper_fall_intervals` divisions.
    """
    found = []
    for each in rises:
        has_risen = each.dry_g > each.resolution_g
        if each.at < since or has_risen == bool(each.flushes):
            continue
        found.append(_raised_by_nothing(each) if has_risen else _raised_nothing(each))
    return found


def _raised_by_nothing(rise: Rise) -> Found:
    return Found(
        code="rise_without_flush",
        level=EXCEPTION,
        item=rise.load,
        found=f"{_kg(rise.dry_g)} of dry solids, no flush",
        expected="a flush on the signed sheet since the reading before",
        message=f"{rise.hopper} rose and no flush says why: compare the unit's counter"
        " with the sheet, and ask what was put in",
        at=rise.at,
    )


def _raised_nothing(rise: Rise) -> Found:
    return Found(
        code="flush_without_rise",
        level=EXCEPTION,
        item=rise.load,
        found=f"{_kg(rise.dry_g)} of dry solids from"
        f" {rise.flushes} {plural('flush', rise.flushes)}",
        expected=f"a rise beyond {_kg(rise.resolution_g)}, which the cells can tell"
        " apart",
        message=f"flushes raised nothing in {rise.hopper}: look where they went, and"
        " read the cells at the same mark again",
        at=rise.at,
    )


def _kg(grams: Decimal) -> str:
    return f"{(grams / 1000).normalize():f} kg"


def rises_unusual(
    rises: Iterable[Rise], *, percent: Threshold, within: Threshold, since: str
) -> list[Found]:
    """Return the rises that are not what so many flushes usually bring.

    In kg to a flush, beside the last twelve of the same hopper: beyond both limits,
    `hopper_rise_percent` and `out_of_family_s`, for either alone cries wolf.
    """
    by_hopper: dict[str, list[Rise]] = {}
    for each in rises:
        if each.flushes:
            by_hopper.setdefault(each.hopper, []).append(each)
    found = []
    for hopper, known in sorted(by_hopper.items()):
        points = [
            Point(item=each.load, at=each.at, value=each.dry_g / 1000 / each.flushes)
            for each in known
        ]
        for usual in with_usual(points):
            is_far = abs(usual.apart) * HUNDRED > percent.value * usual.mean
            if usual.point.at >= since and is_far and usual.is_beyond(within.value):
                found.append(_rise_unusual(hopper, usual, percent, within))
    return found


def _rise_unusual(
    hopper: str, usual: Usual, percent: Threshold, within: Threshold
) -> Found:
    side = "less" if usual.apart < 0 else "more"
    return Found(
        code="hopper_rise_unusual",
        level=NOTICE,
        item=usual.point.item,
        found=f"{usual.point.value:.2f} kg to a flush",
        expected=f"{_around(usual, 'kg')}, within {percent} and {within}",
        message=f"{hopper} rose by {side} than its flushes usually bring: ask about"
        " short flushes, the water level and the cells",
        at=usual.point.at,
    )


def _around(usual: Usual, unit: str) -> str:
    """Return the family in words: the mean of the last twelve and their spread."""
    return f"{usual.mean:.3f} ± {usual.s:.3f} {unit}, mean and s of the last {LAST}"
