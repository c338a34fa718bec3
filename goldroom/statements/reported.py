"""The figures of a period as people report them: rows, what must hold, records.

    unaccounted = opening + in - out - closing

to the milligram in every balance that was drawn, and all steps together lack what the
steps lack. A balance that was not drawn has no figures.
"""

import re
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal

from goldroom.custody.act import Act, utc_text
from goldroom.custody.period import Reported, ReportedBalance, ReportedGravity
from goldroom.custody.records import STEPS
from goldroom.errors import FiguresDoNotAdd, OccurredInFuture
from goldroom.statements import fields
from goldroom.statements.fields import BadField
from goldroom.statements.wording import with_spread

ALL_STEPS = "all"
METALS = ("gold", "silver")
STANDINGS = ("provisional", "final")
ROOT = re.compile(r"[A-Za-z0-9+/]{43}=")
DIGEST = re.compile(r"[0-9a-f]{64}")
FURTHEST = "1000000000"


def _grams(label: str, *, low: str = "0") -> Decimal | None:
    """Describe an amount of a balance; left out where the balance was not drawn."""
    found: Decimal | None = fields.number(
        label, "g", low=low, high=FURTHEST, optional=True, is_figure=False
    )
    return found


@dataclass(frozen=True, kw_only=True)
class BalanceRow:
    """One balance: a step or several merged, or all; gold or silver."""

    step: str = fields.text("Step", help="Merged steps joined by a plus; or all")
    metal: str = fields.choice("Metal", METALS)
    opening_g: Decimal | None = _grams("Opening")
    came_in_g: Decimal | None = _grams("In")
    went_out_g: Decimal | None = _grams("Out")
    closing_g: Decimal | None = _grams("Closing")
    unaccounted_g: Decimal | None = _grams("Unaccounted", low=f"-{FURTHEST}")
    u_g: Decimal | None = _grams("Standard uncertainty of the unaccounted")

    @property
    def amounts(self) -> tuple[Decimal | None, ...]:
        """Return the six figures."""
        return (
            self.opening_g, self.came_in_g, self.went_out_g, self.closing_g,
            self.unaccounted_g, self.u_g,
        )  # fmt: skip

    @property
    def is_drawn(self) -> bool:
        """Return whether the balance has figures."""
        return self.unaccounted_g is not None


@dataclass(frozen=True, kw_only=True)
class GravityRow:
    """The gravity check: estimate, gold poured and accounted for; none if not told."""

    estimated_g: Decimal | None = _grams("Estimated")
    estimated_u_g: Decimal | None = _grams("Standard uncertainty of the estimate")
    poured_g: Decimal | None = _grams("Poured")
    accounted_g: Decimal | None = _grams("Accounted for", low=f"-{FURTHEST}")
    accounted_u_g: Decimal | None = _grams("Standard uncertainty of the accounted")


@dataclass(frozen=True, kw_only=True)
class ReportRow:
    """A period's figures, and the state of the record that they were drawn from."""

    standing: str = fields.choice(
        "Standing", STANDINGS, help="Provisional while an assay is still to come"
    )
    as_known_at: datetime = fields.moment("As known at")
    ledger_size: int = fields.whole("Entries in the ledger then", low=1)
    ledger_root: str = fields.text("Root of the ledger then", help="In base64")
    report_digest: str = fields.text(
        "Digest of the report", help="SHA-256 of the whole report, in hexadecimal"
    )
    program: str = fields.text("Drawn by", help="Program and version")
    balances: tuple[BalanceRow, ...] = fields.rows("Balances", BalanceRow)
    gravity: GravityRow = fields.one("Gravity check", GravityRow)

    def record(self) -> Reported:
        """Return the report as the fold keeps it."""
        return Reported(
            standing=self.standing,
            as_known_at=utc_text(self.as_known_at),
            size=self.ledger_size,
            root=self.ledger_root,
            digest=self.report_digest,
            program=self.program,
            balances=tuple(ReportedBalance(**vars(row)) for row in self.balances),
            gravity=ReportedGravity(**vars(self.gravity)),
        )


def check_report(act: Act, report: ReportRow) -> None:
    """Refuse a report from the future, without its sums, or that does not add up.

    Raises OccurredInFuture, BadField and FiguresDoNotAdd.
    """
    if report.as_known_at > act.received_at:
        raise OccurredInFuture(
            f"report.as_known_at: {report.as_known_at} has not come yet. Draw the"
            " report from the record as it is.",
            field="report.as_known_at",
        )
    for field, form, expected in (
        ("ledger_root", ROOT, "a root in base64, 44 characters"),
        ("report_digest", DIGEST, "64 hexadecimal digits"),
    ):
        found = getattr(report, field)
        if not form.fullmatch(found):
            raise BadField(
                f"report.{field}: found {found!r}, expected {expected}. Take the line"
                " that close_period prints.",
                field=f"report.{field}",
            )
    for n, row in enumerate(report.balances):
        _check_row(row, f"report.balances[{n}]")
    _check_each_once(report.balances)
    for metal in METALS:
        _check_whole(report.balances, metal)


def unaccounted_words(report: ReportRow) -> str:
    """Return what all steps together lack, for gold and for silver."""
    whole = {row.metal: row for row in report.balances if row.step == ALL_STEPS}
    return " and ".join(
        with_spread(row.unaccounted_g, row.u_g or Decimal(0), metal)
        if row.unaccounted_g is not None
        else f"{metal} not drawn"
        for metal, row in whole.items()
    )


def _check_row(row: BalanceRow, field: str) -> None:
    """Refuse an unknown step, half a balance, and one that does not add up."""
    check_step(row.step, f"{field}.step")
    given = [each for each in row.amounts if each is not None]
    if given and len(given) < len(row.amounts):
        raise BadField(
            f"{field}: the {row.metal} of {row.step} has some figures and not others."
            " Write all six, or none if it was not drawn.",
            field=field,
        )
    if not given:
        return
    opening, came_in, went_out, closing, unaccounted, _ = given
    expected = opening + came_in - went_out - closing
    if unaccounted != expected:
        raise FiguresDoNotAdd(
            f"{field}.unaccounted_g: found {unaccounted}, but opening + in - out -"
            f" closing is {expected}. Take the line that close_period prints.",
            field=f"{field}.unaccounted_g",
        )


def check_step(step: str, field: str) -> None:
    """Refuse what is no step, no steps joined by a plus, and not all of them."""
    if step != ALL_STEPS and not set(step.split("+")) <= set(STEPS):
        raise BadField(
            f"{field}: found {step!r}, expected {', '.join(STEPS)}, several joined by a"
            f" plus, or {ALL_STEPS}. Write it so.",
            field=field,
        )


def _check_each_once(rows: Sequence[BalanceRow]) -> None:
    named = [(part, row.metal) for row in rows for part in row.step.split("+")]
    for part, metal in named:
        if named.count((part, metal)) > 1:
            raise BadField(
                f"report.balances: the {metal} of {part} is reported twice. Report it"
                " once.",
                field="report.balances",
            )


def _check_whole(rows: Sequence[BalanceRow], metal: str) -> None:
    """Refuse a report without its sum, or whose sum is not what the steps lack."""
    of_metal = [row for row in rows if row.metal == metal]
    whole = next((row for row in of_metal if row.step == ALL_STEPS), None)
    if whole is None:
        raise BadField(
            f"report.balances: the {metal} of all steps together is missing. Report"
            f" it as step {ALL_STEPS}.",
            field="report.balances",
        )
    lacking = [
        row.unaccounted_g
        for row in of_metal
        if row is not whole and row.unaccounted_g is not None
    ]
    if whole.unaccounted_g is not None and whole.unaccounted_g != sum(
        lacking, Decimal(0)
    ):
        raise FiguresDoNotAdd(
            f"report.balances: all steps lack {whole.unaccounted_g} g of {metal}, but"
            f" the steps together {sum(lacking, Decimal(0))} g. Take the line that"
            " close_period prints.",
            field="report.balances",
        )
