"""Assays exchanged with a refinery, and a refiner's assay challenged.

Both parties' results for a melt are opened at the same time and stand in one
statement. For each metal, within the splitting limit of the contract in force when
the bars were melted, the mean is the figure; beyond it an umpire is called. All is
decided in exact decimals. A settled figure is nobody's determination: its version of
the melt's assay stands as final, with the method `settlement`.

Where by contract the refiner's assay stands, it may be challenged until a date; only
then are assays exchanged.
"""

from collections.abc import Iterator
from dataclasses import dataclass, replace
from decimal import Decimal

from goldroom.custody.act import Act
from goldroom.custody.agreed import (
    METALS,
    challenge_until,
    exchange_until,
    governing,
    outturn_of,
)
from goldroom.custody.dealings import (
    AGREED,
    REFINERS_ASSAY,
    UMPIRE_CALLED,
    Contract,
    Decision,
    Exchanged,
    Outturn,
    SplittingLimit,
)
from goldroom.custody.figures import Content, Origin, assay
from goldroom.custody.lookups import the
from goldroom.custody.records import Item, Record
from goldroom.custody.state import State
from goldroom.errors import ChallengeDatePassed, NotInThisState
from goldroom.metal.rounding import EXACT
from goldroom.metal.settlement import Exchange
from goldroom.statements import fields
from goldroom.statements.exchanging import (
    METHODS,
    PERMILLE_PER_UNIT,
    UNIT_WORDS,
    check_laboratory,
    check_not_settled,
    check_whole,
    limit_permille,
    settled_assay,
)
from goldroom.statements.kind import Statement, kind


@dataclass(frozen=True, kw_only=True)
class PartyRow:
    """One party's sealed result."""

    gold: Decimal = fields.number("Gold", "")
    silver: Decimal = fields.number("Silver", "")
    sample: str = fields.code("Sample", help="Number on the sample's envelope")
    method: str = fields.choice("Method", METHODS)
    report: str = fields.text("Report", help="Number, and name of the attachment")


@kind("assay.exchanged", group="month", title="Assays exchanged", can_void=True)
@dataclass(frozen=True, kw_only=True)
class AssayExchanged(Statement):
    """The mine's and the refiner's results for a melt, opened at the same time."""

    melt: str = fields.code("Melt", table="item")
    laboratory: str = fields.code("Mine's laboratory", table="place")
    sampler: str = fields.code("Sampler", help="The ladle, pin or drill, and whose")
    unit: str = fields.choice("Unit", tuple(PERMILLE_PER_UNIT), is_figure=True)
    mine: PartyRow = fields.one("Mine's result", PartyRow)
    refiner: PartyRow = fields.one("Refiner's result", PartyRow)

    def check(self, act: Act, state: State) -> None:
        """Refuse a second exchange, a melt without a contract, one not challenged."""
        the(state, Item, self.melt, "melt")
        outturn = outturn_of(state, self.melt)
        done = state.get(Exchanged, self.melt)
        if done is not None:
            raise NotInThisState(
                f"melt: the assays of {self.melt} were exchanged already, by entry"
                f" {done.entry}. To put figures right, correct that entry.",
                field="melt",
            )
        check_not_settled(outturn)
        contract = governing(state, outturn)
        if contract.basis == REFINERS_ASSAY and not outturn.challenged_by:
            raise NotInThisState(
                f"melt: by the contract with {outturn.refinery} the refiner's assay of"
                f" {self.melt} stands unless it is challenged by"
                f" {challenge_until(outturn, contract)}. Challenge it first; then"
                " assays are exchanged.",
                field="melt",
            )
        check_laboratory(state, self.laboratory, not_of=(outturn.refinery,))
        self.check_figures(act, state)

    def check_figures(self, act: Act, state: State) -> None:
        """Refuse more than the whole; a correction, too, what others built upon."""
        for party, row in (("mine", self.mine), ("refiner", self.refiner)):
            for metal, reported in (("gold", row.gold), ("silver", row.silver)):
                check_whole(reported, self.unit, f"{party}.{metal}")
        if act.corrects_entry:
            self._check_correction(state)

    def _check_correction(self, state: State) -> None:
        """Refuse new figures where an umpire or a settlement used the old ones."""
        exchanged = state.get(Exchanged, self.melt)
        outturn = state.get(Outturn, self.melt)
        assert exchanged is not None
        assert outturn is not None
        check_not_settled(outturn)
        was = [exchanged.decision(metal).status for metal in METALS]
        now = [self._decision(exchanged, state, metal).status for metal in METALS]
        if was != now:
            raise NotInThisState(
                f"melt: with these figures another outcome follows for {self.melt}, or"
                " an umpire has reported on the old ones. Take back what was built on"
                " the exchange, then the exchange, and say it anew.",
                field="melt",
            )

    def _decision(self, exchanged: Exchanged, state: State, metal: str) -> Decision:
        contract = state.get(Contract, exchanged.contract)
        assert contract is not None
        return self._decided(contract, metal)

    def _decided(self, contract: Contract, metal: str) -> Decision:
        """Return what the contract makes of the two results for a metal."""
        mine = _permille(self.mine, metal, self.unit)
        refiner = _permille(self.refiner, metal, self.unit)
        limit = limit_permille(_splitting(contract, metal), mine, refiner)
        found = Exchange(mine, refiner, limit).settle()
        return Decision(
            mine=mine,
            refiner=refiner,
            splitting_limit=limit,
            status=AGREED if found.is_final else UMPIRE_CALLED,
            settled=found.settled,
        )

    def apply(self, act: Act, state: State) -> Iterator[Record]:
        """Yield the melt, its assays exchanged, and what that decides."""
        outturn = state.get(Outturn, self.melt)
        assert outturn is not None
        yield replace(outturn, exchanged_by=act.entry)
        yield from self.measures(act, state)

    def measures(self, act: Act, state: State) -> Iterator[Record]:
        """Yield both results, the decision, and the settled figure if there is one."""
        outturn = state.get(Outturn, self.melt)
        assert outturn is not None
        contract = governing(state, outturn)
        for standing, row, laboratory in (
            ("party", self.mine, self.laboratory),
            ("refiner", self.refiner, outturn.refinery),
        ):
            origin = Origin(
                assay_id=f"{act.measured_in}.{standing}",
                sample=row.sample,
                standing=standing,
                laboratory=laboratory,
                method=row.method,
                sampler=self.sampler,
                wanted_for="melt",
            )
            content = Content(
                unit="permille",
                gold=_permille(row, "gold", self.unit),
                silver=_permille(row, "silver", self.unit),
            )
            yield from assay(state, act, item=self.melt, content=content, origin=origin)
        exchanged = Exchanged(
            melt=self.melt,
            contract=contract.key,
            mine_laboratory=self.laboratory,
            refinery=outturn.refinery,
            refiner_sample=self.refiner.sample,
            sampler=self.sampler,
            gold=self._decided(contract, "gold"),
            silver=self._decided(contract, "silver"),
            at=act.at,
            entry=act.measured_in,
            known_at=act.known_at,
        )
        yield exchanged
        yield from settled_assay(state, act, exchanged)

    def sentence(self) -> str:
        """Return what the journal reads aloud."""
        unit = UNIT_WORDS[self.unit]
        return (
            f"The assays of {self.melt} were exchanged: {self.laboratory} found"
            f" {self.mine.gold} {unit} gold and {self.mine.silver} {unit} silver"
            f" (sample {self.mine.sample}, {self.mine.report}), the refiner"
            f" {self.refiner.gold} {unit} gold and {self.refiner.silver} {unit} silver"
            f" (sample {self.refiner.sample}, {self.refiner.report})."
        )


@kind(
    "refiner_assay.challenged",
    group="month",
    title="Refiner's assay challenged",
    can_void=True,
)
@dataclass(frozen=True, kw_only=True)
class RefinerAssayChallenged(Statement):
    """The refiner's assay of a melt not accepted: assays are to be exchanged."""

    melt: str = fields.code("Melt", table="item")
    reason: str = fields.text("Reason", help="What speaks against the refiner's figure")
    notice: str = fields.text(
        "Notice given", help="How the refinery was told, and name of the attachment"
    )

    def check(self, act: Act, state: State) -> None:
        """Refuse a challenge not provided for, made before, or too late."""
        the(state, Item, self.melt, "melt")
        outturn = outturn_of(state, self.melt)
        check_not_settled(outturn)
        contract = governing(state, outturn)
        if contract.basis != REFINERS_ASSAY:
            raise NotInThisState(
                f"melt: by the contract with {outturn.refinery} assays are exchanged"
                f" for {self.melt} in any case, by {exchange_until(outturn, contract)}."
                " There is nothing to challenge; exchange them.",
                field="melt",
            )
        if outturn.challenged_by:
            raise NotInThisState(
                f"melt: {self.melt} was challenged already, by entry"
                f" {outturn.challenged_by}. Exchange the assays.",
                field="melt",
            )
        until = challenge_until(outturn, contract)
        if act.at > until:
            raise ChallengeDatePassed(
                f"melt: the refiner's assay of {self.melt} could be challenged until"
                f" {until}, {contract.challenge_d} days after the melt; it is"
                f" {act.at}. The refiner's figure stands. If you must still question"
                " it, settle that with the refinery in writing and record what was"
                " agreed.",
                field="melt",
            )

    def apply(self, act: Act, state: State) -> Iterator[Record]:
        """Yield the melt, challenged."""
        outturn = state.get(Outturn, self.melt)
        assert outturn is not None
        yield replace(outturn, challenged_at=act.at, challenged_by=act.entry)

    def sentence(self) -> str:
        """Return what the journal reads aloud."""
        return (
            f"The refiner's assay of {self.melt} was challenged: {self.reason}. Notice"
            f" given: {self.notice}."
        )


def _permille(row: PartyRow, metal: str, unit: str) -> Decimal:
    reported = {"gold": row.gold, "silver": row.silver}[metal]
    return EXACT.multiply(reported, PERMILLE_PER_UNIT[unit])


def _splitting(contract: Contract, metal: str) -> SplittingLimit:
    return {"gold": contract.gold_splitting, "silver": contract.silver_splitting}[metal]
