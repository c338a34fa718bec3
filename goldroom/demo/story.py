"""The ordinary human trouble of the first month, by day and shift.

What goes wrong is written here and nowhere else; the rest of the demonstration asks
this list what a day brings. Later months are quiet.
"""

from collections.abc import Mapping
from dataclasses import dataclass

SHORT = "short"
MISSING = "missing"


@dataclass(frozen=True)
class OddFlush:
    """A flush out of the ordinary: of which unit, the how manieth of its shift."""

    unit: str
    place: int
    what: str
    minutes: int
    reason: str
    answer: str


ODD_FLUSHES: Mapping[tuple[int, int], OddFlush] = {
    (2, 1): OddFlush(
        "U1", 3, SHORT, 21, "fluidising water pressure low",
        "valve 14 sticking; flushed early by the control room, water restored",
    ),
    (8, 2): OddFlush(
        "U2", 5, MISSING, 0, "",
        "the counter stepped twice when its card was changed; feed stayed on, the"
        " pressure trend shows no flush between",
    ),
    (19, 0): OddFlush(
        "U1", 6, SHORT, 33, "mill stopped on liner bolt",
        "mill stop, bowl flushed by hand key in the control room, both present",
    ),
}  # fmt: skip
"""By day of the month (from 0) and shift (from 0)."""

SEAL_BROKEN_DAY = 4
SEAL_OTHER_DAY = 11
LATE_SIGNATURE_DAY = 6
WRONG_MASS_DAY = 10
CHECK_FAILED_DAY = 14
BENCH_AGAIN_DAY = 23
"""Two days after its calibration ran out; concentrate was weighed in between."""
BOWL_DAY = 12
NEWCOMER_DAY = 8
EMERGENCY_DAY = 16
WITHDRAWN_DAY = 23
WRONG_LOT_DAY = 17
COUNT_DAYS = (10, 24)
KEPT_TAILS_DAYS = (11, 13)
LEACH_DAY = 14
"""The table stands still and the lot goes to the intensive leach."""
SAMPLES_NUMBERED_DAY = 12
WORKSHEET_DAY = 13
"""The pour of this day is assayed by a worksheet."""
DIVIDED_DAY = 14
"""The day before the first dispatch."""
GIVEN_BACK_DAY = 16
SCREENED_DAY = 19
DRILLED_DAY = 21
REMELT_DAY = 22
EXCHANGED_DAY = 22
VISITOR_DAY = 13
INCIDENT_DAY = 20
ALARM_DAY = 27
"""These three are smelt days."""
INCIDENT_CLOSED_DAY = 22
OUTAGE_DAY = 21
"""In its night the server is down, and the round is written on paper."""
SEAL_ANSWERED_DAY = 15
HANDOVERS: Mapping[int, str] = {
    3: "the bay's sump pump runs on its hand switch",
    10: "nothing begun; the lid's hinge wants oil",
    17: "U2 flushes four minutes late since noon, control room told",
    24: "hose reel taken off for repair, hose lies by the wall",
}
"""By day of the month, what the evening's crews leave to watch in the hopper bay."""
BUDGET_DAY = 14
STOCK_COUNT_DAY = 29
"""The last working day of accounts; the month ends on a Sunday's cut-off."""
LAST_DAY = 30
SMELT_WEEKDAY = 2
"""Wednesday."""
SLAG_RELEASED_AFTER_D = 3
FINAL_ASSAY_AFTER_D = 3
DISPATCHES: Mapping[int, int] = {15: 2, 29: 2}
"""By day of the month, how many of the oldest pours go."""
FLUSH_SINCE = OddFlush(
    "U2", 4, SHORT, 26, "feed pump tripped",
    "",
)  # fmt: skip
"""Of the day after the month: nobody has answered for it yet."""
