"""What must hold of all that is derived from a finished walk: shares, calls, accounts.

The expected values are the walk's own truth.
"""

import json
from collections.abc import Mapping
from decimal import Decimal

from goldroom.custody.cells import CellLoad
from goldroom.custody.codec import from_plain, text_of
from goldroom.custody.records import RECORDS, Record
from goldroom.reconcile.leach_account import Account
from goldroom.reconcile.ledger_records import LedgerRecords
from goldroom.reconcile.priors import Quantities
from goldroom.reconcile.solution_call import solution_calls
from goldroom.reconcile.sources import Shares
from tests.goldroom.simulated.walk import Walk

METALS = ("gold", "silver")
SLIP = 1e-9


def check_records(held: Mapping[tuple[str, str], Record]) -> None:
    """Assert that every record is read back from its text as it was written."""
    for (table, _), record in held.items():
        assert from_plain(RECORDS[table], json.loads(text_of(record))) == record


def check_shares(quantities: Quantities) -> None:
    """Assert that what each item is made of adds up to all of it, none below 0."""
    for metal in METALS:
        shares = Shares(quantities, metal)
        for name in quantities.data.items:
            values = [each.value for each in shares.of(name).values()]
            assert abs(sum(values) - 1) < SLIP, (name, metal, shares.of(name))
            assert min(values) > -SLIP, (name, metal, shares.of(name))


def shares_told(data: LedgerRecords) -> dict[str, dict[str, float]]:
    """Return the sources of every bar and holder, as a report tells them."""
    shares = Shares(Quantities(data))
    return {
        name: {origin: share.value for origin, share in shares.of(name).items()}
        for name, item in data.items.items()
        if item.sort in ("bar", "cell_load", "leach_batch")
    }


def check_contents(walk: Walk, quantities: Quantities) -> None:
    """Assert that no item holds less than nothing, and each what it truly does."""
    for name, item in quantities.data.items.items():
        contents = quantities.of(name)
        for metal in METALS:
            amount = contents.amount(metal)
            assert amount is None or amount.posted_g >= 0, contents
            if item.status not in ("held", "in_transit", "in_charge") or amount is None:
                continue
            true_g = Decimal(getattr(walk.truth[name], metal)).scaleb(-3)
            assert amount.posted_g == true_g, (contents, walk.truth[name])


def check_vessels_called(walk: Walk, quantities: Quantities) -> None:
    """Assert that cells and batches miss what was stolen from them, and no more."""
    loads = [e for e in walk.state.all_held().values() if isinstance(e, CellLoad)]
    called = solution_calls(quantities, loads)
    batches = [
        Account.of(quantities, item)
        for item in quantities.data.items.values()
        if item.sort == "leach_batch" and item.held_until
    ]
    for metal in METALS:
        ended = [each for each in called if each.load.cleaned_in]
        missing = [each.missing(metal) for each in ended]
        assert all(missing) or not ended, [each.waiting for each in ended]
        found_g = sum((each.posted_g for each in missing if each), Decimal(0))
        assert found_g == _stolen_g(walk, "electrowinning", metal), metal
        left = [each.missing(metal) for each in batches]
        left_g = sum((each.posted_g for each in left if each), Decimal(0))
        assert left_g in (0, _stolen_g(walk, "leach", metal)), metal


def _stolen_g(walk: Walk, step: str, metal: str) -> Decimal:
    of_step = [each.metal for each in walk.thefts if each.step == step]
    return Decimal(sum(getattr(each, metal) for each in of_step)).scaleb(-3)
