"""What to ask about a charge's flux before it is signed: questions, never refusals.

A charge that holds sludge or its calcine is judged as a precipitate, any other as a
gravity concentrate; what each range comes from is told with it.
"""

from collections.abc import Mapping, Sequence
from decimal import Decimal

from goldroom.custody.records import Item
from goldroom.metal.flux import flux_share_questions
from goldroom.metal.plausibility import Question
from goldroom.reports import rows
from goldroom.reports.figures import dry_g

PRECIPITATES = ("sludge", "calcine")
"""Sorts of source that are fluxed as a precipitate."""


def flux_questions(
    ledger_id: int,
    *,
    sources: Sequence[str],
    flux_kg: Mapping[str, Decimal],
    weighed_g: Mapping[str, Decimal] | None = None,
) -> tuple[Question, ...]:
    """Return what to ask about the flux of a charge made up from these items.

    `flux_kg` is mass by the flux's name as written; `weighed_g` dry masses of sources
    just weighed, in place of the book's. Nothing is asked while a source's dry mass is
    not known.
    """
    known_g = {**dry_g(ledger_id, sources), **(weighed_g or {})}
    whole_g = sum((known_g.get(each, Decimal(0)) for each in sources), Decimal(0))
    if whole_g <= 0 or any(each not in known_g for each in sources):
        return ()
    items = rows.by_keys(ledger_id, Item, sources)
    return flux_share_questions(
        charge_kg=float(whole_g) / 1000,
        flux_kg={name: float(mass) for name, mass in flux_kg.items()},
        is_precipitate=any(each.sort in PRECIPITATES for each in items.values()),
    )
