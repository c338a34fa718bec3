"""A period's figures, ready to be said: what `period.closed` and `.restated` hold.

The figures are those of the reconciliation, drawn from the ledger as it stands; the
digest stands for the whole report as canonical JSON (keys sorted, no spaces), size
and root for the entries it was drawn from. The people who sign read the report first.
"""

import hashlib
import json
from collections.abc import Iterable, Mapping
from datetime import date, timedelta
from importlib.metadata import version
from typing import Any
from zoneinfo import ZoneInfo

from goldroom.custody.period import ClosedPeriod
from goldroom.errors import UnknownPeriod
from goldroom.metal.rounding import to_milligram
from goldroom.reconcile.amounts import Amount, decimal_text
from goldroom.reconcile.balance import Balance
from goldroom.reconcile.gravity_check import GravityCheck
from goldroom.reconcile.period import PeriodReport
from goldroom.reconcile.production_days import moment
from goldroom.reports import rows
from goldroom.reports.month import reconciliation
from goldroom.statements.reported import ALL_STEPS, METALS
from ledger import read
from ledger.core.base64text import to_base64

FIGURES = ("opening_g", "came_in_g", "went_out_g", "closing_g", "unaccounted_g")
"""The amounts of a balance, by the names that statements give them."""


def closing(
    ledger_id: int, *, first_day: date, last_day: date, period: str = ""
) -> dict[str, Any]:
    """Return the values of `period.closed` for these days, as known now.

    Without a name, the period is called by its month, or else by its days. Raises
    OutOfRange and NothingRecorded.
    """
    report = reconciliation(ledger_id, first_day=first_day, last_day=last_day)
    zone = ZoneInfo(report.period.zone)
    return {
        "period": period or name_of(first_day, last_day),
        "first_day": first_day.isoformat(),
        "last_day": last_day.isoformat(),
        "from_at": moment(report.period.from_at).astimezone(zone).isoformat(),
        "to_at": moment(report.period.to_at).astimezone(zone).isoformat(),
        "report": as_reported(ledger_id, report),
    }


def restatement(ledger_id: int, *, period: str, reason: str) -> dict[str, Any]:
    """Return the values of `period.restated` for a closed period, as known now.

    Raises UnknownPeriod.
    """
    closed = closed_named(ledger_id, period)
    report = reconciliation(
        ledger_id,
        first_day=date.fromisoformat(closed.first_day),
        last_day=date.fromisoformat(closed.last_day),
    )
    return {
        "period": period,
        "reason": reason,
        "report": as_reported(ledger_id, report),
    }


def closed_named(ledger_id: int, period: str) -> ClosedPeriod:
    """Return the closed period of this name. Raises UnknownPeriod."""
    found = rows.by_keys(ledger_id, ClosedPeriod, [period]).get(period)
    if found is None:
        names = [each.period for each in rows.every(ledger_id, ClosedPeriod)]
        raise UnknownPeriod(
            f"period: no period {period!r} was closed; there are:"
            f" {', '.join(names) or 'none'}.",
            field="period",
        )
    return found


def name_of(first_day: date, last_day: date) -> str:
    """Return a period's name: its month if it is a whole one, else its days."""
    following = last_day + timedelta(days=1)
    is_month = first_day.day == 1 and following.day == 1
    if is_month and (first_day.year, first_day.month) == (
        last_day.year,
        last_day.month,
    ):
        return f"{first_day:%Y-%m}"
    return f"{first_day}..{last_day}"


def as_reported(ledger_id: int, report: PeriodReport) -> dict[str, Any]:
    """Return a report's figures as a statement says them."""
    head = read.head(ledger_id)
    zone = ZoneInfo(report.period.zone)
    is_final = not (report.provisional or report.pending)
    return {
        "standing": "final" if is_final else "provisional",
        "as_known_at": moment(report.period.as_known_at).astimezone(zone).isoformat(),
        "ledger_size": head.size,
        "ledger_root": to_base64(head.root),
        "report_digest": digest(report),
        "program": f"goldroom {version('goldroom')}",
        "balances": [
            _row(step, metal, balances[metal])
            for step, balances in balances_of(report).items()
            for metal in METALS
        ],
        "gravity": _said(gravity_figures(report.gravity)),
    }


def balances_of(report: PeriodReport) -> dict[str, Mapping[str, Balance]]:
    """Return a report's balances by step, and those of all steps together."""
    return {**report.steps, ALL_STEPS: report.overall}


def amounts_of(balance: Balance) -> dict[str, Amount | None]:
    """Return a balance's amounts by the names that statements give them."""
    amounts = (
        balance.opening, balance.came_in, balance.went_out, balance.closing,
        balance.unaccounted,
    )  # fmt: skip
    return dict(zip(FIGURES, amounts, strict=True))


def u_text(balance: Balance) -> str | None:
    """Return the uncertainty of the unaccounted as text; None if not drawn."""
    if balance.unaccounted is None:
        return None
    return decimal_text(balance.unaccounted.u_g)


def gravity_figures(check: GravityCheck) -> dict[str, str | None]:
    """Return the gravity check's figures by the names that statements give them."""
    estimated, accounted = check.estimate.total_g, check.accounted
    return {
        "estimated_g": None if estimated is None else decimal_text(estimated.value),
        "estimated_u_g": None if estimated is None else decimal_text(estimated.u),
        "poured_g": grams(check.poured),
        "accounted_g": grams(accounted),
        "accounted_u_g": None if accounted is None else decimal_text(accounted.u_g),
    }


def grams(amount: Amount | None) -> str | None:
    """Return posted grams to the milligram, as text."""
    return None if amount is None else format(to_milligram(amount.posted_g), "f")


def digest(report: PeriodReport) -> str:
    """Return the SHA-256 of the report's canonical JSON, in hexadecimal."""
    text = json.dumps(
        report.to_json(), sort_keys=True, separators=(",", ":"), ensure_ascii=False
    )
    return hashlib.sha256(text.encode()).hexdigest()


def _row(step: str, metal: str, balance: Balance) -> dict[str, str]:
    figures = {name: grams(each) for name, each in amounts_of(balance).items()}
    return {"step": step, "metal": metal, **_said({**figures, "u_g": u_text(balance)})}


def _said(figures: Mapping[str, str | None]) -> dict[str, str]:
    """Return the figures that there are."""
    found: Iterable[tuple[str, str | None]] = figures.items()
    return {name: text for name, text in found if text is not None}
