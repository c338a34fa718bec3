"""What the rules that look back need, out of the read tables: families, melts, months.

Only what a rule looks at is read, by the words that mark it in the stored record; a
whole reconciliation is never drawn here: the gravity check is that of the closed
periods, as they were reported.
"""

from collections.abc import Mapping
from datetime import datetime, timedelta
from decimal import Decimal

from goldroom.custody.act import utc_text
from goldroom.custody.moves import HELD
from goldroom.custody.period import ClosedPeriod, Restatement
from goldroom.custody.records import (
    Assay,
    Estimate,
    Instrument,
    Item,
    Mass,
    Noticed,
    Person,
    Vessel,
)
from goldroom.custody.review import Review
from goldroom.custody.stock import StockCheck
from goldroom.findings import gravity, in_process, melts, people, seals, unusual
from goldroom.findings.family import Point
from goldroom.findings.found import Found, Threshold
from goldroom.metal.units import to_grams
from goldroom.models import JournalLine, Row
from goldroom.reconcile.ledger_records import LedgerRecords
from goldroom.reconcile.priors import Quantities
from goldroom.reports import rows
from goldroom.reports.both_sides import melts_of_both
from goldroom.reports.figures import dry_g, newest, versions, wanted

LATELY = timedelta(days=92)
"""How far back a figure unlike its family is still told: a quarter."""

MONTH = timedelta(days=30)
COUNTS = ("stock.counted", "vault.counted")
CORRECTION = "record.corrected"
Limits = Mapping[str, Threshold]


def looking_back(ledger_id: int, *, limits: Limits, now: datetime) -> list[Found]:
    """Return what the rules find that compare with what came before."""
    return [
        *_of_tails(ledger_id, limits, utc_text(now - LATELY)),
        *_of_pours(ledger_id, limits, utc_text(now - LATELY)),
        *_of_hoppers(ledger_id, limits, utc_text(now - LATELY)),
        *_of_melts(ledger_id, limits, utc_text(now - LATELY)),
        *_of_periods(ledger_id, limits),
        *_of_people(ledger_id, limits, now),
        *_of_seals(ledger_id, limits, now),
        *_of_stock(ledger_id, limits, utc_text(now - LATELY)),
    ]


def _of_tails(ledger_id: int, limits: Limits, since: str) -> list[Found]:
    """Return the table's tails and the leach's residues, each against its own kind."""
    found: list[Found] = []
    for wanted_for, sort in (("table_tails", "tails"), ("residue", "residue")):
        assays = newest(wanted(ledger_id, Assay, wanted_for))
        items = rows.by_keys(ledger_id, Item, assays)
        points = [
            Point(item=name, at=items[name].held_from, value=assays[name].gold)
            for name in assays
            if name in items and items[name].sort == sort and assays[name].unit == "gpt"
        ]
        found += unusual.tails_above_usual(
            points, above=limits[unusual.TAILS_ABOVE], since=since
        )
    return found


def _of_pours(ledger_id: int, limits: Limits, since: str) -> list[Found]:
    """Return what is odd about slag beside its charge, and bullion beside others'."""
    within = limits[unusual.OUT_OF_FAMILY]
    return [
        *unusual.slag_unusual(slag_shares(ledger_id), within=within, since=since),
        *unusual.composition_unusual(
            compositions(ledger_id), within=within, since=since
        ),
    ]


def slag_shares(ledger_id: int) -> list[Point]:
    """Return each slag's mass to that of its charge, kg/kg, where both are known.

    Bars melted again take a little flux only: their slag is of another family.
    """
    weighed = newest(wanted(ledger_id, Mass, "slag"))
    made = rows.by_keys(ledger_id, Item, weighed)
    charges = _charges_of(ledger_id, made)
    parts = [part for each in charges.values() for part in each.parents]
    sources = rows.by_keys(ledger_id, Item, parts)
    charged = dry_g(ledger_id, parts)
    shares = []
    for name, charge in charges.items():
        of_it = [sources[part] for part in charge.parents if part in sources]
        if made[name].sort != "slag" or any(each.sort == "bar" for each in of_it):
            continue
        whole_g = sum(
            (charged.get(part, Decimal(0)) for part in charge.parents), Decimal(0)
        )
        if whole_g:
            share = weighed[name].dry_g / whole_g
            shares.append(Point(item=name, at=made[name].held_from, value=share))
    return shares


def compositions(ledger_id: int) -> list[unusual.Composition]:
    """Return each pour's bullion by the newest assay of its bars, by its charge."""
    assays = newest(wanted(ledger_id, Assay, "bar"))
    made = rows.by_keys(ledger_id, Item, assays)
    pours: dict[str, unusual.Composition] = {}
    for name, charge in sorted(_charges_of(ledger_id, made).items()):
        if made[name].sort == "bar" and assays[name].unit == "permille":
            pours[charge.item] = unusual.Composition(
                item=charge.item,
                at=made[name].held_from,
                gold_permille=assays[name].gold,
                silver_permille=assays[name].silver,
            )
    return list(pours.values())


def _charges_of(ledger_id: int, made: Mapping[str, Item]) -> dict[str, Item]:
    """Return the charge that each of these came from; others are left out."""
    firsts = {name: each.parents[0] for name, each in made.items() if each.parents}
    parents = rows.by_keys(ledger_id, Item, firsts.values())
    return {
        name: parents[parent]
        for name, parent in firsts.items()
        if parent in parents and parents[parent].sort == "charge"
    }


def _of_hoppers(ledger_id: int, limits: Limits, since: str) -> list[Found]:
    """Return what is odd about the rises between readings of the hoppers' cells."""
    masses = newest(
        each for each in wanted(ledger_id, Mass, "hopper_rise") if each.at >= since
    )
    items = rows.by_keys(ledger_id, Item, masses)
    hoppers = {
        each.load_cells: each.vessel
        for each in rows.containing(ledger_id, Vessel, '"sort":"hopper"')
        if each.load_cells
    }
    cells = rows.by_keys(ledger_id, Instrument, hoppers)
    intervals = limits["hopper_fall_intervals"].value
    rises = []
    for name, mass in masses.items():
        read = [each for each in mass.terms if each.instrument in cells]
        if not read or name not in items:
            continue
        instrument = cells[read[0].instrument]
        step_g = to_grams(instrument.interval, instrument.unit)
        rises.append(
            unusual.Rise(
                load=name,
                hopper=hoppers[instrument.instrument],
                flushes=len(items[name].parents),
                dry_g=mass.dry_g,
                resolution_g=intervals * step_g * abs(read[0].coefficient),
                at=items[name].held_from,
            )
        )
    return [
        *unusual.rises_without_flush(rises, since=since),
        *unusual.rises_unusual(
            rises,
            percent=limits[unusual.RISE_WITHIN],
            within=limits[unusual.OUT_OF_FAMILY],
            since=since,
        ),
    ]


def _of_melts(ledger_id: int, limits: Limits, since: str) -> list[Found]:
    both = melts_of_both(ledger_id)
    return [
        *melts.assays_apart(
            both,
            gold=limits[melts.SPLITTING["gold"]],
            silver=limits[melts.SPLITTING["silver"]],
            since=since,
        ),
        *melts.masses_one_way(both),
        *melts.assays_one_way(both, within=limits[melts.BIAS]),
    ]


def reported_checks(ledger_id: int) -> list[gravity.ReportedCheck]:
    """Return the gravity check of each closed period, as it was reported last."""
    said = {each.period: each.reported for each in rows.every(ledger_id, Restatement)}
    found = []
    for each in rows.every(ledger_id, ClosedPeriod):
        check = said.get(each.period, each.reported).gravity
        if not check.estimated_g or check.accounted_g is None:
            continue
        found.append(
            gravity.ReportedCheck(
                period=each.period,
                at=each.to_at,
                estimated_g=check.estimated_g,
                estimated_u_g=check.estimated_u_g or Decimal(0),
                accounted_g=check.accounted_g,
                accounted_u_g=check.accounted_u_g or Decimal(0),
            )
        )
    return found


def _of_periods(ledger_id: int, limits: Limits) -> list[Found]:
    checks = reported_checks(ledger_id)
    return [
        *gravity.gravity_apart(
            checks,
            month=limits[gravity.MONTH_WITHIN],
            quarter=limits[gravity.QUARTER_WITHIN],
            year=limits[gravity.YEAR_WITHIN],
        ),
        *gravity.gravity_drifting(checks, within=limits[gravity.DRIFT_WITHIN]),
    ]


def _of_people(ledger_id: int, limits: Limits, now: datetime) -> list[Found]:
    """Return who was corrected often, and counts signed by those who operate."""
    since = utc_text(now - LATELY)
    with rows.readable():
        lines = list(
            JournalLine.objects.filter(
                ledger_id=ledger_id,
                signing_class="two",
                occurred_at__gte=utc_text(now - MONTH),
            ).values_list("seq", "entry_id", "kind", "occurred_at", "people")
        )
        counts = list(
            JournalLine.objects.filter(
                ledger_id=ledger_id, kind__in=COUNTS, occurred_at__gte=since
            ).values_list("entry_id", "occurred_at", "people")
        )
    corrections = {seq: at for seq, _, kind, at, _ in lines if kind == CORRECTION}
    with rows.readable():
        put_right = dict(
            Row.objects.filter(
                ledger_id=ledger_id, record="said", seq__in=list(corrections)
            ).values_list("key", "seq")
        )
    signings = [
        people.Signing(
            person=person,
            at=at,
            corrected_at=corrections[put_right[entry]] if entry in put_right else "",
        )
        for seq, entry, _, at, signers in lines
        for person in signers.split()
        if put_right.get(entry) != seq
    ]
    roles = {each.person: each.roles for each in rows.every(ledger_id, Person)}
    signed = [
        people.CountSigned(
            entry=entry,
            at=at,
            roles_of={each: roles.get(each, ()) for each in signers.split()},
        )
        for entry, at, signers in counts
    ]
    return [
        *people.corrected_often(signings, at_most=limits[people.CORRECTED_SHARE]),
        *people.counted_by_operators(signed, since=since),
    ]


def _of_seals(ledger_id: int, limits: Limits, now: datetime) -> list[Found]:
    settled = {
        each.finding
        for each in rows.every(ledger_id, Review)
        if each.outcome != "still_open"
    }
    return seals.seal_findings_open(
        rows.containing(ledger_id, Noticed, '"code":"seal_'),
        settled,
        within=limits[seals.REVIEWED_WITHIN],
        now=now,
    )


def _of_stock(ledger_id: int, limits: Limits, since: str) -> list[Found]:
    return [
        *in_process.other_share_high(
            _in_process(ledger_id), at_most=limits[in_process.OTHER_SHARE]
        ),
        *in_process.counts_apart_together(
            _counts_together(ledger_id, since), within=limits[in_process.COUNT_PPM]
        ),
    ]


def _in_process(ledger_id: int) -> list[in_process.InProcess]:
    """Return what is held before the vault, with its gold as measured."""
    held = [
        each
        for each in rows.every(ledger_id, Item, *HELD)
        if each.step and each.step != "vault"
    ]
    if not any(each.sort in in_process.OTHER_SORTS for each in held):
        return []
    records = [
        *held,
        *rows.every(ledger_id, Instrument),
        *versions(ledger_id, Mass, held, "masses"),
        *versions(ledger_id, Assay, held, "assays"),
        *versions(ledger_id, Estimate, held, "estimates"),
    ]
    quantities = Quantities(LedgerRecords.from_records(records))
    return [
        in_process.InProcess(
            item=each.item,
            sort=each.sort,
            gold_g=None if gold is None else gold.posted_g,
            held_from=each.held_from,
        )
        for each in held
        for gold in [quantities.measured(each.item).gold]
    ]


def _counts_together(ledger_id: int, since: str) -> list[in_process.CountTogether]:
    """Return the lately counted bars that were weighed again, count by count."""
    checks: dict[str, dict[str, StockCheck]] = {}
    for each in rows.every(ledger_id, StockCheck):
        if each.at >= since and each.book_g is not None:
            checks.setdefault(each.count, {})[each.item] = each
    if not checks:
        return []
    weighed = {name for each in checks.values() for name in each}
    counted = rows.by_keys(ledger_id, Item, weighed)
    poured = wanted(ledger_id, Mass, "bar")
    found = []
    for count, of_item in sorted(checks.items()):
        bars = [name for name in sorted(of_item) if counted[name].sort == "bar"]
        at = max(each.at for each in of_item.values())
        month_ago = utc_text(datetime.fromisoformat(at) - MONTH)
        first = newest(each for each in poured if month_ago <= each.at <= at)
        if bars and first:
            differences = [
                of_item[name].net_g - (of_item[name].book_g or Decimal(0))
                for name in bars
            ]
            found.append(
                in_process.CountTogether(
                    count=count,
                    at=at,
                    bars=tuple(bars),
                    difference_g=sum(differences, Decimal(0)),
                    throughput_g=sum(
                        (each.net_g for each in first.values()), Decimal(0)
                    ),
                )
            )
    return found
