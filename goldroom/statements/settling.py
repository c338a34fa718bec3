"""A refinery melt settled: what the refinery states against what was decided.

The refinery's statement is recorded as it reads. Its mass and finenesses are held
against the melt's mass and the figures decided by exchange, umpire or unchallenged
assay; its credit against mass x fineness x payable share, exactly, to the last digit
that the statement writes; its charges against the contract's. Every difference is a
finding: the book keeps both.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal

from goldroom.custody.act import Act
from goldroom.custody.agreed import decided_figures, governing, outturn_of
from goldroom.custody.dealings import Contract, Exchanged, Money, Outturn, Settled
from goldroom.custody.figures import Content, Origin, assay, latest_mass
from goldroom.custody.lookups import the
from goldroom.custody.notices import notice
from goldroom.custody.records import Item, Record
from goldroom.custody.state import State
from goldroom.errors import FinenessOver1000, NotInThisState
from goldroom.metal.assay import fine_mass_g
from goldroom.metal.payable import (
    HUNDREDTH,
    Lot,
    charge_due,
    last_place,
    melt_loss_percent,
    payable_g,
)
from goldroom.metal.rounding import to_milligram
from goldroom.metal.units import grams_per, to_grams
from goldroom.statements import fields
from goldroom.statements.contracts import check_currency
from goldroom.statements.kind import Statement, kind
from goldroom.statements.wording import listed

CREDITED_IN = ("g", "ozt")


@dataclass(frozen=True, kw_only=True)
class BilledRow:
    """A charge as the refinery bills it."""

    what: str = fields.text("Charge")
    amount: Decimal = fields.number(
        "Amount", "", low="-1000000000", help="Below zero for a rebate"
    )
    currency: str = fields.text("Currency", help="Three capital letters (ISO 4217)")


@kind("melt.settled", group="month", title="Melt settled", can_void=True)
@dataclass(frozen=True, kw_only=True)
class MeltSettled(Statement):
    """The refinery's settlement of a melt: mass, fineness, credit and charges."""

    melt: str = fields.code("Melt", table="item")
    statement: str = fields.text(
        "Statement", help="Number of the settlement, and name of the attachment"
    )
    settlement_mass_g: Decimal = fields.number("Mass settled", "g")
    gold_permille: Decimal = fields.number(
        "Gold settled", "‰", high="1000", above_high=FinenessOver1000
    )
    silver_permille: Decimal = fields.number(
        "Silver settled", "‰", high="1000", above_high=FinenessOver1000
    )
    credited_unit: str = fields.choice("Credited in", CREDITED_IN, is_figure=True)
    credited_gold: Decimal = fields.number("Gold credited", "")
    credited_silver: Decimal = fields.number("Silver credited", "")
    charges: tuple[BilledRow, ...] = fields.rows(
        "Charges billed", BilledRow, optional=True, most=40
    )

    def check(self, act: Act, state: State) -> None:
        """Refuse a melt settled before, without a contract, or not yet decided."""
        the(state, Item, self.melt, "melt")
        outturn = outturn_of(state, self.melt)
        if outturn.settled_by:
            raise NotInThisState(
                f"melt: {self.melt} was settled already, by entry"
                f" {outturn.settled_by}. To put its figures right, correct that"
                " entry.",
                field="melt",
            )
        decided_figures(state, outturn, governing(state, outturn))
        for n, row in enumerate(self.charges):
            check_currency(row.currency, f"charges[{n}].currency")

    def apply(self, act: Act, state: State) -> Iterator[Record]:
        """Yield the melt, settled, and the settlement with what differs."""
        outturn = state.get(Outturn, self.melt)
        assert outturn is not None
        yield replace(outturn, settled_by=act.entry)
        yield from self._refiners_final(act, state, outturn)
        yield from self.measures(act, state)

    def _refiners_final(
        self, act: Act, state: State, outturn: Outturn
    ) -> Iterator[Record]:
        """Yield the refiner's assay as final where it stands without an exchange."""
        if state.get(Exchanged, self.melt) is not None:
            return
        decided = decided_figures(state, outturn, governing(state, outturn))
        origin = Origin(
            assay_id=f"{act.measured_in}.settled",
            sample=f"{self.melt}.settled",
            standing="final",
            laboratory=outturn.refinery,
            method="fire_assay",
            sampler=outturn.refinery,
            wanted_for="melt",
        )
        content = Content(
            unit="permille", gold=decided["gold"], silver=decided["silver"]
        )
        yield from assay(state, act, item=self.melt, content=content, origin=origin)

    def measures(self, act: Act, state: State) -> Iterator[Record]:
        """Yield the settlement, and a finding for each difference."""
        settled = self._settled(act, state)
        yield settled
        yield from self._figures_differ(act, state, settled)
        yield from _credit_differs(act, state, self, settled)
        yield from _melt_loss(act, state, settled)
        yield from _charges_differ(act, state, settled)

    def _settled(self, act: Act, state: State) -> Settled:
        """Return the settlement beside what the contract makes of the melt."""
        outturn = state.get(Outturn, self.melt)
        melted = latest_mass(state, self.melt)
        assert outturn is not None
        assert melted is not None
        contract = governing(state, outturn)
        decided = decided_figures(state, outturn, contract)
        received_g = outturn.as_received_g
        lot = Lot(
            received_g=received_g,
            melted_g=melted.net_g,
            gold_g=_fine_g(melted.net_g, decided["gold"]),
            silver_g=_fine_g(melted.net_g, decided["silver"]),
        )
        return Settled(
            melt=self.melt,
            contract=contract.key,
            statement=self.statement,
            mass_g=self.settlement_mass_g,
            gold_permille=self.gold_permille,
            silver_permille=self.silver_permille,
            decided_gold_permille=decided["gold"],
            decided_silver_permille=decided["silver"],
            payable_gold_g=payable_g(
                mass_g=melted.net_g,
                fineness_permille=decided["gold"],
                payable_percent=contract.payable_gold_percent,
            ),
            payable_silver_g=payable_g(
                mass_g=melted.net_g,
                fineness_permille=decided["silver"],
                payable_percent=contract.payable_silver_percent,
            ),
            credited_gold_g=to_grams(self.credited_gold, self.credited_unit),
            credited_silver_g=to_grams(self.credited_silver, self.credited_unit),
            melt_loss_g=None if received_g is None else received_g - melted.net_g,
            melt_loss_percent=None
            if received_g is None
            else melt_loss_percent(received_g=received_g, melted_g=melted.net_g),
            charges=_charges_due(contract, lot),
            billed=tuple(
                Money(what=row.what, amount=row.amount, currency=row.currency)
                for row in self.charges
            ),
            at=act.at,
            entry=act.measured_in,
            known_at=act.known_at,
        )

    def _figures_differ(
        self, act: Act, state: State, settled: Settled
    ) -> Iterator[Record]:
        """Yield a finding where mass or fineness is not the one on record."""
        melted = latest_mass(state, self.melt)
        assert melted is not None
        for what, found, expected, unit in (
            ("mass", self.settlement_mass_g, melted.net_g, "g"),
            ("gold", self.gold_permille, settled.decided_gold_permille, "‰"),
            ("silver", self.silver_permille, settled.decided_silver_permille, "‰"),
        ):
            if found != expected:
                yield notice(
                    state,
                    act,
                    "settlement_differs",
                    item=self.melt,
                    found=f"{found} {unit}",
                    expected=f"{expected} {unit}",
                    message=f"the {what} in the settlement of {self.melt} is not the"
                    " one decided",
                )

    def sentence(self) -> str:
        """Return what the journal reads aloud."""
        billed = [f"{row.what} {row.amount} {row.currency}" for row in self.charges]
        charges = f" Billed: {listed(billed)}." if billed else " Nothing was billed."
        return (
            f"The refinery settled {self.melt} ({self.statement}) on"
            f" {self.settlement_mass_g} g at {self.gold_permille} ‰ gold and"
            f" {self.silver_permille} ‰ silver, and credited {self.credited_gold}"
            f" {self.credited_unit} of gold and {self.credited_silver}"
            f" {self.credited_unit} of silver.{charges}"
        )


def _fine_g(mass_g: Decimal, fineness_permille: Decimal) -> Decimal:
    return fine_mass_g(mass_g=mass_g, fineness_permille=fineness_permille)


def _charges_due(contract: Contract, lot: Lot) -> tuple[Money, ...]:
    return tuple(
        Money(
            what=each.what,
            amount=charge_due(amount=each.amount, per=each.per, lot=lot),
            currency=each.currency,
        )
        for each in contract.charges
    )


def _credit_differs(
    act: Act, state: State, said: MeltSettled, settled: Settled
) -> Iterator[Record]:
    """Yield a finding where the credit is not what the contract makes payable."""
    unit = said.credited_unit
    for metal, credited, payable in (
        ("gold", said.credited_gold, settled.payable_gold_g),
        ("silver", said.credited_silver, settled.payable_silver_g),
    ):
        credited_g = to_grams(credited, unit)
        step_g = last_place(credited) * grams_per(unit)
        if abs(credited_g - payable) > step_g:
            yield notice(
                state,
                act,
                "payable_differs",
                item=settled.melt,
                found=f"{to_milligram(credited_g)} g of {metal} credited",
                expected=f"{payable} g payable by the contract",
                message=f"the {metal} credited for {settled.melt} is"
                f" {to_milligram(credited_g - payable)} g beside what is payable",
            )


def _melt_loss(act: Act, state: State, settled: Settled) -> Iterator[Record]:
    """Yield a finding where melting took, or gave, more than the contract allows."""
    contract = state.get(Contract, settled.contract)
    assert contract is not None
    percent = settled.melt_loss_percent
    if percent is None or abs(percent) <= contract.melt_loss_percent:
        return
    assert settled.melt_loss_g is not None
    word = "lost" if settled.melt_loss_g > 0 else "gained"
    yield notice(
        state,
        act,
        "melt_loss_over_allowance",
        item=settled.melt,
        found=f"{settled.melt_loss_g} g, {percent} % of the mass as received",
        expected=f"at most {contract.melt_loss_percent} %",
        message=f"{settled.melt} {word} more in melting than the contract lets pass",
    )


def _charges_differ(act: Act, state: State, settled: Settled) -> Iterator[Record]:
    """Yield a finding for each currency whose charges do not add up to the bill.

    A hundredth for each charge is let pass: both sides round.
    """
    due, billed = _by_currency(settled.charges), _by_currency(settled.billed)
    rows = max(len(settled.charges), len(settled.billed))
    for currency in sorted({*due, *billed}):
        apart = billed.get(currency, Decimal(0)) - due.get(currency, Decimal(0))
        if abs(apart) > rows * HUNDREDTH:
            yield notice(
                state,
                act,
                "charges_differ",
                item=settled.melt,
                found=f"{billed.get(currency, Decimal(0))} {currency} billed",
                expected=f"{due.get(currency, Decimal(0))} {currency} by the contract",
                message=f"the charges for {settled.melt} are {apart} {currency}"
                " beside the contract's",
            )


def _by_currency(rows: Sequence[Money]) -> dict[str, Decimal]:
    sums: dict[str, Decimal] = {}
    for row in rows:
        sums[row.currency] = sums.get(row.currency, Decimal(0)) + row.amount
    return sums
