"""Findings about mine against refinery, melt by melt.

One melt may differ by either's own errors. Several running that differ the same way
tell of something lasting: a balance, a drill, a laboratory, or a hand. (Common
practice, no source.)
"""

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from decimal import Decimal

from goldroom.findings.family import same_side
from goldroom.findings.found import NOTICE, Found, Threshold

SPLITTING = {"gold": "splitting_gold_percent", "silver": "splitting_silver_percent"}
BIAS = "refinery_bias_percent"
RUNNING = 8
"""Melts in a row that differ the same way before it is noticed."""

PERMILLE_PER_PERCENT = 10


@dataclass(frozen=True, kw_only=True)
class MeltOfBoth:
    """A refinery melt as mine and refinery have it; None where one did not say.

    Masses are of the bars together, in grams; finenesses in parts per thousand, those
    exchanged where `is_exchanged`, else each side's own.
    """

    melt: str
    refinery: str
    at: str
    mine_g: Decimal | None
    refinery_g: Decimal | None
    mine_permille: dict[str, Decimal]
    refinery_permille: dict[str, Decimal]
    is_exchanged: bool

    @property
    def mass_percent(self) -> Decimal | None:
        """Return by how much the refinery's mass is above the mine's, in per cent."""
        if not self.mine_g or self.refinery_g is None:
            return None
        return 100 * (self.refinery_g - self.mine_g) / self.mine_g

    def assay_percent(self, metal: str) -> Decimal | None:
        """Return the refinery's fineness less the mine's, in parts per hundred."""
        mine, refinery = self.mine_permille, self.refinery_permille
        if metal not in mine or metal not in refinery:
            return None
        return (refinery[metal] - mine[metal]) / PERMILLE_PER_PERCENT


def assays_apart(
    melts: Iterable[MeltOfBoth], *, gold: Threshold, silver: Threshold, since: str
) -> list[Found]:
    """Return the melts whose exchanged assays are further apart than the limit.

    One finding for each melt. Where none were exchanged the mine has only its own
    bars' quick figures, which no splitting limit is meant for. Limits
    `splitting_gold_percent` and `splitting_silver_percent`, in parts per hundred of
    the bullion.
    """
    found = []
    for each in melts:
        beyond = [
            (metal, apart, within)
            for metal, within in (("gold", gold), ("silver", silver))
            if (apart := each.assay_percent(metal)) is not None
            and abs(apart) > within.value
        ]
        if beyond and each.is_exchanged and each.at >= since:
            found.append(
                Found(
                    code="assays_apart",
                    level=NOTICE,
                    item=each.melt,
                    found="; ".join(
                        f"{metal} {each.mine_permille[metal]} permille by the mine,"
                        f" {each.refinery_permille[metal]} by {each.refinery}"
                        for metal, _, _ in beyond
                    ),
                    expected="; ".join(
                        f"{metal} within {within} of each other"
                        for metal, _, within in beyond
                    ),
                    message=f"mine and refinery assay {each.melt} differently: see that"
                    " both drew their sample the same way, then call the umpire",
                    at=each.at,
                )
            )
    return found


def masses_one_way(melts: Iterable[MeltOfBoth]) -> list[Found]:
    """Return the refineries whose last eight masses all differ the same way.

    The threshold is eight in a row; one finding for each refinery.
    """
    return [
        Found(
            code="refinery_mass_one_way",
            level=NOTICE,
            item=refinery,
            found=f"{_side(mean)} than the mine in each of {_names(last)}, by"
            f" {abs(mean):.3f} % on the mean",
            expected=f"now more, now less: not {RUNNING} the same way running",
            message=f"what {refinery} weighs keeps differing the same way: have both"
            " balances checked with the same weight",
            at=last[-1].at,
        )
        for refinery, last, mean in _one_way(melts, lambda each: each.mass_percent)
    ]


def assays_one_way(melts: Iterable[MeltOfBoth], *, within: Threshold) -> list[Found]:
    """Return the refineries whose last eight gold assays lean one way, and how far.

    Found where all lie on one side of the mine's and their mean is beyond `within`,
    the limit `refinery_bias_percent`.
    """
    return [
        Found(
            code="refinery_assay_one_way",
            level=NOTICE,
            item=refinery,
            found=f"{_side(mean)} gold than the mine in each of {_names(last)}, by"
            f" {abs(mean):.3f} % on the mean",
            expected=f"a mean within {within}, and not {RUNNING} the same way running",
            message=f"the gold assays of {refinery} keep differing the same way: send"
            " both laboratories the same known alloy",
            at=last[-1].at,
        )
        for refinery, last, mean in _one_way(
            melts, lambda each: each.assay_percent("gold")
        )
        if abs(mean) > within.value
    ]


def _one_way(
    melts: Iterable[MeltOfBoth], figure: Callable[[MeltOfBoth], Decimal | None]
) -> Iterable[tuple[str, Sequence[MeltOfBoth], Decimal]]:
    """Yield the refineries whose last melts all differ one way, those, their mean."""
    known: dict[str, list[tuple[MeltOfBoth, Decimal]]] = {}
    for each in sorted(melts, key=lambda one: (one.at, one.melt)):
        value = figure(each)
        if value is not None:
            known.setdefault(each.refinery, []).append((each, value))
    for refinery, pairs in sorted(known.items()):
        values = [value for _, value in pairs][-RUNNING:]
        if same_side(values, RUNNING):
            mean = sum(values, Decimal(0)) / RUNNING
            yield refinery, [each for each, _ in pairs[-RUNNING:]], mean


def _names(melts: Iterable[MeltOfBoth]) -> str:
    return ", ".join(each.melt for each in melts)


def _side(mean: Decimal) -> str:
    return "less" if mean < 0 else "more"
