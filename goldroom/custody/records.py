"""The records that the fold keeps: things, items, figures, findings.

Each record is a frozen dataclass with a `table` and a `key`; the pair is unique
in a ledger. Records hold text, whole numbers, flags and exact decimals only, so
that a table can be thrown away and folded again to the same bytes. Figures
(`Mass`, `Assay`, `Estimate`) are versions: a later one never replaces an earlier
one, the reader chooses. What a figure is uncertain by is not stored: it follows
from the instrument, the calibration in force and the determination's id.
"""

from dataclasses import dataclass
from decimal import Decimal

from goldroom.custody.cells import CellLoad, CellRun
from goldroom.custody.dealings import Contract, Exchanged, Outturn, Settled
from goldroom.custody.density import Density
from goldroom.custody.driven_off import DrivenOff
from goldroom.custody.error_budget import ErrorBudget
from goldroom.custody.leach import LeachBatch, LeachReading, LeachReagent
from goldroom.custody.number_series import NumberSeries
from goldroom.custody.other_metal import OtherMetal
from goldroom.custody.paper import PaperForm
from goldroom.custody.period import ClosedPeriod, Restatement, TrueUp
from goldroom.custody.record import Record as Record
from goldroom.custody.review import Review
from goldroom.custody.room import DetectorAlarm, Incident, Occupancy, PlaceVessels
from goldroom.custody.sampled import Sample
from goldroom.custody.signing import RoleHolders, SigningRule
from goldroom.custody.stock import RolledCount, StockCheck, StockCount

STEPS = ("hopper", "table", "leach", "electrowinning", "smelt", "vault")
"""Places in the flow with a balance of their own, in the order metal takes.

`leach` is the intensive leach of a batch, `electrowinning` its solutions and cells;
`vault` runs from the numbered bar to the refinery's melt.
"""

HOLDERS = ("leach_batch", "cell_load")
"""Sorts of item whose contents are all that was put in, less all drawn off."""


# --- standing things -------------------------------------------------------


@dataclass(frozen=True, kw_only=True)
class Person(Record):
    """Somebody enrolled to sign, or the gateway of the plant's control system."""

    table = "person"
    key_of = "{person}"
    person: str
    name: str
    line: str
    roles: tuple[str, ...]
    keys: tuple[str, ...]
    sort: str


@dataclass(frozen=True, kw_only=True)
class Place(Record):
    """A room, bay, vault, laboratory, mill or refinery where items can be."""

    table = "place"
    key_of = "{place_id}"
    place_id: str
    name: str
    sort: str


@dataclass(frozen=True, kw_only=True)
class Calibration:
    """A calibration in force from a time on; `calibration_id` names its effects."""

    calibration_id: str
    from_at: str
    due_at: str
    slope_u_relative: Decimal
    reading_u_g: Decimal
    place: str
    known_at: str = ""


@dataclass(frozen=True, kw_only=True)
class Instrument(Record):
    """A balance, scale, set of load cells or oven.

    `unit` is what its display shows (g, kg, ozt); `interval` and `capacity` are in
    that unit. `blocked` holds the reason while it may not be used.
    """

    table = "instrument"
    key_of = "{instrument}"
    instrument: str
    name: str
    sort: str
    unit: str
    interval: Decimal
    capacity: Decimal
    place: str
    blocked: str
    calibrations: tuple[Calibration, ...]


@dataclass(frozen=True, kw_only=True)
class SealPoint:
    """A point of a vessel that takes a seal, with the seal now on it ("" if none)."""

    point: str
    seal: str


@dataclass(frozen=True, kw_only=True)
class Vessel(Record):
    """A hopper, drum, tray, furnace, safe or box; `contents` are item ids.

    For a hopper: `load_cells` is the instrument under it ("" if none), `marks` are
    its marked fill volumes, `solids_density_kg_m3` that of its concentrate,
    `last_level` the reading that the next one is compared with.
    """

    table = "vessel"
    key_of = "{vessel}"
    vessel: str
    name: str
    sort: str
    place: str
    tare_kg: Decimal | None
    points: tuple[SealPoint, ...]
    is_open: bool
    contents: tuple[str, ...]
    load_cells: str
    marks: tuple["Mark", ...]
    solids_density_kg_m3: Decimal | None
    pending_flushes: tuple[str, ...]
    last_level: "Level | None"


@dataclass(frozen=True, kw_only=True)
class Mark:
    """A level mark of a vessel and the volume below it in cubic metres."""

    mark: str
    volume_m3: Decimal


@dataclass(frozen=True, kw_only=True)
class Level:
    """A hopper reading at a marked water level: what was read, and the dry solids."""

    entry: str
    at: str
    mark: str
    net: "Terms"
    dry_g: Decimal


@dataclass(frozen=True, kw_only=True)
class Concentrator(Record):
    """A spinning-bowl concentrator; `sort` is semi_continuous or continuous.

    `last_flush` is the highest flush number that a signed sheet has listed,
    `last_cycle` the highest that the plant's counter has reported (0 if none). A
    continuous unit has a `stage` (rougher or cleaner) and something it `feeds`.
    """

    table = "concentrator"
    key_of = "{unit}"
    unit: str
    name: str
    sort: str
    hopper: str
    counter_epoch: int
    last_flush: int
    last_cycle: int
    minimum_cycle_min: int
    usual_flush_kg_min: Decimal | None
    usual_flush_kg_max: Decimal | None
    stage: str = ""
    feeds: str = ""


@dataclass(frozen=True, kw_only=True)
class Seal(Record):
    """A numbered seal; `status` is issued, fitted, removed or void."""

    table = "seal"
    key_of = "{seal}"
    seal: str
    status: str
    series: str
    issued_to: str
    vessel: str
    point: str
    fitted_entry: str
    removed_entry: str


@dataclass(frozen=True, kw_only=True)
class Limit(Record):
    """A limit or parameter in force from a time on, set by an entry.

    `earlier` are the values it had before, the newest last.
    """

    table = "limit"
    key_of = "{name}"
    name: str
    value: Decimal
    unit: str
    reason: str
    set_by: str
    known_at: str = ""
    earlier: tuple["EarlierLimit", ...] = ()


@dataclass(frozen=True, kw_only=True)
class EarlierLimit:
    """A value that a limit had, and when the ledger learned of it."""

    value: Decimal
    reason: str
    set_by: str
    known_at: str


@dataclass(frozen=True, kw_only=True)
class Marker(Record):
    """A fact that later statements look up by name (a stamped number, a form)."""

    table = "marker"
    key_of = "{name}"
    name: str
    value: str
    entry: str


# --- items -----------------------------------------------------------------


@dataclass(frozen=True, kw_only=True)
class Item(Record):
    """A thing in custody: flush, load, lot, concentrate, charge, slag, bar, melt ...

    `step` is the step whose balance holds the item while `status` is `held`,
    `in_charge` or `in_transit`; it does from `held_from` until `held_until` ("" while
    it still does). Other statuses: `expected` (the plant counted it, nobody has
    signed for it), `consumed` (became its children), `left` (gone from the site's
    care), `void`. `source` is gravity, other or mixed; `parents` are item ids.

    `drawn` are the children taken off the item while it stayed held (a sample, a
    solution off a leach batch), in their order; such a child names it in
    `drawn_from`. A *holder* (`HOLDERS`) holds what was put in, less what was drawn.
    """

    table = "item"
    key_of = "{item}"
    item: str
    sort: str
    status: str
    place: str
    step: str
    source: str
    parents: tuple[str, ...]
    children: tuple[str, ...]
    made_by: str
    used_by: str
    held_from: str
    held_until: str
    label: str
    at: str
    drawn: tuple[str, ...] = ()
    drawn_from: str = ""
    stays: int = 0
    crossings: int = 0
    masses: int = 0
    assays: int = 0
    estimates: int = 0
    volumes: int = 0


@dataclass(frozen=True, kw_only=True)
class Flush(Record):
    """What is known of one flush: the plant's cycle and the signed sheet's answer.

    Times are texts, `feed_t` dry tonnes fed in the cycle; `sheet` is the entry that
    listed it ("" until then). The id is `unit-epoch-number`. The ledger learned of the
    count at `counted_known_at`, of the sheet's answer at `listed_known_at`.
    """

    table = "flush"
    key_of = "{flush}"
    flush: str
    unit: str
    counter_epoch: int
    number: int
    started_at: str
    at: str
    feed_t: Decimal | None
    cycle_status: str
    reason: str
    answer: str
    sheet: str
    hopper: str
    load: str
    counted_known_at: str = ""
    listed_known_at: str = ""


@dataclass(frozen=True, kw_only=True)
class Crossing(Record):
    """An item passed from one step to another, once, at a time.

    `from_step` or `to_step` is "" for the world outside the balances; `where_to`
    says in trade words where it went (mill, refinery, table ...). `known_at` is when
    the ledger learned of it. `drawn` counts what had been drawn off it before.
    """

    table = "crossing"
    key_of = "{item}/{n}"
    item: str
    n: int
    from_step: str
    to_step: str
    where_to: str
    at: str
    entry: str
    known_at: str = ""
    drawn: int = 0


@dataclass(frozen=True, kw_only=True)
class Stay(Record):
    """A stretch of an item's custody: where, under which seals, by whose hands."""

    table = "stay"
    key_of = "{item}/{n:04d}"
    item: str
    n: int
    place: str
    vessel: str
    seals: tuple[str, ...]
    act: str
    hands: tuple[str, ...]
    entry: str
    at: str


# --- figures ---------------------------------------------------------------
#
# `measured_in` is the entry that first told of a weighing, result or estimate: a
# figure put right names the entry that it corrects, `entry` the correction.


@dataclass(frozen=True, kw_only=True)
class Term:
    """One reading in a mass: `coefficient` x `grams`, read on `instrument`.

    `reading_id` names the reading's own error effect; two masses that use the same
    reading share it. `calibration` is the one known to be in force when it was read,
    at `at` ("" if none was); one entered late is found by that time.
    """

    reading_id: str
    instrument: str
    calibration: str
    coefficient: Decimal
    grams: Decimal
    reading_u_g: Decimal
    slope_u_relative: Decimal
    at: str = ""


@dataclass(frozen=True, kw_only=True)
class Terms:
    """A sum of readings, in grams."""

    terms: tuple[Term, ...]


@dataclass(frozen=True, kw_only=True)
class Mass(Record):
    """A version of an item's mass. `net_g` is the sum of its terms.

    `moisture_percent` (wet basis) is None where moisture has no meaning (a bar, dry
    solids from a hopper's fill volume); then dry mass is net mass. `wanted_for` is
    the trade name of what was weighed (hopper_rise, lot, table_product, charge,
    slag, bar, melt) and picks starting uncertainties. `drawn` counts what had been
    drawn off the item when it was weighed, as far as it had been said by then.
    """

    table = "mass"
    key_of = "{item}/{version:03d}"
    item: str
    version: int
    wanted_for: str
    terms: tuple[Term, ...]
    moisture_percent: Decimal | None
    moisture_id: str
    oven: str
    net_g: Decimal
    dry_g: Decimal
    at: str
    entry: str
    known_at: str
    measured_in: str = ""
    drawn: int = 0


@dataclass(frozen=True, kw_only=True)
class Assay(Record):
    """A version of an item's gold and silver content per mass.

    `unit` is permille, gpt, percent or mg_l (of a solution). `standing` is estimated,
    provisional, party, umpire, final or refiner. `sample` is shared by all items a
    composite speaks for; `method` picks starting uncertainties.

    Gold and silver may each be the mean of several independent `determinations`, or
    lie below a detection limit, in the same unit (None if they do not).
    """

    table = "assay"
    key_of = "{item}/{version:03d}"
    item: str
    version: int
    assay_id: str
    sample: str
    standing: str
    unit: str
    gold: Decimal
    silver: Decimal
    base: Decimal | None
    laboratory: str
    method: str
    sampler: str
    wanted_for: str
    at: str
    entry: str
    known_at: str
    measured_in: str = ""
    gold_determinations: int = 1
    silver_determinations: int = 1
    gold_limit: Decimal | None = None
    silver_limit: Decimal | None = None


@dataclass(frozen=True, kw_only=True)
class Volume(Record):
    """A version of a solution's volume, in litres.

    `tank` is the vessel whose level table gave it, or "" for a measuring flask;
    `volume_id` names the reading's own error effect.
    """

    table = "volume"
    key_of = "{item}/{version:03d}"
    item: str
    version: int
    volume_id: str
    litres: Decimal
    tank: str
    at: str
    entry: str
    known_at: str
    measured_in: str = ""


@dataclass(frozen=True, kw_only=True)
class Estimate(Record):
    """A version of the metal in what cannot be weighed and assayed, with its u."""

    table = "estimate"
    key_of = "{item}/{version:03d}"
    item: str
    version: int
    gold_g: Decimal
    gold_u_g: Decimal
    silver_g: Decimal
    silver_u_g: Decimal
    method: str
    at: str
    entry: str
    known_at: str
    measured_in: str = ""


@dataclass(frozen=True, kw_only=True)
class MillDay(Record):
    """A production day of the mill: dry feed and head assay, as last reported."""

    table = "mill_day"
    key_of = "{day}/{version:03d}"
    day: str
    feed_t: Decimal
    gold_gpt: Decimal
    silver_gpt: Decimal
    version: int
    at: str
    entry: str
    known_at: str


@dataclass(frozen=True, kw_only=True)
class GravityModel(Record):
    """Parameters of the circuit's gravity estimate, in force from `at` on."""

    table = "gravity_model"
    key_of = "{model}/{at}"
    model: str
    grg_fraction: Decimal
    survival_b: Decimal
    to_underflow_c: Decimal
    treated_p: Decimal
    recovery_rho0: Decimal
    saturation_tau_min: Decimal
    silver_to_gold: Decimal
    at: str
    entry: str
    known_at: str = ""


@dataclass(frozen=True, kw_only=True)
class StreamMeter(Record):
    """A metered stretch of a continuous concentrator: recorded beside, never added."""

    table = "stream_meter"
    key_of = "{unit}/{at}"
    unit: str
    stage: str
    from_at: str
    at: str
    dry_t: Decimal
    gold_gpt: Decimal
    silver_gpt: Decimal
    goes_to: str
    entry: str
    known_at: str = ""


# --- shipments -------------------------------------------------------------


@dataclass(frozen=True, kw_only=True)
class ShippedBox:
    """A box as it was handed over: the bars in it and what box and bars weighed.

    `gross_g` is None if nobody weighed the box.
    """

    box: str
    items: tuple[str, ...]
    gross_g: Decimal | None


@dataclass(frozen=True, kw_only=True)
class Shipment(Record):
    """Bars promised to a refinery by a named carrier.

    `status` is advised, handed_over, received or melted; `items` are the bars advised;
    `boxes` is empty until they are handed over.
    """

    table = "shipment"
    key_of = "{shipment}"
    shipment: str
    status: str
    carrier: str
    carrier_person: str
    refinery: str
    items: tuple[str, ...]
    boxes: tuple[ShippedBox, ...]
    from_at: str
    until_at: str
    at: str
    entry: str


# --- what the fold noticed -------------------------------------------------


@dataclass(frozen=True, kw_only=True)
class Noticed(Record):
    """A finding that follows from an entry: accepted, because people saw it.

    `level` is exception (look now) or notice. It names what was found and expected.
    """

    table = "finding"
    key_of = "{entry}/{n:02d}"
    entry: str
    n: int
    code: str
    level: str
    item: str
    found: str
    expected: str
    message: str
    at: str


@dataclass(frozen=True, kw_only=True)
class Emergency(Record):
    """An act with one signature, waiting for (or given) its ratification."""

    table = "emergency"
    key_of = "{entry}"
    entry: str
    status: str
    person: str
    at: str
    ratified_by: str


@dataclass(frozen=True, kw_only=True)
class Said(Record):
    """What an entry changed, so that it can be voided while nothing built on it.

    `people` signed it; `frame` is the digest of what a correction of figures must
    leave alone ("" for kinds without figures); `before` is empty for kinds that
    cannot be voided.
    """

    table = "said"
    key_of = "{entry}"
    entry: str
    kind: str
    v: int
    people: tuple[str, ...]
    frame: str
    at: str
    corrected_by: tuple[str, ...]
    voided_by: str
    before: tuple["Before", ...]


@dataclass(frozen=True, kw_only=True)
class Before:
    """A record as it was before an entry ("" if none), and the digest it got."""

    table: str
    key: str
    text: str
    digest_after: str


RECORDS: dict[str, type[Record]] = {
    record.table: record
    for record in (
        Person,
        Place,
        Instrument,
        Vessel,
        Concentrator,
        Seal,
        Limit,
        Marker,
        Item,
        Flush,
        Crossing,
        Stay,
        Mass,
        Assay,
        Volume,
        Estimate,
        MillDay,
        GravityModel,
        StreamMeter,
        Shipment,
        Sample,
        NumberSeries,
        LeachBatch,
        LeachReading,
        LeachReagent,
        CellLoad,
        CellRun,
        DrivenOff,
        OtherMetal,
        Contract,
        Outturn,
        Exchanged,
        Settled,
        Density,
        Noticed,
        Emergency,
        Said,
        StockCount,
        StockCheck,
        RolledCount,
        ClosedPeriod,
        Restatement,
        TrueUp,
        ErrorBudget,
        Occupancy,
        PlaceVessels,
        DetectorAlarm,
        Incident,
        PaperForm,
        Review,
        RoleHolders,
        SigningRule,
    )
}
"""Every record type by its table's name."""
