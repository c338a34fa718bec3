"""What the statements of an assay exchange share: units, checks, the settled figure."""

from collections.abc import Iterator, Mapping
from decimal import Decimal

from goldroom.custody.act import Act
from goldroom.custody.dealings import Exchanged, Outturn, SplittingLimit
from goldroom.custody.figures import Content, Origin, assay
from goldroom.custody.lookups import the, wrong_sort
from goldroom.custody.records import Place, Record
from goldroom.custody.state import State
from goldroom.errors import FinenessOver1000, NotInThisState
from goldroom.metal.settlement import splitting_limit_permille
from goldroom.statements.fields import BadField

PERMILLE_PER_UNIT: Mapping[str, Decimal] = {
    "permille": Decimal(1),
    "percent": Decimal(10),
}
UNIT_WORDS = {"permille": "‰", "percent": "%"}
METHODS = ("fire_assay", "wet_chemical", "spectrometer")
SETTLEMENT = "settlement"
"""Method of a settled figure, which is nobody's determination."""


def limit_permille(
    splitting: SplittingLimit, mine: Decimal, refiner: Decimal
) -> Decimal:
    """Return a contract's splitting limit in parts per thousand, for two results."""
    return splitting_limit_permille(
        mine=mine, buyer=refiner, limit=splitting.limit, unit=splitting.unit
    )


def check_laboratory(state: State, laboratory: str, *, not_of: tuple[str, ...]) -> None:
    """Refuse a place that assays nothing, and one that is a party to this already."""
    place = the(state, Place, laboratory, "laboratory")
    if place.sort not in ("laboratory", "refinery"):
        raise wrong_sort(
            "laboratory",
            laboratory,
            place.sort,
            "a laboratory",
            remedy="Name the laboratory that made the result.",
        )
    if laboratory in not_of:
        raise BadField(
            f"laboratory: {laboratory} is a party to this melt already. Name the"
            " laboratory that made this result for itself.",
            field="laboratory",
        )


def check_whole(reported: Decimal, unit: str, field: str) -> None:
    """Refuse a content above the whole: more than 1000 parts per thousand."""
    permille = reported * PERMILLE_PER_UNIT[unit]
    if permille > 1000:
        raise FinenessOver1000(
            f"{field}: found {reported} {UNIT_WORDS[unit]}, which is {permille} parts"
            " per thousand; the whole is 1000. Check the figure and its unit.",
            field=field,
        )


def settled_assay(state: State, act: Act, exchanged: Exchanged) -> Iterator[Record]:
    """Yield the settled figure as a final version, once both metals have one."""
    gold, silver = exchanged.gold.settled, exchanged.silver.settled
    if gold is None or silver is None:
        return
    origin = Origin(
        assay_id=f"{act.measured_in}.settled",
        sample=exchanged.refiner_sample,
        standing="final",
        laboratory=exchanged.refinery,
        method=SETTLEMENT,
        sampler=exchanged.sampler,
        wanted_for="melt",
    )
    content = Content(unit="permille", gold=gold, silver=silver)
    yield from assay(state, act, item=exchanged.melt, content=content, origin=origin)


def check_not_settled(outturn: Outturn) -> None:
    """Refuse to change what a settlement was built on."""
    if outturn.settled_by:
        raise NotInThisState(
            f"melt: {outturn.melt} was settled by entry {outturn.settled_by}. Take the"
            " settlement back first, if it was wrong.",
            field="melt",
        )
