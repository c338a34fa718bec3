"""Refinery melts as mine and refinery have them: masses and assays side by side."""

from collections.abc import Iterable, Mapping
from decimal import Decimal

from goldroom.custody.dealings import Exchanged, Outturn
from goldroom.custody.records import Assay, Item, Mass
from goldroom.findings.melts import MeltOfBoth
from goldroom.reports import rows
from goldroom.reports.figures import newest, versions


def melts_of_both(ledger_id: int) -> list[MeltOfBoth]:
    """Return every refinery melt as mine and refinery have it.

    Assays are those exchanged; where none were, the bars' own by mass, and the
    refiner's.
    """
    outturns = rows.every(ledger_id, Outturn)
    exchanged = {each.melt: each for each in rows.every(ledger_id, Exchanged)}
    names = [name for each in outturns for name in (each.melt, *each.items)]
    items = rows.by_keys(ledger_id, Item, names)
    masses = newest(versions(ledger_id, Mass, items.values(), "masses"))
    assays = versions(ledger_id, Assay, items.values(), "assays")
    mine = newest(each for each in assays if each.standing != "refiner")
    refiner = newest(each for each in assays if each.standing == "refiner")
    return [
        MeltOfBoth(
            melt=each.melt,
            refinery=each.refinery,
            at=each.at,
            mine_g=_sum_g(each.items, masses),
            refinery_g=each.as_received_g,
            mine_permille=_mine(each, exchanged.get(each.melt), masses, mine),
            refinery_permille=_refiners(exchanged.get(each.melt), refiner, each.melt),
            is_exchanged=each.melt in exchanged,
        )
        for each in outturns
    ]


def _sum_g(names: Iterable[str], masses: Mapping[str, Mass]) -> Decimal | None:
    """Return the masses together; None where one was never weighed."""
    found = [masses[name].net_g if name in masses else None for name in names]
    known = [each for each in found if each is not None]
    return sum(known, Decimal(0)) if known and len(known) == len(found) else None


def _mine(
    outturn: Outturn,
    exchanged: Exchanged | None,
    masses: Mapping[str, Mass],
    assays: Mapping[str, Assay],
) -> dict[str, Decimal]:
    """Return the mine's finenesses of a melt; nothing where a bar has no assay."""
    if exchanged is not None:
        return {"gold": exchanged.gold.mine, "silver": exchanged.silver.mine}
    bars = [name for name in outturn.items if name in masses and name in assays]
    whole_g = sum((masses[name].net_g for name in bars), Decimal(0))
    if len(bars) < len(outturn.items) or not whole_g:
        return {}
    return {
        metal: sum(
            (masses[name].net_g * getattr(assays[name], metal) for name in bars),
            Decimal(0),
        )
        / whole_g
        for metal in ("gold", "silver")
    }


def _refiners(
    exchanged: Exchanged | None, assays: Mapping[str, Assay], melt: str
) -> dict[str, Decimal]:
    """Return the refinery's finenesses of a melt, as far as it has told them."""
    if exchanged is not None:
        return {"gold": exchanged.gold.refiner, "silver": exchanged.silver.refiner}
    if melt not in assays:
        return {}
    return {"gold": assays[melt].gold, "silver": assays[melt].silver}
