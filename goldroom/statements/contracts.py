"""Contracts with refineries: how a melt's metal is found, paid for and charged.

A contract is said anew when its terms change, with the time it holds from; bars
melted before that stay under the terms they were melted under.
"""

import re
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal

from goldroom.custody.act import Act, utc_text
from goldroom.custody.agreed import versions
from goldroom.custody.dealings import (
    BASES,
    REFINERS_ASSAY,
    Charge,
    Contract,
    SplittingLimit,
)
from goldroom.custody.lookups import the, wrong_sort
from goldroom.custody.records import Place, Record
from goldroom.custody.state import State
from goldroom.metal.payable import PER
from goldroom.metal.settlement import LIMIT_UNITS, UmpireRule
from goldroom.statements import fields
from goldroom.statements.fields import BadField
from goldroom.statements.kind import Statement, kind
from goldroom.statements.wording import listed

CURRENCY = re.compile("[A-Z]{3}")
UMPIRE_RULES = tuple(rule.value for rule in UmpireRule)
PAID_BY = ("further", "both", "mine", "refiner")

LIMIT_WORDS = {"points": "points of per cent", "percent_of_mean": "% of the mean"}
RULE_WORDS = {
    "middle_of_three": "the middle of the three results stands",
    "mean_with_nearer": "the mean of the umpire's and the nearer result stands",
}
PAID_WORDS = {
    "further": "the party further from the umpire",
    "both": "both, half each",
    "mine": "the mine",
    "refiner": "the refiner",
}
PER_WORDS = {
    "kg_received": "kilogram as received",
    "kg_melted": "kilogram after melting",
    "ozt_gold": "troy ounce of fine gold",
    "ozt_silver": "troy ounce of fine silver",
    "melt": "melt",
}


@dataclass(frozen=True, kw_only=True)
class SplittingRow:
    """How far apart the two results for a metal may be for their mean to stand."""

    limit: Decimal = fields.number(
        "Splitting limit", "%", high="10", is_figure=False, help="The limit is within"
    )
    unit: str = fields.choice(
        "Of what", LIMIT_UNITS,
        help="Points of per cent of the bar, or per cent of the two results' mean",
    )  # fmt: skip


@dataclass(frozen=True, kw_only=True)
class ChargeRow:
    """A charge: so much of a currency for each of something."""

    what: str = fields.text("Charge", help="Treatment, refining, transport ...")
    amount: Decimal = fields.number(
        "Amount", "", low="-1000000000", is_figure=False,
        help="For one; below zero for a rebate",
    )  # fmt: skip
    currency: str = fields.text("Currency", help="Three capital letters (ISO 4217)")
    per: str = fields.choice("For each", PER, help="Ounces are troy ounces, fine")


def check_currency(currency: str, field: str) -> None:
    """Refuse what is not three capital letters, the form of ISO 4217 codes."""
    if not CURRENCY.fullmatch(currency):
        raise BadField(
            f"{field}: found {currency!r}, expected three capital letters, a currency"
            " code of ISO 4217 such as USD. Write its code.",
            field=field,
        )


@kind("refining_contract.set", group="standing", title="Contract with a refinery set")
@dataclass(frozen=True, kw_only=True)
class RefiningContractSet(Statement):
    """Terms with a refinery from a time on: limits, umpire, payment and charges."""

    refinery: str = fields.code("Refinery", table="place")
    reference: str = fields.text("Contract", help="Number, and name of the attachment")
    effective_from: datetime = fields.moment(
        "In force from", help="Bars melted from then on come under these terms"
    )
    basis: str = fields.choice(
        "The figure comes from", BASES,
        help="Assays exchanged, or the refiner's assay unless it is challenged",
    )  # fmt: skip
    challenge_d: int | None = fields.whole(
        "Days to challenge", low=1, high=365, optional=True,
        help="From the melt; only where the refiner's assay stands",
    )  # fmt: skip
    exchange_d: int = fields.whole(
        "Days to exchange", low=1, high=365, help="From the melt, or from a challenge"
    )
    gold_splitting: SplittingRow = fields.one("Gold's limit", SplittingRow)
    silver_splitting: SplittingRow = fields.one("Silver's limit", SplittingRow)
    umpire_rule: str = fields.choice("What the umpire's result makes", UMPIRE_RULES)
    umpire_paid_by: str = fields.choice("Who pays the umpire", PAID_BY)
    payable_gold_percent: Decimal = fields.number(
        "Gold paid for", "%", high="100", is_figure=False
    )
    payable_silver_percent: Decimal = fields.number(
        "Silver paid for", "%", high="100", is_figure=False
    )
    melt_loss_percent: Decimal = fields.number(
        "Melt loss let pass", "%", high="10", is_figure=False
    )
    charges: tuple[ChargeRow, ...] = fields.rows(
        "Charges", ChargeRow, optional=True, most=40
    )
    advance_percent: Decimal | None = fields.number(
        "Paid in advance", "%", high="100", optional=True, is_figure=False
    )
    advance_d: int | None = fields.whole("Days to the advance", high=365, optional=True)

    def check(self, act: Act, state: State) -> None:
        """Refuse a place that is no refinery, and terms that do not fit together."""
        place = the(state, Place, self.refinery, "refinery")
        if place.sort != "refinery":
            raise wrong_sort("refinery", self.refinery, place.sort, "a refinery")
        if (self.challenge_d is None) == (self.basis == REFINERS_ASSAY):
            raise BadField(
                "challenge_d: days to challenge belong to a contract in which the"
                " refiner's assay stands, and only to such a one. Write them there,"
                " leave them out otherwise.",
                field="challenge_d",
            )
        if (self.advance_percent is None) != (self.advance_d is None):
            raise BadField(
                "advance_d: write what is paid in advance and within how many days,"
                " or neither.",
                field="advance_d",
            )
        for n, row in enumerate(self.charges):
            check_currency(row.currency, f"charges[{n}].currency")

    def apply(self, act: Act, state: State) -> Iterator[Record]:
        """Yield the contract's next version."""
        yield Contract(
            refinery=self.refinery,
            version=len(versions(state, self.refinery)) + 1,
            reference=self.reference,
            basis=self.basis,
            challenge_d=self.challenge_d,
            exchange_d=self.exchange_d,
            gold_splitting=_limit(self.gold_splitting),
            silver_splitting=_limit(self.silver_splitting),
            umpire_rule=self.umpire_rule,
            umpire_paid_by=self.umpire_paid_by,
            payable_gold_percent=self.payable_gold_percent,
            payable_silver_percent=self.payable_silver_percent,
            melt_loss_percent=self.melt_loss_percent,
            charges=tuple(
                Charge(
                    what=row.what,
                    amount=row.amount,
                    currency=row.currency,
                    per=row.per,
                )
                for row in self.charges
            ),
            advance_percent=self.advance_percent,
            advance_d=self.advance_d,
            from_at=utc_text(self.effective_from),
            entry=act.entry,
            known_at=act.known_at,
        )

    def sentence(self) -> str:
        """Return what the journal reads aloud."""
        from_time = self.effective_from.strftime("%Y-%m-%d %H:%M")
        return (
            f"The contract with {self.refinery} ({self.reference}) holds from"
            f" {from_time} on: {self._basis_words()}"
            f" Gold may be apart by {_limit_words(self.gold_splitting)}, silver by"
            f" {_limit_words(self.silver_splitting)}; beyond that an umpire is called,"
            f" {RULE_WORDS[self.umpire_rule]}, and {PAID_WORDS[self.umpire_paid_by]}"
            f" pays. Paid for are {self.payable_gold_percent} % of the gold and"
            f" {self.payable_silver_percent} % of the silver; a melt loss of"
            f" {self.melt_loss_percent} % is let pass.{self._money_words()}"
        )

    def _basis_words(self) -> str:
        if self.basis == REFINERS_ASSAY:
            return (
                f"the refiner's assay stands unless it is challenged within"
                f" {self.challenge_d} days, and assays are then exchanged within"
                f" {self.exchange_d} days."
            )
        return f"assays are exchanged within {self.exchange_d} days of the melt."

    def _money_words(self) -> str:
        charges = [
            f"{row.what} {row.amount} {row.currency} for each {PER_WORDS[row.per]}"
            for row in self.charges
        ]
        advance = (
            f" In advance {self.advance_percent} % are paid within"
            f" {self.advance_d} days."
            if self.advance_d is not None
            else ""
        )
        return (f" Charges: {listed(charges)}." if charges else "") + advance


def _limit(row: SplittingRow) -> SplittingLimit:
    return SplittingLimit(limit=row.limit, unit=row.unit)


def _limit_words(row: SplittingRow) -> str:
    return f"{row.limit} {LIMIT_WORDS[row.unit]}"
