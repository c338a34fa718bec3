"""The steps of the work in their order: what is said at each, what stands open there.

A page of a step shows its cautions first, then what stands open, then what can be
said. Which kinds belong to a step is a table here; what is open is read from the
tables each time (`goldroom.reports.steps_open`).
"""

from collections.abc import Iterable
from dataclasses import dataclass, replace

from goldroom.reports import rows
from goldroom.reports.leach import leach_report
from goldroom.reports.steps_open import OPEN_AT, READ, Open, seen
from goldroom.statements.cautions import Caution, cautions_of
from goldroom.statements.registry import kind_named


@dataclass(frozen=True, kw_only=True)
class Step:
    """A step of the work: its name, what is done there, kinds in order of the work."""

    key: str
    name: str
    done_here: str
    kinds: tuple[str, ...]


STEPS_OF_WORK = (
    Step(
        key="cleanup",
        name="Cleanup of concentrators",
        done_here="Flushes that the plant counted are written on a sheet and seen.",
        kinds=("cleanup.recorded", "bowl.opened"),
    ),
    Step(
        key="hopper",
        name="Hopper",
        done_here="Each load is weighed at a marked water level; the hopper is emptied"
        " into a lot, under seals.",
        kinds=(
            "hopper.weighed",
            "hopper.drawn_off",
            "hopper.opened",
            "hopper.emptied",
            "hopper.closed",
            "seal.inspected",
        ),
    ),
    Step(
        key="table",
        name="Table",
        done_here="Lots and middlings are parted into concentrate, middlings and"
        " tails.",
        kinds=("table.run",),
    ),
    Step(
        key="leach",
        name="Intensive leach",
        done_here="Concentrate is dissolved in batches; solutions and residue are"
        " sampled and leave by name.",
        kinds=(
            "leach.charged",
            "leach.dosed",
            "leach.sampled",
            "leach.drained",
            "leach.washed",
            "leach.discharged",
            "leach.released",
        ),
    ),
    Step(
        key="cells",
        name="Cells",
        done_here="Gold is won from solutions; cathodes are cleaned of their sludge.",
        kinds=("cells.run", "cells.opened", "cells.cleaned", "cells.closed"),
    ),
    Step(
        key="drying",
        name="Drying",
        done_here="Water, sulphur and mercury are driven off; no metal goes with them.",
        kinds=("material.dried", "material.calcined", "material.retorted"),
    ),
    Step(
        key="smelt",
        name="Smelt and pour",
        done_here="Charges are made up and poured; slag, skulls and sweepings are"
        " kept by name.",
        kinds=(
            "charge.made_up",
            "remelt.charged",
            "charge.poured",
            "slag.weighed",
            "slag.released",
            "sweepings.collected",
            "other_metal.received",
        ),
    ),
    Step(
        key="bars",
        name="Bars",
        done_here="Bars are stamped, weighed and looked at.",
        kinds=("bar.numbered", "bar.reweighed", "bar.density_measured"),
    ),
    Step(
        key="samples",
        name="Samples and assays",
        done_here="Samples are taken, split and followed; the laboratory's results"
        " are written down.",
        kinds=(
            "sample.taken",
            "sample.split",
            "sample.moved",
            "sample.returned",
            "sample.consumed",
            "assay.reported",
            "fire_assay.reported",
            "screen_assay.reported",
            "solution_assay.reported",
        ),
    ),
    Step(
        key="vault",
        name="Vault",
        done_here="Bars are put into the safe, counted and taken out, under seals.",
        kinds=("vault.placed", "vault.taken", "vault.counted"),
    ),
    Step(
        key="dispatch",
        name="Dispatch",
        done_here="Bars are handed to a carrier, received and melted at the refinery.",
        kinds=(
            "dispatch.advised",
            "dispatch.handed_over",
            "dispatch.received",
            "dispatch.melted",
        ),
    ),
)
"""The flow of metal as people work it; month end is the accountant's own page."""

BY_KEY = {step.key: step for step in STEPS_OF_WORK}


def steps_from(kind: str) -> tuple[Step, ...]:
    """Return the step at which a kind is said and the next one; none for others."""
    for step, following in zip(STEPS_OF_WORK, (*STEPS_OF_WORK[1:], None), strict=True):
        if kind in step.kinds:
            return (step,) if following is None else (step, following)
    return ()


@dataclass(frozen=True, kw_only=True)
class Say:
    """A kind that can be said at a step, by the name that people call it."""

    kind: str
    title: str


@dataclass(frozen=True, kw_only=True)
class StepNow:
    """A step as it stands: its cautions, what is open, what can be said."""

    step: Step
    cautions: tuple[Caution, ...]
    open: tuple[Open, ...]
    sayable: tuple[Say, ...]

    @property
    def more(self) -> int:
        """Return how many things stand open beside the first."""
        return max(0, len(self.open) - 1)


def every_step(ledger_id: int, *, hidden: Iterable[str] = ()) -> tuple[StepNow, ...]:
    """Return every step as it stands now, in the order of the work.

    `hidden` are kinds that the reader may not read of: what only such an entry told
    is left out, shipments that have not left among it.
    """
    hidden_kinds = frozenset(hidden)
    with rows.read_together(ledger_id, *READ):
        now = seen(ledger_id)
    return tuple(
        StepNow(
            step=step,
            cautions=_cautions(step.kinds),
            open=tuple(
                _with_account(ledger_id, each)
                for each in OPEN_AT[step.key](now)
                if each.by not in hidden_kinds
            ),
            sayable=tuple(
                Say(kind=kind, title=kind_named(kind).title) for kind in step.kinds
            ),
        )
        for step in STEPS_OF_WORK
    )


def _with_account(ledger_id: int, found: Open) -> Open:
    """Return a running leach batch with what its account says of its gold."""
    if not found.batch:
        return found
    gold = leach_report(ledger_id, found.batch).metals[0]
    said = (
        f"Gold charged {gold.charged}, dissolved so far {gold.dissolved}; left in the"
        f" vessel by difference {gold.left}."
    )
    return replace(found, account=said)


def _cautions(kinds: Iterable[str]) -> tuple[Caution, ...]:
    """Return the cautions of all these kinds, each once, most dangerous work first."""
    found = sorted((cautions_of(kind) for kind in kinds), key=len, reverse=True)
    return tuple(dict.fromkeys(each for cautions in found for each in cautions))
