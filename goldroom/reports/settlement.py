"""Settlement: mine and refinery side by side, melt by melt.

Masses, assays of every standing, what the contract makes of them, the grams payable
and credited, the charges due and billed, and the metal that the mine shipped less what
the refinery found, with its honest uncertainty. Nothing here is decided: the report
reads what the statements of exchange, umpire and settlement decided.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from goldroom.custody.agreed import METALS, challenge_until, exchange_until
from goldroom.custody.dealings import (
    REFINERS_ASSAY,
    Contract,
    Decision,
    Exchanged,
    Money,
    Outturn,
    Settled,
)
from goldroom.custody.records import Assay
from goldroom.custody.state import State
from goldroom.errors import UnknownItem
from goldroom.metal.payable import melt_loss_percent
from goldroom.reconcile.amounts import decimal_text
from goldroom.reconcile.ledger_records import LedgerRecords
from goldroom.reconcile.outturn import OutturnDifference, amounts_of
from goldroom.reconcile.priors import Quantities
from goldroom.reports import rows
from goldroom.reports.dealings import contract_of, dealings_of
from goldroom.reports.kept import worked_out
from goldroom.reports.metal import NOT_KNOWN, Figure, figure_of
from goldroom.reports.plain import as_plain

Z_STEP = Decimal("0.01")


@dataclass(frozen=True, kw_only=True)
class StandingLine:
    """One result for the melt, of whatever standing, in parts per thousand."""

    standing: str
    laboratory: str
    method: str
    sample: str
    gold_permille: Decimal
    silver_permille: Decimal
    at: str
    entry: str


@dataclass(frozen=True, kw_only=True)
class MetalLine:
    """One metal of a melt: grams of both sides, what was decided, what is paid.

    `decision` is None until assays were exchanged; `apart_permille` is mine's result
    less the refiner's. `difference` is mine's metal less the refinery's, `z` that
    over its uncertainty. Payable and credited are None until the melt is settled.
    """

    metal: str
    mine: Figure
    refinery: Figure
    difference: Figure
    z: str | None
    decision: Decision | None
    apart_permille: Decimal | None
    payable_g: Decimal | None
    credited_g: Decimal | None


@dataclass(frozen=True, kw_only=True)
class MeltSettlement:
    """A refinery melt, as both sides have it.

    `status` says what it waits for. Dates are "" where the contract sets none, masses
    None where nobody said them.
    """

    melt: str
    shipment: str
    refinery: str
    bars: tuple[str, ...]
    melted_at: str
    status: str
    contract: Contract | None
    challenge_until: str
    exchange_until: str
    bars_g: Decimal | None
    as_received_g: Decimal | None
    after_melt_g: Decimal | None
    melt_loss_g: Decimal | None
    melt_loss_percent: Decimal | None
    assays: tuple[StandingLine, ...]
    metals: tuple[MetalLine, ...]
    charges: tuple[Money, ...]
    billed: tuple[Money, ...]
    statement: str

    def to_json(self) -> dict[str, Any]:
        """Return the melt as plain values: figures as text."""
        plain: dict[str, Any] = as_plain(self)
        return plain


def settlements(ledger_id: int) -> tuple[MeltSettlement, ...]:
    """Return every refinery melt, in the order melted."""
    found = sorted(
        rows.every(ledger_id, Outturn), key=lambda each: (each.at, each.melt)
    )
    return _all(ledger_id, found)


def settlement(ledger_id: int, melt: str) -> MeltSettlement:
    """Return one refinery melt. Raises UnknownItem."""
    outturn = rows.one(ledger_id, Outturn, melt)
    if outturn is None:
        raise UnknownItem(
            f"{melt!r}: no refinery melt of that id is on record. Check it against the"
            " refinery's report, or list all melts with --all.",
            field="melt",
        )
    return _all(ledger_id, [outturn])[0]


def _all(ledger_id: int, outturns: Iterable[Outturn]) -> tuple[MeltSettlement, ...]:
    state, known = dealings_of(ledger_id), worked_out(ledger_id)
    return tuple(
        _melt(each, state, known.records, known.quantities) for each in outturns
    )


def _melt(
    outturn: Outturn, state: State, data: LedgerRecords, quantities: Quantities
) -> MeltSettlement:
    contract = contract_of(state, outturn)
    exchanged = state.get(Exchanged, outturn.melt)
    settled = state.get(Settled, outturn.melt)
    after_g = _mass_g(data, [outturn.melt])
    received_g = outturn.as_received_g
    lost_g = loss_percent = None
    if received_g and after_g:
        lost_g = received_g - after_g
        loss_percent = melt_loss_percent(received_g=received_g, melted_g=after_g)
    return MeltSettlement(
        melt=outturn.melt,
        shipment=outturn.shipment,
        refinery=outturn.refinery,
        bars=outturn.items,
        melted_at=outturn.at,
        status=_status(outturn, contract, exchanged, settled),
        contract=contract,
        challenge_until="" if contract is None else challenge_until(outturn, contract),
        exchange_until="" if contract is None else exchange_until(outturn, contract),
        bars_g=_mass_g(data, outturn.items),
        as_received_g=received_g,
        after_melt_g=after_g,
        melt_loss_g=lost_g,
        melt_loss_percent=loss_percent,
        assays=tuple(_standing(each) for each in data.assays.get(outturn.melt, ())),
        metals=tuple(
            _metal(metal, outturn.melt, quantities, exchanged, settled)
            for metal in METALS
        ),
        charges=() if settled is None else settled.charges,
        billed=() if settled is None else settled.billed,
        statement="" if settled is None else settled.statement,
    )


def _status(
    outturn: Outturn,
    contract: Contract | None,
    exchanged: Exchanged | None,
    settled: Settled | None,
) -> str:
    """Return in words what the melt waits for."""
    if settled is not None:
        return "settled"
    if contract is None:
        return "no contract in force"
    if exchanged is not None:
        return "decided" if exchanged.is_decided else "waits for the umpire"
    if contract.basis == REFINERS_ASSAY and not outturn.challenged_by:
        return "open to challenge"
    return "waits for the exchange"


def _standing(assay: Assay) -> StandingLine:
    return StandingLine(
        standing=assay.standing,
        laboratory=assay.laboratory,
        method=assay.method,
        sample=assay.sample,
        gold_permille=assay.gold,
        silver_permille=assay.silver,
        at=assay.at,
        entry=assay.entry,
    )


def _metal(
    metal: str,
    melt: str,
    quantities: Quantities,
    exchanged: Exchanged | None,
    settled: Settled | None,
) -> MetalLine:
    amounts = amounts_of(melt, quantities, metal)
    decision = None if exchanged is None else exchanged.decision(metal)
    z = None
    if amounts is not None:
        mine, refinery = amounts
        z = OutturnDifference(mine.measured, refinery.measured).z
    return MetalLine(
        metal=metal,
        mine=NOT_KNOWN if amounts is None else figure_of(amounts[0]),
        refinery=NOT_KNOWN if amounts is None else figure_of(amounts[1]),
        difference=NOT_KNOWN if amounts is None else figure_of(amounts[0] - amounts[1]),
        z=None if z is None else decimal_text(z, Z_STEP),
        decision=decision,
        apart_permille=None if decision is None else decision.mine - decision.refiner,
        payable_g=None if settled is None else _paid(settled, metal)[0],
        credited_g=None if settled is None else _paid(settled, metal)[1],
    )


def _paid(settled: Settled, metal: str) -> tuple[Decimal, Decimal]:
    """Return what was payable and what was credited, in grams."""
    return {
        "gold": (settled.payable_gold_g, settled.credited_gold_g),
        "silver": (settled.payable_silver_g, settled.credited_silver_g),
    }[metal]


def _mass_g(data: LedgerRecords, items: Sequence[str]) -> Decimal | None:
    """Return the newest masses together; None where one was never weighed."""
    masses = [data.masses[each][-1].net_g for each in items if each in data.masses]
    return sum(masses, Decimal(0)) if masses and len(masses) == len(items) else None
