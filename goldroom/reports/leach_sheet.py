"""A leach batch act by act, from charging to the release of its residue.

The account of its metal is `goldroom.reports.leach`'s and stands here whole; this
adds what was said at each act: doses, readings, drains, washes, residues let go.
"""

from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from goldroom.custody.records import Assay
from goldroom.reports import rows
from goldroom.reports.entry import EntryTold
from goldroom.reports.leach import LeachReport, leach_report
from goldroom.reports.metal import site_clock
from goldroom.reports.people import names
from goldroom.reports.plain import as_plain
from goldroom.reports.sheet_acts import (
    SheetAct,
    act_of,
    acts_of,
    cited_seqs,
    of_kind,
    said_in,
)
from goldroom.statements.leach import LeachCharged
from goldroom.statements.leach_residue import LeachDischarged
from goldroom.statements.leach_rows import ReagentRow
from goldroom.statements.leach_running import LeachDosed, LeachSampled
from goldroom.statements.leach_solutions import LeachDrained, LeachWashed

CHARGED, DOSED, SAMPLED = "leach.charged", "leach.dosed", "leach.sampled"
DRAINED, WASHED = "leach.drained", "leach.washed"
DISCHARGED, RELEASED = "leach.discharged", "leach.released"
KINDS = (CHARGED, DOSED, SAMPLED, DRAINED, WASHED, DISCHARGED, RELEASED)


@dataclass(frozen=True, kw_only=True)
class Dose:
    """Reagents issued together, in kilograms, with what was said of the reason."""

    at: str
    seq: int
    reagents: tuple[tuple[str, Decimal], ...]
    water_l: Decimal | None
    reason: str


@dataclass(frozen=True, kw_only=True)
class SheetReading:
    """Alkalinity, oxygen and free cyanide (as NaCN, mg/L) at the site's wall clock."""

    at: str
    ph: Decimal
    oxygen_mg_l: Decimal | None
    cyanide_mg_l: Decimal | None
    cyanide_by: str


@dataclass(frozen=True, kw_only=True)
class Drain:
    """Solution drawn off, litres; gold and silver in mg/L as now known.

    `wash_l` is the water it was washed with, None for a drain. `goes_to` is a wash's.
    """

    at: str
    seq: int
    item: str
    volume_l: Decimal
    measured_by: str
    wash_l: Decimal | None
    goes_to: str
    gold_mg_l: Decimal | None
    silver_mg_l: Decimal | None
    standing: str
    samples: tuple[str, ...]


@dataclass(frozen=True, kw_only=True)
class SolutionSample:
    """A sample of the running batch's solution, millilitres; mg/L as now known."""

    at: str
    seq: int
    item: str
    volume_ml: Decimal
    taken_by: str
    gold_mg_l: Decimal | None
    silver_mg_l: Decimal | None
    standing: str


@dataclass(frozen=True, kw_only=True)
class ResidueOut:
    """A residue taken out; masses are as displayed, moisture in per cent (wet)."""

    item: str
    gross: str
    tare: str
    moisture_percent: Decimal | None
    sample: str
    goes_to: str
    released_at: str


@dataclass(frozen=True, kw_only=True)
class LeachSheet:
    """A batch's acts beside its account. Times are the site's wall clock."""

    account: LeachReport
    vessel_name: str
    charged_at: str
    ended_at: str
    solids_t: Decimal | None
    water_l: Decimal | None
    doses: tuple[Dose, ...]
    readings: tuple[SheetReading, ...]
    samples: tuple[SolutionSample, ...]
    drains: tuple[Drain, ...]
    residues: tuple[ResidueOut, ...]
    undrained: str
    remaining: str
    acts: tuple[SheetAct, ...]
    seqs: tuple[int, ...]

    def to_json(self) -> Any:
        """Return the report as plain values."""
        return as_plain(self)


def leach_sheet(ledger_id: int, batch_id: str) -> LeachSheet:
    """Return a batch's sheet. Raises UnknownItem, WrongSort and ItemNotHeld."""
    account = leach_report(ledger_id, batch_id)
    parts = (*account.solutions, *account.residues)
    found = acts_of(ledger_id, KINDS, (batch_id, *(each.item for each in parts)))
    # a solution used again is charged into a later batch: that is another sheet's
    entries = tuple(
        each for each in found if each.data.get("batch", batch_id) == batch_id
    )
    clock = site_clock(ledger_id)
    charged = said_in(of_kind(entries, CHARGED)[0], LeachCharged)
    discharged = [
        said_in(each, LeachDischarged) for each in of_kind(entries, DISCHARGED)
    ]
    return LeachSheet(
        account=account,
        vessel_name=names(ledger_id).vessel(account.vessel),
        charged_at=clock.wall_text(account.charged_at),
        ended_at=clock.wall_text(account.ended_at) if account.ended_at else "",
        solids_t=charged.solids_t,
        water_l=charged.water_l,
        doses=tuple(_dose(each) for each in of_kind(entries, CHARGED, DOSED)),
        readings=tuple(
            SheetReading(
                at=clock.wall_text(each.at),
                ph=each.ph,
                oxygen_mg_l=each.oxygen_mg_l,
                cyanide_mg_l=each.cyanide_mg_l,
                cyanide_by=each.cyanide_by,
            )
            for each in account.readings
        ),
        samples=_samples(ledger_id, of_kind(entries, SAMPLED)),
        drains=_drains(ledger_id, of_kind(entries, DRAINED, WASHED)),
        residues=_residues(discharged, of_kind(entries, RELEASED)),
        undrained="; ".join(each.undrained for each in discharged if each.undrained),
        remaining="; ".join(each.remaining for each in discharged if each.remaining),
        acts=tuple(act_of(each) for each in entries),
        seqs=cited_seqs(entries),
    )


def _dose(entry: EntryTold) -> Dose:
    said: LeachCharged | LeachDosed = (
        said_in(entry, LeachCharged)
        if entry.kind == CHARGED
        else said_in(entry, LeachDosed)
    )
    return Dose(
        at=entry.occurred_wall,
        seq=entry.seq,
        reagents=_reagents(said.reagents),
        water_l=said.water_l,
        reason=said.reason if isinstance(said, LeachDosed) else "charged",
    )


def _reagents(rows_said: tuple[ReagentRow, ...]) -> tuple[tuple[str, Decimal], ...]:
    return tuple((each.reagent, each.mass_kg) for each in rows_said)


def _samples(ledger_id: int, entries: list[EntryTold]) -> tuple[SolutionSample, ...]:
    assays = {each.item: each for each in rows.every(ledger_id, Assay)}
    found = []
    for entry in entries:
        for row in said_in(entry, LeachSampled).samples:
            assay = assays.get(row.item)
            found.append(
                SolutionSample(
                    at=entry.occurred_wall,
                    seq=entry.seq,
                    item=row.item,
                    volume_ml=row.volume_ml,
                    taken_by=row.taken_by,
                    gold_mg_l=None if assay is None else assay.gold,
                    silver_mg_l=None if assay is None else assay.silver,
                    standing="" if assay is None else assay.standing,
                )
            )
    return tuple(found)


def _drains(ledger_id: int, entries: list[EntryTold]) -> tuple[Drain, ...]:
    assays = {each.item: each for each in rows.every(ledger_id, Assay)}
    found = []
    for entry in entries:
        said: LeachDrained | LeachWashed = (
            said_in(entry, LeachDrained)
            if entry.kind == DRAINED
            else said_in(entry, LeachWashed)
        )
        assay = assays.get(said.solution.item)
        found.append(
            Drain(
                at=entry.occurred_wall,
                seq=entry.seq,
                item=said.solution.item,
                volume_l=said.solution.volume_l,
                measured_by=said.solution.measured_by,
                wash_l=said.water_l if isinstance(said, LeachWashed) else None,
                goes_to=said.goes_to if isinstance(said, LeachWashed) else "",
                gold_mg_l=None if assay is None else assay.gold,
                silver_mg_l=None if assay is None else assay.silver,
                standing="" if assay is None else assay.standing,
                samples=tuple(each.item for each in said.solution.samples),
            )
        )
    return tuple(found)


def _residues(
    discharged: list[LeachDischarged], released: list[EntryTold]
) -> tuple[ResidueOut, ...]:
    let_go = {each.data["item"]: each.occurred_wall for each in released}
    return tuple(
        ResidueOut(
            item=row.item,
            gross=str(row.gross),
            tare="" if row.tare is None else str(row.tare),
            moisture_percent=row.moisture_percent,
            sample=row.sample or "",
            goes_to=row.goes_to,
            released_at=let_go.get(row.item, ""),
        )
        for each in discharged
        for row in each.residues
    )
