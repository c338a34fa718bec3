"""The error budget: what each sort of figure is worth, on the site's own evidence.

A site starts from wide figures and tightens them with duplicates, check weights and
reference materials. A budget row holds for what is measured from its time on, never
for what was measured before: nobody widens the budget over a loss that has happened.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime, timedelta
from decimal import Decimal

from goldroom.custody.act import Act, utc_text
from goldroom.custody.error_budget import ErrorBudget
from goldroom.custody.period import LAST_CLOSED, ClosedPeriod
from goldroom.custody.records import Marker, Record
from goldroom.custody.state import State
from goldroom.errors import OutOfRange
from goldroom.metal.starting_uncertainties import STARTING, WELL_RUN
from goldroom.statements import fields
from goldroom.statements.fields import BadField
from goldroom.statements.kind import Statement, kind

WEIGHINGS = ("hopper_cells", "platform_scale", "bench_balance", "bullion_balance")
BASES = {
    "relative": "of the value",
    "points": "percentage points of moisture",
    "kg": "kg",
    "g": "g",
    "span": "of the span",
}
"""What an uncertainty is a share or an amount of, in words."""

SIGNING_TIME = timedelta(hours=12)
"""How long a statement may wait for signatures: by so much may a budget begin before
it is an entry, and no more, whatever time is written as that of the act."""

LARGEST = {"relative": Decimal(1), "span": Decimal(1), "points": Decimal(20)}


@dataclass(frozen=True, kw_only=True)
class BudgetRow:
    """One quantity: its random and its shared standard uncertainty, and why."""

    quantity: str = fields.choice("Quantity", tuple(STARTING))
    random_u: Decimal = fields.number(
        "Random, renewed each time", "", is_figure=False, help="A share: 0.05 is 5 %"
    )
    basis: str = fields.choice("Random is", tuple(BASES))
    shared_u: Decimal = fields.number(
        "Shared, the same each time", "", is_figure=False, help="A share: 0.05 is 5 %"
    )
    shared_basis: str = fields.choice("Shared is", tuple(BASES))
    evidence: str = fields.text(
        "Evidence", help="Duplicates, check weights, reference materials: how many"
    )


@kind("error_budget.set", group="standing", title="Error budget set")
@dataclass(frozen=True, kw_only=True)
class ErrorBudgetSet(Statement):
    """What some quantities are worth from a time on, with the evidence for it."""

    in_force_from: datetime = fields.moment(
        "In force from", help="Now or later; never before"
    )
    rows: tuple[BudgetRow, ...] = fields.rows("Quantities", BudgetRow)

    def check(self, act: Act, state: State) -> None:
        """Refuse a budget over the past, a wrong unit, no uncertainty at all."""
        earliest = max(act.occurred_at, act.received_at - SIGNING_TIME)
        if self.in_force_from < earliest:
            raise BadField(
                f"in_force_from: found {self.in_force_from}, which is past: what was"
                " measured keeps the budget of its time. Let this one begin at"
                f" {earliest} or later.",
                field="in_force_from",
            )
        last = state.get(Marker, LAST_CLOSED)
        closed = None if last is None else state.get(ClosedPeriod, last.value)
        if closed is not None and utc_text(self.in_force_from) < closed.to_at:
            raise BadField(
                f"in_force_from: found {self.in_force_from}, which lies in"
                f" {closed.period}, a closed period. Let it begin at {closed.to_at} or"
                " later.",
                field="in_force_from",
            )
        named: set[str] = set()
        for n, row in enumerate(self.rows):
            if row.quantity in named:
                raise BadField(
                    f"rows[{n}].quantity: {row.quantity} is named twice. Write each"
                    " quantity once.",
                    field=f"rows[{n}].quantity",
                )
            named.add(row.quantity)
            _check_row(row, f"rows[{n}]")

    def apply(self, act: Act, state: State) -> Iterator[Record]:
        """Yield each quantity's row, a version after any before it."""
        for row in self.rows:
            version = 1
            while state.get(ErrorBudget, f"{row.quantity}/{version:03d}") is not None:
                version += 1
            yield ErrorBudget(
                quantity=row.quantity,
                version=version,
                random_u=row.random_u,
                basis=row.basis,
                shared_u=row.shared_u,
                shared_basis=row.shared_basis,
                in_force_from=utc_text(self.in_force_from),
                evidence=row.evidence,
                at=act.at,
                entry=act.entry,
                known_at=act.known_at,
            )

    def sentence(self) -> str:
        """Return what the journal reads aloud."""
        rows = "; ".join(
            f"{row.quantity.replace('_', ' ')} {_words(row.random_u, row.basis)} each"
            f" time and {_words(row.shared_u, row.shared_basis)} shared"
            f" ({row.evidence})"
            for row in self.rows
        )
        return (
            f"From {self.in_force_from:%Y-%m-%d %H:%M} on the error budget is: {rows}."
        )


def _check_row(row: BudgetRow, field: str) -> None:
    """Refuse units that the quantity does not have, and figures out of all reason."""
    starting = (WELL_RUN[row.quantity], STARTING[row.quantity])
    random_bases = {each.random.basis for each in starting}
    if row.quantity in WEIGHINGS:
        random_bases = {"kg", "g", "span"}
    for name, u, basis, bases in (
        ("random_u", row.random_u, row.basis, random_bases),
        ("shared_u", row.shared_u, row.shared_basis,
         {each.shared.basis for each in starting}),
    ):  # fmt: skip
        if basis not in bases:
            raise BadField(
                f"{field}.{name}: the uncertainty of {row.quantity} cannot be"
                f" {BASES[basis]!r}. Write it as {' or '.join(sorted(bases))}.",
                field=f"{field}.{name}",
            )
        if u > LARGEST.get(basis, u):
            raise OutOfRange(
                f"{field}.{name}: found {u}, more than the whole. Write a"
                " share of 5 % as 0.05.",
                field=f"{field}.{name}",
            )
    if not row.random_u and not row.shared_u:
        raise OutOfRange(
            f"{field}.random_u: {row.quantity} would be exact. Nothing measured is:"
            " write what the evidence shows.",
            field=f"{field}.random_u",
        )


def _words(u: Decimal, basis: str) -> str:
    if basis in ("relative", "span"):
        return f"{(100 * u).normalize():f} % {BASES[basis]}"
    return f"{u} {BASES[basis]}"
