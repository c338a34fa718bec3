"""The umpire's result: what it makes of an exchange beyond the splitting limit.

An umpire reports on the metals that were apart, and by the contract's rule the
middle of the three results stands, or the mean of the umpire's and the nearer one.
A result for one metal alone is kept with the exchange; a version of the melt's assay
speaks of both.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from decimal import Decimal

from goldroom.custody.act import Act
from goldroom.custody.agreed import METALS, outturn_of
from goldroom.custody.dealings import (
    UMPIRE_CALLED,
    UMPIRED,
    Contract,
    Decision,
    Exchanged,
    Outturn,
)
from goldroom.custody.figures import Content, Origin, assay
from goldroom.custody.lookups import the, wrong_sort
from goldroom.custody.records import Item, Marker, Record
from goldroom.custody.state import State
from goldroom.errors import NotInThisState, SampleReplaced, UmpireBeforeExchange
from goldroom.metal.rounding import EXACT
from goldroom.metal.settlement import Exchange, UmpireRule
from goldroom.statements import fields
from goldroom.statements.exchanging import (
    METHODS,
    PERMILLE_PER_UNIT,
    UNIT_WORDS,
    check_laboratory,
    check_not_settled,
    check_whole,
    settled_assay,
)
from goldroom.statements.fields import BadField
from goldroom.statements.kind import Statement, kind
from goldroom.statements.wording import listed


@kind("umpire.reported", group="month", title="Umpire's result", can_void=True)
@dataclass(frozen=True, kw_only=True)
class UmpireReported(Statement):
    """The umpire's result for the metals on which the two parties were apart."""

    melt: str = fields.code("Melt", table="item")
    laboratory: str = fields.code("Umpire's laboratory", table="place")
    sample: str | None = fields.code(
        "Umpire's sample", table="item", optional=True,
        help="The sealed sample kept for the umpire, if it is on record",
    )  # fmt: skip
    method: str = fields.choice("Method", METHODS)
    unit: str = fields.choice("Unit", tuple(PERMILLE_PER_UNIT), is_figure=True)
    gold: Decimal | None = fields.number(
        "Gold", "", optional=True, help="Only if an umpire was called for it"
    )
    silver: Decimal | None = fields.number(
        "Silver", "", optional=True, help="Only if an umpire was called for it"
    )
    report: str = fields.text("Report", help="Number, and name of the attachment")

    @property
    def _reported(self) -> dict[str, Decimal]:
        """Return the result by metal, as far as there is one."""
        both = {"gold": self.gold, "silver": self.silver}
        return {metal: each for metal, each in both.items() if each is not None}

    def check(self, act: Act, state: State) -> None:
        """Refuse a result before the exchange, not asked for, or given before."""
        the(state, Item, self.melt, "melt")
        outturn_of(state, self.melt)
        exchanged = state.get(Exchanged, self.melt)
        if exchanged is None:
            raise UmpireBeforeExchange(
                f"melt: no assays of {self.melt} were exchanged yet, so no umpire can"
                " have been called. Exchange the two results first; an umpire's"
                " figure known before would sway them.",
                field="melt",
            )
        if not self._reported:
            raise BadField(
                "gold: the umpire's result is missing. Write it for each metal that"
                " the umpire was called for.",
                field="gold",
            )
        for metal in self._reported:
            _check_called(exchanged, metal)
        check_laboratory(
            state,
            self.laboratory,
            not_of=(exchanged.mine_laboratory, exchanged.refinery),
        )
        if self.sample is not None:
            _check_sample(state, self.sample)
        self.check_figures(act, state)

    def check_figures(self, act: Act, state: State) -> None:
        """Refuse more than the whole; a correction, too, what others built upon."""
        for metal, reported in self._reported.items():
            check_whole(reported, self.unit, metal)
        if not act.corrects_entry:
            return
        outturn = state.get(Outturn, self.melt)
        exchanged = state.get(Exchanged, self.melt)
        assert outturn is not None
        assert exchanged is not None
        check_not_settled(outturn)
        for metal in METALS:
            by = exchanged.decision(metal).umpired_by
            own = metal in self._reported
            if own != (by == act.corrects_entry) or (by and not own):
                raise NotInThisState(
                    f"{metal}: the umpire's results for {self.melt} came in two"
                    " reports, or other metals are named than before. Take the report"
                    " back and say it anew.",
                    field=metal,
                )

    def apply(self, act: Act, state: State) -> Iterator[Record]:
        """Yield the melt, reported on by the umpire, and what that decides."""
        outturn = state.get(Outturn, self.melt)
        assert outturn is not None
        yield replace(outturn, umpired_by=act.entry)
        yield from self.measures(act, state)

    def measures(self, act: Act, state: State) -> Iterator[Record]:
        """Yield the umpire's figures, what they make, and the settled figure."""
        exchanged = state.get(Exchanged, self.melt)
        assert exchanged is not None
        contract = state.get(Contract, exchanged.contract)
        assert contract is not None
        found = {
            metal: _umpired(
                exchanged.decision(metal),
                EXACT.multiply(reported, PERMILLE_PER_UNIT[self.unit]),
                contract,
                act.measured_in,
            )
            for metal, reported in self._reported.items()
        }
        if len(found) == len(METALS):
            yield from self._umpires_assay(act, state, exchanged, found)
        exchanged = replace(
            exchanged,
            gold=found.get("gold", exchanged.gold),
            silver=found.get("silver", exchanged.silver),
        )
        yield exchanged
        yield from settled_assay(state, act, exchanged)

    def _umpires_assay(
        self,
        act: Act,
        state: State,
        exchanged: Exchanged,
        found: Mapping[str, Decision],
    ) -> Iterator[Record]:
        """Yield the umpire's own version of the assay, where both metals were asked."""
        gold, silver = found["gold"].umpire, found["silver"].umpire
        assert gold is not None
        assert silver is not None
        origin = Origin(
            assay_id=f"{act.measured_in}.umpire",
            sample=self.sample or f"{self.melt}.umpire",
            standing="umpire",
            laboratory=self.laboratory,
            method=self.method,
            sampler=exchanged.sampler,
            wanted_for="melt",
        )
        content = Content(unit="permille", gold=gold, silver=silver)
        yield from assay(state, act, item=self.melt, content=content, origin=origin)

    def sentence(self) -> str:
        """Return what the journal reads aloud."""
        unit = UNIT_WORDS[self.unit]
        found = [f"{each} {unit} {metal}" for metal, each in self._reported.items()]
        sample = f" in sample {self.sample}" if self.sample else ""
        return (
            f"The umpire {self.laboratory} reported {listed(found)} for"
            f" {self.melt}{sample} ({self.report})."
        )


def _umpired(
    decision: Decision, umpire: Decimal, contract: Contract, entry: str
) -> Decision:
    """Return the decision as the umpire's result makes it, by the contract's rule."""
    exchange = Exchange(decision.mine, decision.refiner, decision.splitting_limit)
    found = exchange.settle(umpire, UmpireRule(contract.umpire_rule))
    further = {"mine": "mine", "buyer": "refiner", "both": "both"}[found.umpire_paid_by]
    pays = contract.umpire_paid_by
    return replace(
        decision,
        status=UMPIRED,
        settled=found.settled,
        umpire=umpire,
        umpire_paid_by=further if pays == "further" else pays,
        umpired_by=entry,
    )


def _check_called(exchanged: Exchanged, metal: str) -> None:
    decision = exchanged.decision(metal)
    if decision.status == UMPIRED:
        raise NotInThisState(
            f"{metal}: the umpire's result for the {metal} of {exchanged.melt} was"
            f" reported already, by entry {decision.umpired_by}. To put it right,"
            " correct that entry.",
            field=metal,
        )
    if decision.status != UMPIRE_CALLED:
        raise NotInThisState(
            f"{metal}: the two results for the {metal} of {exchanged.melt} are within"
            f" the splitting limit of {decision.splitting_limit} ‰; their mean stands"
            " and no umpire was called for it. Leave it out.",
            field=metal,
        )


def _check_sample(state: State, sample: str) -> None:
    """Refuse a sample that is none, or that another was put in the place of."""
    item = the(state, Item, sample, "sample")
    if item.sort != "sample":
        raise wrong_sort("sample", sample, item.sort, "a sample")
    replaced = state.get(Marker, f"replaced:{sample}")
    if replaced is not None:
        raise SampleReplaced(
            f"sample: {sample} was replaced by {replaced.value}. An umpire's result"
            " counts only for the sample sealed for the umpire; name the one that was"
            " assayed, and look into why it was replaced.",
            field="sample",
        )
