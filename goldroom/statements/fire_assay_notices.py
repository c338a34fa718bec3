"""What a fire assay's worksheet shows beside its result: findings, never refusals.

Duplicates and proofs are held against limits that a site may set; the rest are the
standard's ways of working (ISO 11426), told together in one finding a sample.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from decimal import Decimal

from goldroom.custody.act import Act
from goldroom.custody.notices import notice
from goldroom.custody.records import Record
from goldroom.custody.state import State
from goldroom.metal import cupellation
from goldroom.metal.cupellation import (
    FINE_GOLD_PERMILLE,
    LEAST_PORTIONS,
    SCOPE_PERMILLE,
    Portion,
    Proof,
    gold_gains_mg,
    is_in_scope,
    is_over_the_whole,
    is_usual_surcharge,
    silver_gains_mg,
    silver_to_add_mg,
    silver_wanted_mg,
)
from goldroom.metal.determinations import HUNDRED, mean, spread, spread_percent
from goldroom.metal.rounding import half_even
from goldroom.statements.limits import limit_value
from goldroom.statements.results import UNIT_WORDS, over_the_whole
from goldroom.statements.wording import listed

SHOWN_MG = Decimal("0.01")
SHOWN = Decimal("0.001")


@dataclass(frozen=True, kw_only=True)
class Worked:
    """What a sample's portions come to: each one's gold, and the means reported."""

    sample: str
    item: str
    unit: str
    is_white: bool
    portions: tuple[Portion, ...]
    golds: tuple[Decimal, ...]
    gold: Decimal
    silver: Decimal
    base: Decimal | None

    def metals(self) -> Iterator[tuple[str, Decimal]]:
        """Yield each metal's name and content."""
        yield "gold", self.gold
        yield "silver", self.silver
        if self.base is not None:
            yield "base", self.base


def proof_notices(
    state: State, act: Act, proofs: Sequence[Proof], item: str
) -> Iterator[Record]:
    """Yield the finding that the proofs of one worksheet disagree."""
    for metal, gains in (
        ("gold", gold_gains_mg(proofs)),
        ("silver", silver_gains_mg(proofs)),
    ):
        limit_mg = limit_value(state, f"proofs_{metal}_mg")
        if gains and cupellation.proofs_apart_mg(gains) > limit_mg:
            yield notice(
                state,
                act,
                "proofs_differ",
                item=item,
                found=listed([f"{gain:+f} mg" for gain in gains]),
                expected=f"within {limit_mg} mg of each other",
                message=f"the proofs gained or lost {metal} unevenly",
            )


def worked_notices(
    state: State, act: Act, worked: Worked, proofs: Sequence[Proof]
) -> Iterator[Record]:
    """Yield what a sample's portions show beside their mean."""
    yield from _duplicates(state, act, worked)
    for metal, found in worked.metals():
        if found < 0:
            yield notice(
                state,
                act,
                "metal_below_zero",
                item=worked.item,
                found=f"{found} {UNIT_WORDS[worked.unit]} {metal}",
                expected="0 or more",
                message=f"the proofs take more {metal} off sample {worked.sample}"
                " than was found; taken as none",
            )
    if worked.unit != "permille":
        return
    base = worked.base or Decimal(0)
    if is_over_the_whole(
        gold_permille=worked.gold, silver_permille=worked.silver, base_permille=base
    ):
        yield over_the_whole(
            state,
            act,
            item=worked.item,
            permille=worked.gold + worked.silver + base,
            sample=worked.sample,
        )
    unusual = list(_unusual(state, worked, proofs))
    if unusual:
        yield notice(
            state,
            act,
            "worksheet_unusual",
            item=worked.item,
            found="; ".join(unusual),
            expected="the standard's way of working (ISO 11426)",
            message=f"sample {worked.sample} was not assayed as the standard has it",
        )


def _duplicates(state: State, act: Act, worked: Worked) -> Iterator[Record]:
    """Yield the finding that the portions of one sample disagree in gold."""
    if worked.unit == "permille":
        apart, unit = spread(worked.golds), "‰"
        limit = limit_value(state, duplicates_limit(worked.gold, worked.is_white))
    else:
        apart, unit = spread_percent(worked.golds), "%"
        limit = limit_value(state, "duplicates_concentrate_percent")
    if apart > limit:
        golds = [f"{half_even(each, SHOWN)}" for each in worked.golds]
        yield notice(
            state,
            act,
            "duplicates_differ",
            item=worked.item,
            found=f"{listed(golds)} {UNIT_WORDS[worked.unit]} gold",
            expected=f"within {limit} {unit} of each other",
            message=f"the portions of sample {worked.sample} disagree; assay it again",
        )


def duplicates_limit(gold_permille: Decimal, is_white: bool) -> str:
    """Return which limit holds for duplicates of such gold: fine, white or other."""
    if gold_permille >= FINE_GOLD_PERMILLE:
        return "duplicates_fine_gold_permille"
    if is_white:
        return "duplicates_white_gold_permille"
    return "duplicates_gold_permille"


def _unusual(state: State, worked: Worked, proofs: Sequence[Proof]) -> Iterator[str]:
    """Yield in words what is unlike the standard's way of working."""
    if len(worked.portions) < LEAST_PORTIONS:
        yield f"{len(worked.portions)} portion, expected {LEAST_PORTIONS}"
    if not is_in_scope(worked.gold):
        least, most = SCOPE_PERMILLE
        yield f"{worked.gold} ‰ gold, the method is for {least} to {most}"
    surcharge_mg = mean(gold_gains_mg(proofs))
    let_pass_mg = limit_value(state, "proofs_gold_mg")
    if not is_usual_surcharge(
        gold_permille=worked.gold, surcharge_mg=surcharge_mg, let_pass_mg=let_pass_mg
    ):
        shown = half_even(surcharge_mg, SHOWN_MG)
        yield f"a surcharge of {shown:+f} mg at {worked.gold} ‰ gold"
    for n, (portion, gold) in enumerate(
        zip(worked.portions, worked.golds, strict=True), start=1
    ):
        gold_mg = gold * portion.portion_mg / 1000
        yield from _unusual_portion(state, portion, gold_mg, proofs, f"portion {n}")
        present_mg = worked.silver * portion.portion_mg / 1000
        if portion.silver_added_mg is not None:
            silver_mg = present_mg + portion.silver_added_mg
            yield from _unusual_inquart(state, silver_mg, gold_mg, f"portion {n}")


def _unusual_portion(
    state: State, portion: Portion, gold_mg: Decimal, proofs: Sequence[Proof], name: str
) -> Iterator[str]:
    """Yield a portion's mass outside the usual, or proofs of another size."""
    least, most = (limit_value(state, f"portion_{end}_mg") for end in ("least", "most"))
    if not least <= portion.portion_mg <= most:
        yield f"{name} of {portion.portion_mg} mg, expected {least} to {most}"
    taken_mg = mean([each.gold_taken_mg for each in proofs])
    limit = limit_value(state, "proofs_unlike_percent")
    if abs(taken_mg - gold_mg) * HUNDRED > limit * gold_mg:
        yield (
            f"{name} holds {half_even(gold_mg, SHOWN_MG)} mg of gold, the proofs"
            f" {half_even(taken_mg, SHOWN_MG)} mg"
        )


def _unusual_inquart(
    state: State, silver_mg: Decimal, gold_mg: Decimal, name: str
) -> Iterator[str]:
    """Yield silver outside what gold parts well with."""
    least, most = (limit_value(state, f"inquart_{end}") for end in ("least", "most"))
    least_mg, most_mg = silver_wanted_mg(gold_mg, (least, most))
    if least_mg <= silver_mg <= most_mg:
        return
    short_mg = silver_to_add_mg(gold_mg=gold_mg, silver_present_mg=silver_mg)
    yield (
        f"{name} had {half_even(silver_mg, SHOWN_MG)} mg of silver to"
        f" {half_even(gold_mg, SHOWN_MG)} mg of gold, expected {least} to {most} times"
        + (f": add {half_even(short_mg, Decimal(1))} mg more" if short_mg else "")
    )
