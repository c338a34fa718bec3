"""What the record comes to: reconciliation, findings, settlement, closed periods."""

import json

from goldroom.api.asking import day, moment, one_of, utc, whole
from goldroom.api.operation import Answered, Asked
from goldroom.errors import OutOfRange
from goldroom.faces import clock, reading
from goldroom.faces.models import LastCheck
from goldroom.reports.aloud import aloud
from goldroom.reports.closed import closed_periods as every_closed
from goldroom.reports.leach import leach_report
from goldroom.reports.metal import NothingRecorded
from goldroom.reports.month import reconciliation as reconciled
from goldroom.reports.numbers import next_numbers as next_of
from goldroom.reports.plain import as_plain
from goldroom.reports.settlement import settlement as one_settlement
from goldroom.reports.settlement import settlements as every_settlement
from goldroom.reports.solution_call import every_call

NUMBERED = ("bar", "sample", "seal")
LEVELS = ("", "exception", "notice")
COUNT_MOST = 1000


def reconciliation(asked: Asked) -> Answered:
    """Reconcile production days, first and last included."""
    report = reconciled(
        asked.reader.ledger_id,
        first_day=day(asked.query, "from"),
        last_day=day(asked.query, "to"),
        as_known_at=moment(asked.query, "as_known_at"),
    )
    return Answered(value=report.to_json())


def findings(asked: Asked) -> Answered:
    """Tell what wants attention, as far as the reader may know."""
    query, ledger_id = asked.query, asked.reader.ledger_id
    found = reading.attention(
        asked.reader,
        now=clock.now(ledger_id),
        level=one_of(query, "level", LEVELS, ""),
        since=utc(query, "since"),
        only_open=one_of(query, "open", ("true", "false"), "false") == "true",
    )
    spoken = aloud(ledger_id, (each.message for each in found))
    told = [
        {
            **as_plain(each),
            "message": spoken.sentence(each.message),
            "is_open": each.is_open,
        }
        for each in found
    ]
    return Answered(value={"findings": told})


def leach_batch(asked: Asked) -> Answered:
    """Tell a leach batch's account."""
    report = leach_report(asked.reader.ledger_id, asked.path["batch"])
    return Answered(value=report.to_json())


def solution_calls(asked: Asked) -> Answered:
    """Hold every cell cleanup against its solution call."""
    cell = asked.query.get("cell", "")
    found = [
        each.to_json()
        for each in every_call(asked.reader.ledger_id)
        if cell in ("", each.load.cell)
    ]
    return Answered(value={"calls": found})


def settlements(asked: Asked) -> Answered:
    """Tell every refinery melt, mine and refinery side by side."""
    found = every_settlement(asked.reader.ledger_id)
    return Answered(value={"melts": [each.to_json() for each in found]})


def settlement(asked: Asked) -> Answered:
    """Tell one refinery melt."""
    found = one_settlement(asked.reader.ledger_id, asked.path["melt"])
    return Answered(value=found.to_json())


def closed_periods(asked: Asked) -> Answered:
    """Hold closed periods as reported against what is known now."""
    name = asked.query.get("period", "")
    found = every_closed(asked.reader.ledger_id, period=name)
    return Answered(value={"periods": [each.to_json() for each in found]})


def next_numbers(asked: Asked) -> Answered:
    """Propose the next free numbers of a series; nothing is kept."""
    count = whole(asked.query, "count")
    count = 1 if count is None else count
    if not 1 <= count <= COUNT_MOST:
        raise OutOfRange(
            f"count: found {count}, expected 1 to {COUNT_MOST}. Ask for fewer.",
            field="count",
        )
    found = next_of(
        asked.reader.ledger_id,
        one_of(asked.query, "what", NUMBERED, ""),
        now=clock.now(asked.reader.ledger_id),
        count=count,
        prefix=asked.query.get("prefix", ""),
    )
    return Answered(value={"numbers": list(found)})


def verification(asked: Asked) -> Answered:
    """Tell the result of the last verification that was kept."""
    found = LastCheck.objects.filter(ledger_id=asked.reader.ledger_id).first()
    if found is None:
        raise NothingRecorded(
            "No verification of this ledger has been kept here yet. Run verify_ledger."
        )
    may_see = asked.reader.may_read("findings")
    return Answered(
        value={
            "checked_at": found.checked_at.isoformat(),
            "size": found.size,
            "exit_code": found.exit_code,
            "report": json.loads(found.report) if may_see else {},
        }
    )
