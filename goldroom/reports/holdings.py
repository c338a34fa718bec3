"""Holdings: what is in the room's care now, by step and place, with its metal.

Metal figures are those of the reconciliation: assayed, estimated, or a typical
figure standing in for one still to come, which is marked. Flushes and charges hold
no metal of their own: a flush's comes in with its load, a charge's is its sources'.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from goldroom.custody.moves import HELD
from goldroom.custody.records import STEPS, Item, Stay
from goldroom.reconcile.amounts import Amount, sum_of
from goldroom.reconcile.priors import Quantities
from goldroom.reports import rows
from goldroom.reports.kept import worked_out
from goldroom.reports.metal import Figure, figure_of, last_known_at


@dataclass(frozen=True, kw_only=True)
class Holding:
    """An item held: where it is, under which seals, what is known of its metal.

    `how` is assay, estimate, prior, lineage or unknown; `said` explains a figure that
    stands in for one to come.
    """

    item: str
    label: str
    sort: str
    status: str
    source: str
    step: str
    place: str
    vessel: str
    seals: tuple[str, ...]
    held_from: str
    gold: Figure
    silver: Figure
    dry_mass: Figure
    how: str
    standing: str
    is_provisional: bool
    said: str


@dataclass(frozen=True, kw_only=True)
class StepHoldings:
    """What one step holds, and its metal together.

    `unknown` names the items of whose metal nothing is known: they are not in the
    sums.
    """

    step: str
    holdings: tuple[Holding, ...]
    gold: Figure
    silver: Figure
    is_provisional: bool
    unknown: tuple[str, ...]


@dataclass(frozen=True, kw_only=True)
class Holdings:
    """All that is held, as known when the ledger's last entry was taken down.

    `waiting_flushes` are listed on sheets and not yet in a load; `charges` are made
    up and not yet poured.
    """

    known_at: str
    steps: tuple[StepHoldings, ...]
    waiting_flushes: tuple[str, ...]
    charges: tuple[str, ...]

    @property
    def all_held(self) -> tuple[Holding, ...]:
        """Return every holding with metal of its own, step after step."""
        return tuple(each for step in self.steps for each in step.holdings)


def holdings(ledger_id: int) -> Holdings:
    """Return what is held now."""
    held = rows.every(ledger_id, Item, *HELD)
    return told(
        held,
        worked_out(ledger_id).quantities,
        last_stays(ledger_id, held),
        known_at=last_known_at(ledger_id),
    )


def told(
    held: Sequence[Item],
    quantities: Quantities,
    stays: Mapping[str, Stay],
    *,
    known_at: str,
) -> Holdings:
    """Return these items as holdings, each with its last stay, step by step."""
    return Holdings(
        known_at=known_at,
        steps=tuple(
            _step_holdings(
                step, [item for item in held if item.step == step], quantities, stays
            )
            for step in STEPS
        ),
        waiting_flushes=tuple(item.item for item in held if item.sort == "flush"),
        charges=tuple(item.item for item in held if item.sort == "charge"),
    )


def last_stays(ledger_id: int, items: Iterable[Item]) -> dict[str, Stay]:
    """Return where each item is, by item id."""
    keys = [f"{item.item}/{item.stays:04d}" for item in items if item.stays]
    found = rows.by_keys(ledger_id, Stay, keys)
    return {stay.item: stay for stay in found.values()}


def _step_holdings(
    step: str, items: list[Item], quantities: Quantities, stays: Mapping[str, Stay]
) -> StepHoldings:
    held = tuple(
        _holding(item, quantities, stays.get(item.item))
        for item in sorted(items, key=lambda each: (each.held_from, each.item))
    )
    contents = [quantities.of(item.item) for item in items]
    return StepHoldings(
        step=step,
        holdings=held,
        gold=_together(each.gold for each in contents),
        silver=_together(each.silver for each in contents),
        is_provisional=any(each.is_provisional for each in contents),
        unknown=tuple(each.item for each in contents if each.gold is None),
    )


def _holding(item: Item, quantities: Quantities, last: Stay | None) -> Holding:
    contents = quantities.of(item.item)
    return Holding(
        item=item.item,
        label=item.label,
        sort=item.sort,
        status=item.status,
        source=item.source,
        step=item.step,
        place=item.place,
        vessel="" if last is None else last.vessel,
        seals=() if last is None else last.seals,
        held_from=item.held_from,
        gold=figure_of(contents.gold),
        silver=figure_of(contents.silver),
        dry_mass=figure_of(contents.dry_mass),
        how=contents.how,
        standing=contents.standing,
        is_provisional=contents.is_provisional,
        said=contents.said,
    )


def _together(amounts: Iterable[Amount | None]) -> Figure:
    return figure_of(sum_of(each for each in amounts if each is not None))
