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
    "stamped_number_differs": "exception",
    "instrument_out_of_date": "exception",
    "instrument_moved": "exception",
    "check_weight_outside_limit": "exception",
    "reading_over_capacity": "notice",
    "fineness_sum_over_1000": "notice",
    "duplicates_differ": "notice",
    "proofs_differ": "notice",
    "metal_below_zero": "notice",
    "worksheet_unusual": "notice",
    "fractions_not_whole": "notice",
    "solution_samples_differ": "notice",
    "check_character_differs": "exception",
    "sample_grams_missing": "exception",
    "sample_not_handed_over": "notice",
    "entered_late": "notice",
    "flush_missing": "exception",
    "flush_short": "notice",
    "flush_extra": "exception",
    "flush_unit_outside_usual": "notice",
    "flush_other_hopper": "notice",
    "hopper_fell": "exception",
    "bowl_opened": "notice",
    "cell_opened": "notice",
    "barren_above_usual": "notice",
    "solution_volume_differs": "notice",
    "plated_over_faraday": "exception",
    "dry_mass_differs": "notice",
    "mercury_over_driven_off": "exception",
    "condenser_not_checked": "exception",
    "emergency_unratified": "exception",
    "count_differs": "exception",
    "dispatch_differs": "exception",
    "item_lost_mass": "notice",
    "item_gained_mass": "notice",
    "readings_differ": "notice",
    "leach_alkalinity_low": "exception",
    "leach_solids_differ": "notice",
    "leach_reagent_unusual": "notice",
    "leach_undrained": "notice",
    "leach_dry_mass_differs": "notice",
    "single_solution_sample": "notice",
    "residue_unsampled": "notice",
    "settlement_differs": "exception",
    "payable_differs": "exception",
    "charges_differ": "notice",
    "melt_loss_over_allowance": "exception",
    "density_implausible": "exception",
    "other_metal_unsampled": "notice",
    "item_missing": "exception",
    "unknown_thing_found": "exception",
    "count_mass_differs": "exception",
    "entered_after_close": "notice",
    "alone_in_room": "exception",
    "visitor_without_escort": "exception",
    "entered_twice": "notice",
    "left_without_entering": "exception",
    "left_on_alarm": "notice",
    "found_by_detector": "exception",
    "incident_reported": "notice",
    "incident_serious": "exception",
    "paper_signed_by_one": "notice",
    "paper_time_differs": "notice",
    "form_not_kept": "notice",
    "handover_open_vessel": "exception",
    "handover_vessel_not_listed": "exception",
    "handover_seal_not_read": "exception",
}
"""Every code the fold can notice, with its level: exception (look now) or notice."""


RULED = frozenset(
    {
        "bar_kept_long",
        "counter_skipped",
        "detector_alarms_often",
        "emergency_unratified",
        "final_assay_missing",
        "flush_on_no_sheet",
        "form_left_out",
        "incident_open_long",
        "not_in_count",
        "same_pair_often",
        "second_signature_late",
        "seal_unused_long",
        "shipment_open_long",
        "solution_call_differs",
        "solution_calls_one_way",
        "stock_over_insured",
    }
)
"""Every code that a rule over several entries can find; each can be reviewed."""


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
