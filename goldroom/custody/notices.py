"""Making a finding out of something people saw and signed for."""

from goldroom.custody.act import Act
from goldroom.custody.records import Noticed
from goldroom.custody.state import State

NOTICES = {
    "seal_not_the_one_fitted": "exception",
    "seal_unknown": "exception",
    "seal_tampered": "exception",
    "seal_remains_not_kept": "notice",
    "stamped_number_twice": "exception",
    "instrument_out_of_date": "exception",
    "instrument_moved": "exception",
    "check_weight_outside_limit": "exception",
    "reading_over_capacity": "notice",
    "fineness_sum_over_1000": "notice",
    "entered_late": "notice",
    "flush_missing": "exception",
    "flush_short": "notice",
    "flush_extra": "exception",
    "flush_unit_outside_usual": "notice",
    "flush_other_hopper": "notice",
    "hopper_fell": "exception",
    "bowl_opened": "notice",
    "emergency_unratified": "exception",
    "count_differs": "exception",
    "dispatch_differs": "exception",
    "item_lost_mass": "notice",
    "item_gained_mass": "notice",
    "readings_differ": "notice",
    "settlement_differs": "exception",
    "payable_differs": "exception",
    "charges_differ": "notice",
    "melt_loss_over_allowance": "exception",
    "density_implausible": "exception",
}
"""Every code the fold can notice, with its level: exception (look now) or notice."""


def notice(
    state: State,
    act: Act,
    code: str,
    *,
    item: str,
    found: str,
    expected: str,
    message: str,
) -> Noticed:
    """Return the act's next finding."""
    n = 1
    while state.get(Noticed, f"{act.entry}/{n:02d}") is not None:
        n += 1
    return Noticed(
        entry=act.entry,
        n=n,
        code=code,
        level=NOTICES[code],
        item=item,
        found=found,
        expected=expected,
        message=message,
        at=act.at,
    )
