"""A leach while it runs: reagents issued, and readings and samples of its solution.

A sample of the solution is drawn off the batch: what it holds is metal, and the
batch holds so much less. The strength of cyanide is worked out from the burette.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from decimal import Decimal

from goldroom.custody.act import Act
from goldroom.custody.leach import LeachReading
from goldroom.custody.numbers import check_numbers
from goldroom.custody.records import Record
from goldroom.custody.rules import check_new_items
from goldroom.custody.state import State
from goldroom.metal.leach import sodium_cyanide_mg_l
from goldroom.statements import fields
from goldroom.statements.fields import BadField
from goldroom.statements.kind import Statement, kind
from goldroom.statements.leach_rows import (
    ReagentRow,
    SolutionSampleRow,
    TitrationRow,
)
from goldroom.statements.leaching import (
    alkalinity_notices,
    batch_at_hand,
    brought_to,
    draw_samples,
    next_reading_version,
    reagent_notices,
    reagents_issued,
    reagents_words,
    sample_volumes,
    samples_named,
    samples_words,
)
from goldroom.statements.wording import listed


@kind("leach.dosed", group="room", title="Reagents issued to a leach", can_void=True)
@dataclass(frozen=True, kw_only=True)
class LeachDosed(Statement):
    """Reagents issued to a running batch, or the batch made up anew with water."""

    batch: str = fields.code("Batch", table="item")
    reagents: tuple[ReagentRow, ...] = fields.rows("Reagents", ReagentRow, most=20)
    water_l: Decimal | None = fields.number(
        "Fresh water", "L", low="0.1", optional=True, is_figure=False,
        help="Where the drained batch was made up anew",
    )  # fmt: skip
    reason: str = fields.text("Reason", help="pH fell, cyanide low, second leach ...")

    def check(self, act: Act, state: State) -> None:
        """Refuse a batch that is not in its vessel."""
        batch_at_hand(state, self.batch)

    def apply(self, act: Act, state: State) -> Iterator[Record]:
        """Yield the reagents, the batch leaching again, and unusual masses."""
        yield from self.measures(act, state)
        if self.water_l is not None:
            yield from brought_to(state, act, self.batch, "leaching")
        yield from reagent_notices(state, act, self.batch, self.reagents)

    def measures(self, act: Act, state: State) -> Iterator[Record]:
        """Yield the reagents."""
        yield from reagents_issued(state, act, self.batch, self.reagents, self.reason)

    def sentence(self) -> str:
        """Return what the journal reads aloud."""
        anew = ""
        if self.water_l is not None:
            anew = f" and made up anew with {self.water_l} L of water"
        return (
            f"Leach batch {self.batch} was given {reagents_words(self.reagents)}{anew}:"
            f" {self.reason}."
        )


@kind("leach.sampled", group="room", title="Leach sampled", can_void=True)
@dataclass(frozen=True, kw_only=True)
class LeachSampled(Statement):
    """A running batch's alkalinity, oxygen and cyanide, and samples of its solution."""

    batch: str = fields.code("Batch", table="item")
    ph: Decimal = fields.number("pH", "", high="14")
    oxygen_mg_l: Decimal | None = fields.number(
        "Dissolved oxygen", "mg/L", high="100", optional=True
    )
    titration: TitrationRow | None = fields.one(
        "Free cyanide by silver nitrate", TitrationRow, optional=True,
        help="What the burette showed; the strength is worked out",
    )  # fmt: skip
    cyanide_mg_l: Decimal | None = fields.number(
        "Free cyanide as sodium cyanide", "mg/L", high="500000", optional=True,
        help="Only where the burette's figures are not at hand",
    )  # fmt: skip
    samples: tuple[SolutionSampleRow, ...] = fields.rows(
        "Samples of the solution", SolutionSampleRow, optional=True, most=20,
        help="Stir first: a sample taken before mixing tells nothing",
    )  # fmt: skip

    def check(self, act: Act, state: State) -> None:
        """Refuse a batch not in its vessel, and sample ids used before."""
        batch_at_hand(state, self.batch)
        samples = samples_named(self.samples, "samples")
        check_new_items(state, samples)
        check_numbers(state, act, "sample", samples)
        self.check_figures(act, state)

    def check_figures(self, act: Act, state: State) -> None:
        """Refuse a cyanide figure given beside the burette's."""
        if self.titration is not None and self.cyanide_mg_l is not None:
            raise BadField(
                "cyanide_mg_l: the burette's figures are given, and the strength is"
                " worked out from them. Leave one of the two out.",
                field="cyanide_mg_l",
            )

    def apply(self, act: Act, state: State) -> Iterator[Record]:
        """Yield the samples, the reading, and an alkalinity too low."""
        yield from draw_samples(state, act, self.samples, self.batch)
        yield from self.measures(act, state)
        yield from alkalinity_notices(state, act, self.batch, self.ph, "pH")

    def measures(self, act: Act, state: State) -> Iterator[Record]:
        """Yield the reading and the samples' volumes."""
        yield LeachReading(
            batch=self.batch,
            measured_in=act.measured_in,
            version=next_reading_version(state, act, self.batch),
            ph=self.ph,
            oxygen_mg_l=self.oxygen_mg_l,
            cyanide_mg_l=self._cyanide_mg_l(),
            cyanide_by=self._cyanide_by(),
            at=act.at,
            entry=act.entry,
            known_at=act.known_at,
        )
        yield from sample_volumes(state, act, self.samples, "samples")

    def _cyanide_mg_l(self) -> Decimal | None:
        """Return the free cyanide given, or worked out to a burette's four digits."""
        if self.titration is None:
            return self.cyanide_mg_l
        found = sodium_cyanide_mg_l(
            titrant_ml=float(self.titration.titrant_ml),
            titrant_g_l=float(self.titration.titrant_g_l),
            sample_ml=float(self.titration.sample_ml),
        )
        return Decimal(format(Decimal(f"{found:.3e}"), "f"))

    def _cyanide_by(self) -> str:
        if self.titration is not None:
            return "titration"
        return "" if self.cyanide_mg_l is None else "given"

    def sentence(self) -> str:
        """Return what the journal reads aloud."""
        told = [f"pH {self.ph}"]
        if self.oxygen_mg_l is not None:
            told.append(f"dissolved oxygen {self.oxygen_mg_l} mg/L")
        if self._cyanide_by():
            told.append(
                f"free cyanide {self._cyanide_mg_l()} mg/L NaCN{self._burette()}"
            )
        samples = ""
        if self.samples:
            samples = f" Samples of its solution: {samples_words(self.samples)}."
        return f"Leach batch {self.batch} showed {listed(told)}.{samples}"

    def _burette(self) -> str:
        if self.titration is None:
            return ""
        row = self.titration
        return (
            f" ({row.titrant_ml} mL of silver nitrate at {row.titrant_g_l} g/L on"
            f" {row.sample_ml} mL)"
        )
