"""A fire assay's worksheet: portions, cornets and beads, corrected by the proofs.

What the balance showed is said, and the content follows from it: each portion's
gold by its cornet, its silver by its bead less cornet, both corrected by the proofs
cupelled beside it (`goldroom.metal.cupellation`), then the mean of the portions,
rounded once. Silver may be said from another method instead.

What a worksheet shows is accepted and noticed: portions that disagree, proofs that
disagree, and whatever is unlike the standard's way of working.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from decimal import Decimal

from goldroom.custody.act import Act
from goldroom.custody.figures import Content
from goldroom.custody.records import Record
from goldroom.custody.state import State
from goldroom.errors import (
    BeadDoesNotFit,
    CornetHeavierThanPortion,
    FinenessOver1000,
    PortionOfNothing,
    ProofMissing,
)
from goldroom.metal.cupellation import (
    GRAMS_PER_TONNE,
    LEAST_PROOFS,
    PERMILLE,
    Portion,
    Proof,
    gold_content,
    gold_gains_mg,
    silver_content,
    silver_gains_mg,
)
from goldroom.metal.determinations import mean
from goldroom.metal.rounding import half_even
from goldroom.statements import fields
from goldroom.statements.fields import BadField
from goldroom.statements.fire_assay_notices import Worked, proof_notices, worked_notices
from goldroom.statements.kind import Statement, kind
from goldroom.statements.results import (
    STANDINGS,
    UNIT_WORDS,
    WANTED_FOR,
    Work,
    check_laboratory,
    check_samples,
    reported,
)
from goldroom.statements.wording import listed

PARTS = {"permille": PERMILLE, "gpt": GRAMS_PER_TONNE}
STEP = Decimal("0.001")
"""Contents are reported to a thousandth of their unit: below any balance's say."""

SOLIDS = tuple(sort for sort in WANTED_FOR if sort != "solution")


@dataclass(frozen=True, kw_only=True)
class PortionRow:
    """A test portion and what came of it, as the assay balance showed."""

    portion_mg: Decimal = fields.number("Portion", "mg", high="1000000")
    cornet_mg: Decimal = fields.number("Cornet", "mg", high="1000000")
    bead_mg: Decimal | None = fields.number(
        "Bead", "mg", high="1000000", optional=True, help="Before parting"
    )
    silver_added_mg: Decimal | None = fields.number(
        "Silver added", "mg", high="1000000", optional=True
    )

    @property
    def portion(self) -> Portion:
        """Return the row as the arithmetic knows it."""
        return Portion(
            portion_mg=self.portion_mg,
            cornet_mg=self.cornet_mg,
            bead_mg=self.bead_mg,
            silver_added_mg=self.silver_added_mg,
        )


@dataclass(frozen=True, kw_only=True)
class FireSampleRow:
    """A sample on the worksheet, for whom it speaks, and its portions."""

    sample: str = fields.code(
        "Sample", table="item", help="The sample that the portions were taken from"
    )
    items: tuple[str, ...] = fields.codes(
        "Speaks for", table="item", help="All items that the sample stands for"
    )
    unit: str = fields.choice(
        "Unit", tuple(PARTS), is_figure=True, help="‰ of metal, g/t of concentrate"
    )
    portions: tuple[PortionRow, ...] = fields.rows("Portions", PortionRow, most=10)
    silver: Decimal | None = fields.number(
        "Silver by another method", "", optional=True,
        help="In the unit, where no beads were weighed",
    )  # fmt: skip
    base: Decimal | None = fields.number(
        "Base metal", "", optional=True, help="In the unit, where determined"
    )
    white: bool | None = fields.flag(
        "White alloy", optional=True, help="Holds nickel or palladium"
    )

    @property
    def has_beads(self) -> bool:
        """Return whether any bead was weighed before parting."""
        return any(row.bead_mg is not None for row in self.portions)


@dataclass(frozen=True, kw_only=True)
class ProofRow:
    """A proof cupelled beside the samples: pure metal taken, and found."""

    gold_taken_mg: Decimal = fields.number("Gold taken", "mg", high="1000000")
    gold_found_mg: Decimal = fields.number("Gold found", "mg", high="1000000")
    silver_taken_mg: Decimal | None = fields.number(
        "Silver taken", "mg", high="1000000", optional=True, help="With that added"
    )
    silver_found_mg: Decimal | None = fields.number(
        "Silver found", "mg", high="1000000", optional=True, help="Bead less cornet"
    )

    @property
    def proof(self) -> Proof:
        """Return the row as the arithmetic knows it."""
        return Proof(
            gold_taken_mg=self.gold_taken_mg,
            gold_found_mg=self.gold_found_mg,
            silver_taken_mg=self.silver_taken_mg,
            silver_found_mg=self.silver_found_mg,
        )


@kind("fire_assay.reported", group="assay", title="Fire assay reported", can_void=True)
@dataclass(frozen=True, kw_only=True)
class FireAssayReported(Statement):
    """A fire assay's worksheet: portions, cornets and beads, and the proofs."""

    laboratory: str = fields.code("Laboratory", table="place")
    standing: str = fields.choice(
        "Standing", STANDINGS, help="Whose figure it is, and whether it may change"
    )
    sampler: str = fields.code(
        "Sampler", help="The cutter, spear, drill or ladle that took the samples"
    )
    samples: tuple[FireSampleRow, ...] = fields.rows("Samples", FireSampleRow, most=50)
    proofs: tuple[ProofRow, ...] = fields.rows(
        "Proofs", ProofRow, optional=True, most=20,
        help="At least two, made up like the samples and cupelled beside them",
    )  # fmt: skip

    def check(self, act: Act, state: State) -> None:
        """Refuse samples never taken or replaced, and what cannot be assayed so."""
        check_laboratory(state, self.laboratory)
        check_samples(state, self.samples, sorts=SOLIDS)
        self.check_figures(act, state)

    def check_figures(self, act: Act, state: State) -> None:
        """Refuse too few proofs, and masses and contents that cannot be."""
        _check_proofs(self.proofs)
        for n, row in enumerate(self.samples):
            path = f"samples[{n}]"
            for m, portion in enumerate(row.portions):
                _check_portion(portion, f"{path}.portions[{m}]")
            _check_silver(row, self._proofs, path)
            self._check_contents(row, path)

    def _check_contents(self, row: FireSampleRow, path: str) -> None:
        worked = self._worked(row)
        for metal, found in worked.metals():
            if found > PARTS[row.unit]:
                raise FinenessOver1000(
                    f"{path}: {metal} comes to {found} {UNIT_WORDS[row.unit]}, more"
                    " than the whole. Check the masses and the proofs.",
                    field=path,
                )

    @property
    def _proofs(self) -> tuple[Proof, ...]:
        return tuple(row.proof for row in self.proofs)

    def _worked(self, row: FireSampleRow) -> Worked:
        """Return what a sample's portions come to."""
        parts, portions = PARTS[row.unit], [each.portion for each in row.portions]
        gains = gold_gains_mg(self._proofs)
        gold = [gold_content(each, gains, parts) for each in portions]
        silver = row.silver
        if silver is None:
            gains = silver_gains_mg(self._proofs)
            silvers = [silver_content(each, gains, parts) for each in portions]
            silver = half_even(mean(silvers), STEP)
        return Worked(
            sample=row.sample,
            item=row.items[0],
            unit=row.unit,
            is_white=bool(row.white),
            portions=tuple(portions),
            golds=tuple(gold),
            gold=half_even(mean(gold), STEP),
            silver=silver,
            base=row.base,
        )

    def measures(self, act: Act, state: State) -> Iterator[Record]:
        """Yield a new version of each item's content, and what the worksheet shows."""
        work = Work(
            laboratory=self.laboratory,
            method="fire_assay",
            standing=self.standing,
            sampler=self.sampler,
        )
        yield from proof_notices(state, act, self._proofs, self.samples[0].items[0])
        for n, row in enumerate(self.samples):
            worked = self._worked(row)
            content = Content(
                unit=row.unit,
                gold=max(worked.gold, Decimal(0)),
                silver=max(worked.silver, Decimal(0)),
                base=row.base,
                gold_determinations=len(row.portions),
                silver_determinations=len(row.portions) if row.has_beads else 1,
            )
            yield from reported(
                state,
                act,
                items=row.items,
                content=content,
                work=work,
                path=f"samples[{n}]",
                sample=row.sample,
            )
            yield from worked_notices(state, act, worked, self._proofs)

    def sentence(self) -> str:
        """Return what the journal reads aloud."""
        samples = []
        for row in self.samples:
            worked, unit = self._worked(row), UNIT_WORDS[row.unit]
            by = "" if row.has_beads else " by another method"
            many = len(row.portions)
            samples.append(
                f"sample {row.sample}, for {listed(row.items)}, at {worked.gold}"
                f" {unit} gold and {worked.silver} {unit} silver{by}, from {many}"
                f" portion{'' if many == 1 else 's'}"
            )
        return (
            f"{self.laboratory} reported {self.standing} fire assays, corrected by"
            f" {len(self.proofs)} proofs: {'; '.join(samples)}."
        )


def _check_proofs(proofs: Sequence[ProofRow]) -> None:
    if len(proofs) < LEAST_PROOFS:
        raise ProofMissing(
            f"proofs: found {len(proofs)}, expected at least {LEAST_PROOFS}. A fire"
            " assay is corrected by proofs cupelled beside it; write them down.",
            field="proofs",
        )
    for n, row in enumerate(proofs):
        if row.gold_taken_mg <= 0:
            raise PortionOfNothing(
                f"proofs[{n}].gold_taken_mg: found {row.gold_taken_mg} mg; a proof"
                " holds gold. Write what was taken.",
                field=f"proofs[{n}].gold_taken_mg",
            )
        if (row.silver_taken_mg is None) != (row.silver_found_mg is None):
            raise BadField(
                f"proofs[{n}]: silver was taken or found, but not both. Write both, or"
                " neither.",
                field=f"proofs[{n}].silver_found_mg",
            )


def _check_portion(row: PortionRow, path: str) -> None:
    if row.portion_mg <= 0:
        raise PortionOfNothing(
            f"{path}.portion_mg: found {row.portion_mg} mg; a portion has a mass."
            " Weigh it again.",
            field=f"{path}.portion_mg",
        )
    if row.cornet_mg > row.portion_mg:
        raise CornetHeavierThanPortion(
            f"{path}.cornet_mg: found {row.cornet_mg} mg from a portion of"
            f" {row.portion_mg} mg. Check which cornet it is, and weigh it again.",
            field=f"{path}.cornet_mg",
        )
    if row.bead_mg is None:
        return
    all_mg = row.portion_mg + (row.silver_added_mg or Decimal(0))
    if not row.cornet_mg <= row.bead_mg <= all_mg:
        raise BeadDoesNotFit(
            f"{path}.bead_mg: found {row.bead_mg} mg; expected from the cornet's"
            f" {row.cornet_mg} mg to the {all_mg} mg that were cupelled, with any"
            " silver added. Weigh it again.",
            field=f"{path}.bead_mg",
        )


def _check_silver(row: FireSampleRow, proofs: Sequence[Proof], path: str) -> None:
    """Refuse silver said twice, not at all, or by beads that nothing corrects."""
    with_bead = sum(each.bead_mg is not None for each in row.portions)
    if row.silver is not None and with_bead:
        raise BadField(
            f"{path}.silver: {row.sample} has beads, which tell its silver. Write the"
            " beads or the other method's silver, not both.",
            field=f"{path}.silver",
        )
    if row.silver is None and with_bead < len(row.portions):
        raise BadField(
            f"{path}.silver: nothing tells the silver of {row.sample}. Write the bead"
            " of every portion, or the silver by another method.",
            field=f"{path}.silver",
        )
    if with_bead and len(silver_gains_mg(proofs)) < LEAST_PROOFS:
        raise ProofMissing(
            f"proofs: {row.sample} has beads, but fewer than {LEAST_PROOFS} proofs"
            " tell of silver. Write the silver taken and found, bead less cornet.",
            field="proofs",
        )
