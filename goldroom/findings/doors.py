"""Findings about the doors: one person's detector alarms, cleared by hand each time."""

from collections.abc import Iterable, Sequence
from datetime import datetime
from decimal import ROUND_CEILING

from goldroom.custody.names import plain_name
from goldroom.custody.room import DetectorAlarm
from goldroom.findings.found import EXCEPTION, Found, Threshold, moment

ALARMS = "detector_alarms_count"
COUNTED_OVER = "detector_alarms_d"


def alarms_cleared_by_hand(
    alarms: Iterable[DetectorAlarm],
    *,
    at_least: Threshold,
    within: Threshold,
    now: datetime,
) -> list[Found]:
    """Return the persons whose alarms a hand search cleared too often.

    One finding for each person, about the last stretch in which it was so: an alarm
    that comes later and makes it so again is a later finding. `at_least` is the limit
    `detector_alarms_count`, `within` the limit `detector_alarms_d`.
    """
    of_person: dict[tuple[bool, str], list[DetectorAlarm]] = {}
    for alarm in alarms:
        if alarm.cleared == "hand_search" and moment(alarm.at) <= now:
            who = plain_name(alarm.who) if alarm.is_visitor else alarm.who
            of_person.setdefault((alarm.is_visitor, who), []).append(alarm)
    fewest = max(1, int(at_least.value.to_integral_value(ROUND_CEILING)))
    found = []
    for _, theirs in sorted(of_person.items()):
        last = _last_stretch(theirs, fewest, within)
        if last:
            who = last[-1].who
            places = ", ".join(sorted({each.place for each in last}))
            found.append(
                Found(
                    code="detector_alarms_often",
                    level=EXCEPTION,
                    item=who,
                    found=f"{len(last)} alarms of {who} cleared by hand search between"
                    f" {last[0].at} and {last[-1].at} ({places})",
                    expected=f"fewer than {at_least} in {within}",
                    message=f"the metal detector sounds for {who} again and again, and"
                    " each time a hand search ends it",
                    at=last[-1].at,
                )
            )
    return found


def _last_stretch(
    alarms: Sequence[DetectorAlarm], count: int, within: Threshold
) -> list[DetectorAlarm]:
    """Return the alarms of the last stretch that holds `count` of them, or none."""
    ordered = sorted(alarms, key=lambda alarm: alarm.at)
    for end in range(len(ordered), count - 1, -1):
        last = moment(ordered[end - 1].at)
        stretch = [
            each for each in ordered[:end] if last - moment(each.at) <= within.duration
        ]
        if len(stretch) >= count:
            return stretch
    return []
