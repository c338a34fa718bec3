"""Records of the error budget: what each sort of figure is worth, from a time on."""

from dataclasses import dataclass
from decimal import Decimal

from goldroom.custody.record import Record


@dataclass(frozen=True, kw_only=True)
class ErrorBudget(Record):
    """A row of the error budget, in force from a time until the next of its quantity.

    `quantity` names a row of the starting uncertainties, `basis` and `shared_basis`
    what the standard uncertainties are a share or an amount of. It speaks of what was
    measured from `in_force_from` on, and of nothing before.
    """

    table = "error_budget"
    key_of = "{quantity}/{version:03d}"
    quantity: str
    version: int
    random_u: Decimal
    basis: str
    shared_u: Decimal
    shared_basis: str
    in_force_from: str
    evidence: str
    at: str
    entry: str
    known_at: str
