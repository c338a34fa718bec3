"""What the room's sheets share: figures in cells, all signers, cautions of the work."""

from collections.abc import Iterable, Sequence
from decimal import Decimal

from reportlab.lib.colors import black
from reportlab.platypus import Flowable, Table

from goldroom.papers.frame import SMALL, WIDTH, heading, signed, words
from goldroom.reports.entry import EntryTold
from goldroom.reports.metal import grams_text
from goldroom.statements.cautions import RESCUE_FIRST, RULES_OVER_US, cautions_of

NOT_KNOWN = "not known"


def number(figure: Decimal | None, unit: str = "") -> str:
    """Return a figure with its unit, or "not known": never a zero in its place."""
    if figure is None:
        return NOT_KNOWN
    return f"{grams_text(figure)} {unit}".strip()


def each_signed(entries: Sequence[EntryTold]) -> list[Flowable]:
    """Return who signed each entry, and by which entries it was corrected."""
    blocks: list[Flowable] = []
    for each in entries:
        blocks += signed(each)
        if each.corrected_by:
            numbers = ", ".join(str(seq) for seq in each.corrected_by)
            blocks.append(
                words(f"Corrected by entry {numbers}: read both before using figures.")
            )
    return blocks


def work_cautions(kinds: Iterable[str]) -> list[Flowable]:
    """Return the cautions of several kinds of work, each once, and who rules."""
    found = {each.hazard: each for kind in kinds for each in cautions_of(kind)}
    return [
        heading("Usual cautions"),
        *(words(f"{each.hazard}. {each.caution}") for each in found.values()),
        words(f"{RULES_OVER_US} {RESCUE_FIRST}"),
    ]


def shares(*parts: float) -> list[float]:
    """Return column widths in these proportions, the width of the page together."""
    return [WIDTH * each / sum(parts) for each in parts]


def ink(label: str) -> Table:
    """Return an empty ruled box to sign in, with what is to be written there."""
    return Table(
        [[words(label, SMALL)]],
        colWidths=[WIDTH],
        rowHeights=[58],
        style=[
            ("BOX", (0, 0), (-1, -1), 0.9, black),
            ("VALIGN", (0, 0), (-1, -1), "TOP"),
        ],
        spaceAfter=8,
    )
