"""Which contract governs a melt, what dates it sets, and which figures are decided."""

from datetime import datetime, timedelta
from decimal import Decimal

from goldroom.custody.act import utc_text
from goldroom.custody.dealings import (
    REFINERS_ASSAY,
    UMPIRE_CALLED,
    Contract,
    Exchanged,
    Outturn,
)
from goldroom.custody.figures import in_order
from goldroom.custody.lookups import wrong_sort
from goldroom.custody.records import Assay, Item
from goldroom.custody.state import State
from goldroom.errors import NotInThisState, UnknownContract

METALS = ("gold", "silver")


def versions(state: State, refinery: str) -> list[Contract]:
    """Return every version of the contract with a refinery, in the order taken down."""
    found: list[Contract] = []
    while one := state.get(Contract, f"{refinery}/{len(found) + 1:03d}"):
        found.append(one)
    return found


def contract_at(state: State, refinery: str, at: str) -> Contract | None:
    """Return the contract in force with a refinery at a time, or None.

    Of two in force from the same moment, the one taken down last.
    """
    in_force = [each for each in versions(state, refinery) if each.from_at <= at]
    return max(in_force, key=lambda each: (each.from_at, each.version), default=None)


def outturn_of(state: State, melt: str, field: str = "melt") -> Outturn:
    """Return a refinery melt; refuse what is none.

    Raises WrongSort and NotInThisState; an id that nobody knows is the caller's.
    """
    item = state.get(Item, melt)
    if item is not None and item.sort != "melt":
        raise wrong_sort(field, melt, item.sort, "a refinery's melt")
    found = state.get(Outturn, melt)
    if found is None:
        raise NotInThisState(
            f"{field}: no refinery has reported a melt {melt}. Check the id on its"
            " report; say first that the bars were melted.",
            field=field,
        )
    return found


def governing(state: State, outturn: Outturn, field: str = "melt") -> Contract:
    """Return the contract in force when the bars were melted.

    An exchange keeps the version it was decided by. Raises UnknownContract.
    """
    exchanged = state.get(Exchanged, outturn.melt)
    if exchanged is not None:
        kept = state.get(Contract, exchanged.contract)
        assert kept is not None, "contracts are never dropped"
        return kept
    found = contract_at(state, outturn.refinery, outturn.at)
    if found is None:
        raise UnknownContract(
            f"{field}: no contract with {outturn.refinery} was in force when"
            f" {outturn.melt} was melted, {outturn.at}. Set the contract first, with"
            " the time it holds from.",
            field=field,
        )
    return found


def challenge_until(outturn: Outturn, contract: Contract) -> str:
    """Return until when the refiner's assay may be challenged, as UTC text.

    "" where the contract has assays exchanged.
    """
    if contract.basis != REFINERS_ASSAY or contract.challenge_d is None:
        return ""
    return _later(outturn.at, contract.challenge_d)


def exchange_until(outturn: Outturn, contract: Contract) -> str:
    """Return until when assays should be exchanged: days from the melt or challenge.

    "" where the refiner's assay stands unless it is challenged.
    """
    if contract.basis == REFINERS_ASSAY and not outturn.challenged_by:
        return ""
    return _later(outturn.challenged_at or outturn.at, contract.exchange_d)


def decided_figures(
    state: State, outturn: Outturn, contract: Contract
) -> dict[str, Decimal]:
    """Return gold and silver in parts per thousand as decided.

    By the exchange and its umpire; by the refiner's newest assay where that stands.
    Raises NotInThisState while nothing is decided.
    """
    exchanged = state.get(Exchanged, outturn.melt)
    if exchanged is not None:
        return _by_exchange(exchanged)
    if contract.basis != REFINERS_ASSAY or outturn.challenged_by:
        why = "was challenged" if outturn.challenged_by else "is settled on an exchange"
        raise NotInThisState(
            f"melt: {outturn.melt} {why}, and no assays were exchanged yet. Exchange"
            " them first.",
            field="melt",
        )
    refiners = refiners_assay(state, outturn)
    return {"gold": refiners.gold, "silver": refiners.silver}


def refiners_assay(state: State, outturn: Outturn) -> Assay:
    """Return the refinery's own newest assay of its melt."""
    item = state.get(Item, outturn.melt)
    assert item is not None
    found = [
        state.get(Assay, f"{outturn.melt}/{n:03d}") for n in range(1, item.assays + 1)
    ]
    own = [
        each
        for each in found
        if each is not None
        and each.laboratory == outturn.refinery
        and each.unit == "permille"
    ]
    assert own, "a melt is told with the refinery's assay"
    return in_order(own)[-1]


def _by_exchange(exchanged: Exchanged) -> dict[str, Decimal]:
    waiting = [
        metal for metal in METALS if exchanged.decision(metal).status == UMPIRE_CALLED
    ]
    if waiting:
        raise NotInThisState(
            f"melt: the umpire's figure for the {' and '.join(waiting)} of"
            f" {exchanged.melt} is still to come. Settle when it is reported.",
            field="melt",
        )
    settled = {metal: exchanged.decision(metal).settled for metal in METALS}
    return {metal: figure for metal, figure in settled.items() if figure is not None}


def _later(at: str, days: int) -> str:
    return utc_text(datetime.fromisoformat(at) + timedelta(days=days))
