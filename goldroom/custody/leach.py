"""Records of the intensive leach: a batch's course, what was read and what was dosed.

The metal of a batch is an item (`leach_batch`), its contents all that was put in,
less all drawn off. What stands here is the rest: how far the batch has come, its
alkalinity and cyanide over time, and the reagents issued to it. Readings and
reagents are versions by the entry that first told of them: of several, the last
counts.
"""

from dataclasses import dataclass
from decimal import Decimal

from goldroom.custody.record import Record


@dataclass(frozen=True, kw_only=True)
class LeachBatch(Record):
    """How far a batch has come: leaching, drained, washed or discharged.

    `entry` brought it there. It is leaching again once it was made up anew.
    """

    table = "leach_batch"
    key_of = "{batch}"
    batch: str
    vessel: str
    status: str
    target_ph: Decimal
    at: str
    entry: str


@dataclass(frozen=True, kw_only=True)
class LeachReading(Record):
    """A batch's alkalinity, and its oxygen and free cyanide where they were told.

    `cyanide_by` is titration, given, or "" without a figure; as sodium cyanide.
    """

    table = "leach_reading"
    key_of = "{batch}/{measured_in}/{version:03d}"
    batch: str
    measured_in: str
    version: int
    ph: Decimal
    oxygen_mg_l: Decimal | None
    cyanide_mg_l: Decimal | None
    cyanide_by: str
    at: str
    entry: str
    known_at: str


@dataclass(frozen=True, kw_only=True)
class LeachReagent(Record):
    """A reagent issued to a batch, by mass; `row` tells an entry's rows apart."""

    table = "leach_reagent"
    key_of = "{batch}/{measured_in}/{row:02d}/{version:03d}"
    batch: str
    measured_in: str
    row: int
    version: int
    reagent: str
    mass_kg: Decimal
    reason: str
    at: str
    entry: str
    known_at: str
