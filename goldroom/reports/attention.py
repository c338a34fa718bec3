"""What wants attention: all that was noticed, the newest first.

Two sources, one list: what the fold noticed in a single entry, and what the rules of
`goldroom.findings` see over several entries or as time passes. The moment is given;
a report reads no clock.
"""

from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass, replace
from datetime import datetime

from goldroom.custody.act import utc_text
from goldroom.custody.cells import CellLoad
from goldroom.custody.dealings import Contract, Exchanged, Outturn, Settled
from goldroom.custody.error_budget import ErrorBudget
from goldroom.custody.moves import HELD
from goldroom.custody.paper import PaperForm
from goldroom.custody.period import ClosedPeriod, Restatement
from goldroom.custody.records import (
    Assay,
    Concentrator,
    Emergency,
    Estimate,
    Flush,
    Instrument,
    Item,
    Limit,
    Mass,
    Noticed,
    Person,
    Seal,
    Shipment,
    Vessel,
    Volume,
)
from goldroom.custody.review import Review, rule_finding
from goldroom.custody.room import DetectorAlarm, Incident
from goldroom.custody.sampled import Sample
from goldroom.custody.stock import StockCheck, StockCount
from goldroom.errors import TableDamaged
from goldroom.findings import (
    assays,
    counts,
    doors,
    paper,
    record,
    seals,
    signing,
    stock,
)
from goldroom.findings.found import Found, Threshold
from goldroom.findings.solution_call import CALL_WITHIN
from goldroom.models import JournalLine
from goldroom.reports import rows
from goldroom.reports.dealings import NEAR_WITHIN, melts_waiting
from goldroom.reports.journal import Line, lines_at
from goldroom.reports.limits import thresholds
from goldroom.reports.samples import ACCOUNTED_WITHIN, sample_findings
from goldroom.reports.solution_call import call_findings
from goldroom.reports.standing import looking_back
from goldroom.reports.stock import held_bars, placed_items
from ledger import read

READ = (
    Noticed, Review, Limit, Item, Mass, Assay, Estimate, Volume, Flush, Concentrator,
    Seal, Shipment, PaperForm, Emergency, Incident, DetectorAlarm, Sample, StockCount,
    Instrument, ErrorBudget, CellLoad, Contract, Outturn, Exchanged, Settled,
    ClosedPeriod, Person, Restatement, StockCheck, Vessel,
)  # fmt: skip
"""What the rules ask for, read in one query."""


@dataclass(frozen=True, kw_only=True)
class Concern:
    """Something to look at. `entry` is the entry that shows it ("" for several).

    `finding` names it in a review; `review` is the latest word on it, of a time since
    it arose (None if nobody has reviewed it).
    """

    code: str
    level: str
    item: str
    found: str
    expected: str
    message: str
    at: str
    entry: str
    finding: str
    review: Review | None = None

    @property
    def rule(self) -> str:
        """Return its rule in words."""
        return self.code.replace("_", " ")

    @property
    def is_open(self) -> bool:
        """Tell whether nobody has explained it or acted on it yet."""
        return self.review is None or self.review.outcome == "still_open"


def attention(
    ledger_id: int,
    *,
    now: datetime,
    level: str = "",
    since: str = "",
    only_open: bool = False,
) -> tuple[Concern, ...]:
    """Return what wants attention, the newest first, with the latest word on each.

    With `level`, only exceptions or only notices; with `since` (UTC text), only what
    arose then or later; with `only_open`, only what nobody has settled by a review.
    """
    with rows.read_together(ledger_id, *READ):
        concerns = [_of_entry(each) for each in rows.every(ledger_id, Noticed)]
        concerns += [_of_rule(each) for each in standing_findings(ledger_id, now=now)]
        reviews = {each.finding: each for each in rows.every(ledger_id, Review)}
    reviewed = [_with_review(each, reviews.get(each.finding)) for each in concerns]
    wanted = [
        each
        for each in reviewed
        if each.at >= since
        and level in ("", each.level)
        and (each.is_open or not only_open)
    ]
    return tuple(
        sorted(wanted, key=lambda each: (each.at, each.code, each.item), reverse=True)
    )


def noticed_in(ledger_id: int, entries: Collection[str]) -> tuple[Concern, ...]:
    """Return what the fold noticed in these entries, in their order."""
    order = {entry: n for n, entry in enumerate(entries)}
    found = [each for each in rows.every(ledger_id, Noticed) if each.entry in order]
    found.sort(key=lambda each: (order[each.entry], each.n))
    return tuple(_of_entry(each) for each in found)


def standing_findings(ledger_id: int, *, now: datetime) -> list[Found]:
    """Return what the rules over several entries find at this moment."""
    limits = thresholds(ledger_id)
    return [
        *looking_back(ledger_id, limits=limits, now=now),
        *_at_this_moment(ledger_id, limits=limits, now=now),
        *signing.second_signatures_late(
            _waiting(ledger_id), within=limits[signing.SECOND_WITHIN], now=now
        ),
    ]


def _at_this_moment(
    ledger_id: int, *, limits: Mapping[str, Threshold], now: datetime
) -> list[Found]:
    """Return what is open, overdue, over or left out as things stand."""
    bars = _bars(ledger_id)
    flushes = rows.every(ledger_id, Flush)
    return [
        *record.emergencies_unratified(
            rows.every(ledger_id, Emergency, "open"),
            within=limits[record.RATIFIED_WITHIN],
            now=now,
        ),
        *record.incidents_open(
            rows.every(ledger_id, Incident, "open"),
            within=limits[record.CLOSED_WITHIN],
            now=now,
        ),
        *doors.alarms_cleared_by_hand(
            rows.every(ledger_id, DetectorAlarm),
            at_least=limits[doors.ALARMS],
            within=limits[doors.COUNTED_OVER],
            now=now,
        ),
        *paper.forms_left_out(
            rows.every(ledger_id, PaperForm),
            within=limits[paper.PASSED_OVER_FOR],
            now=now,
        ),
        *seals.seals_unused(
            _issued(ledger_id), within=limits[seals.USED_WITHIN], now=now
        ),
        *signing.pairs_signing_most(
            _signed(ledger_id, now), at_most=limits[signing.SAME_PAIR], now=now
        ),
        *counts.flushes_on_no_sheet(
            flushes, within=limits[counts.ON_SHEET_WITHIN], now=now
        ),
        *counts.counters_skipping(rows.every(ledger_id, Concentrator), flushes),
        *assays.bars_without_final_assay(
            bars,
            _assays(ledger_id, bars),
            within=limits[assays.FINAL_WITHIN],
            now=now,
        ),
        *stock.shipments_open(
            _sent(ledger_id), within=limits[stock.OPEN_WITHIN], now=now
        ),
        *stock.bars_kept_long(bars, within=limits[stock.SHIPPED_WITHIN], now=now),
        *sample_findings(ledger_id, within=limits[ACCOUNTED_WITHIN], now=now),
        *call_findings(ledger_id, within=limits[CALL_WITHIN], now=now),
        *melts_waiting(ledger_id, within=limits[NEAR_WITHIN], now=now),
        *stock.stock_over_insured(
            held_bars(ledger_id, bars), at_most=limits[stock.INSURED]
        ),
        *stock.not_in_last_count(
            rows.every(ledger_id, StockCount), placed_items(ledger_id)
        ),
    ]


def _of_entry(noticed: Noticed) -> Concern:
    return Concern(
        code=noticed.code,
        level=noticed.level,
        item=noticed.item,
        found=noticed.found,
        expected=noticed.expected,
        message=noticed.message,
        at=noticed.at,
        entry=noticed.entry,
        finding=noticed.key,
    )


def _of_rule(found: Found) -> Concern:
    return Concern(
        code=found.code,
        level=found.level,
        item=found.item,
        found=found.found,
        expected=found.expected,
        message=found.message,
        at=found.at,
        entry="",
        finding=rule_finding(found.code, found.item),
    )


def _with_review(concern: Concern, review: Review | None) -> Concern:
    """Return the concern with its review, if that spoke of it as it stands now.

    What a rule finds again, after a review, is new and has not been reviewed.
    """
    if review is None or (not concern.entry and review.at < concern.at):
        return concern
    return replace(concern, review=review)


def _bars(ledger_id: int) -> list[Item]:
    held = rows.every(ledger_id, Item, *HELD)
    return [item for item in held if item.sort == "bar"]


def _assays(ledger_id: int, bars: Iterable[Item]) -> dict[str, list[Assay]]:
    keys = [
        f"{bar.item}/{version:03d}" for bar in bars for version in _upto(bar.assays)
    ]
    found: dict[str, list[Assay]] = {}
    for assay in rows.by_keys(ledger_id, Assay, keys).values():
        found.setdefault(assay.item, []).append(assay)
    return found


def _upto(count: int) -> range:
    return range(1, count + 1)


def _issued(ledger_id: int) -> list[seals.IssuedSeal]:
    issued = rows.with_seqs(ledger_id, Seal, "issued")
    lines = lines_at(ledger_id, (seq for _, seq in issued))
    return [
        seals.IssuedSeal(seal=seal, issued_at=_occurred_at(lines, seq))
        for seal, seq in issued
    ]


def _sent(ledger_id: int) -> list[stock.SentShipment]:
    sent = rows.with_seqs(ledger_id, Shipment, "handed_over")
    lines = lines_at(ledger_id, (seq for _, seq in sent))
    return [
        stock.SentShipment(shipment=shipment, handed_over_at=_occurred_at(lines, seq))
        for shipment, seq in sent
    ]


def _waiting(ledger_id: int) -> list[signing.WaitingStatement]:
    return [
        signing.WaitingStatement(entry=each.entry_id, kind=each.kind, since=each.since)
        for each in read.waiting(ledger_id)
    ]


def _occurred_at(lines: Mapping[int, Line], seq: int) -> str:
    """Return when the entry of this number happened. Raises TableDamaged."""
    if seq not in lines:
        raise TableDamaged(
            f"goldroom_journal: the line of entry {seq} is missing. Run verify_ledger"
            " to see what else is wrong, then rebuild_tables."
        )
    return lines[seq].occurred_at


def _signed(ledger_id: int, now: datetime) -> list[signing.SignedAct]:
    with rows.readable():
        found = list(
            JournalLine.objects.filter(
                ledger_id=ledger_id,
                signing_class="two",
                occurred_at__gte=utc_text(now - signing.WINDOW),
            ).values_list("occurred_at", "people")
        )
    return [
        signing.SignedAct(at=at, people=tuple(people.split())) for at, people in found
    ]
