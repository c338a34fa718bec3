"""A melt between mine and refinery, told after the story's melt. All invented.

`melted()` gives the room with MELT-1 melted under a contract of assay exchange;
`VALUES` holds what each later statement says. The refiner's own first figure is 842.9
parts per thousand gold and 119.5 silver, the mass after melting 10885.1 g.
"""

from copy import deepcopy
from typing import Any

from goldroom.custody.dealings import Exchanged, Outturn, Settled
from goldroom.custody.records import Assay, Place
from goldroom.custody.state import State
from goldroom.errors import Refusal
from goldroom.statements.assays import AssayReported
from goldroom.statements.contracts import RefiningContractSet
from goldroom.statements.exchange import AssayExchanged, RefinerAssayChallenged
from goldroom.statements.kind import Statement
from goldroom.statements.record import RecordCorrected
from goldroom.statements.settling import MeltSettled
from goldroom.statements.umpire import UmpireReported
from tests.goldroom.room import say
from tests.goldroom.story import item, upto

ACCOUNTS = (("p-odile", "accountant"), ("p-ines", "metallurgist"))
GUARDS = (("p-sefu", "security"), ("p-brandt", "manager"))
MENDERS = (("p-jonas", "officer"), ("p-brandt", "manager"))

SAID: dict[str, tuple[type[Statement], str, dict[str, Any]]] = {
    "contract": (
        RefiningContractSet,
        "2026-10-01T09:00:00+02:00",
        {
            "refinery": "refinery",
            "reference": "RC-7, contract RC-7.pdf",
            "effective_from": "2026-10-01T00:00:00+02:00",
            "basis": "exchange",
            "exchange_d": 10,
            "gold_splitting": {"limit": "0.05", "unit": "points"},
            "silver_splitting": {"limit": "0.20", "unit": "points"},
            "umpire_rule": "middle_of_three",
            "umpire_paid_by": "further",
            "payable_gold_percent": "99.9",
            "payable_silver_percent": "98",
            "melt_loss_percent": "0.1",
            "charges": [
                {
                    "what": "treatment",
                    "amount": "12.50",
                    "currency": "USD",
                    "per": "kg_received",
                },
                {
                    "what": "refining",
                    "amount": "0.35",
                    "currency": "USD",
                    "per": "ozt_gold",
                },
                {
                    "what": "assays",
                    "amount": "180",
                    "currency": "USD",
                    "per": "melt",
                },
            ],
            "advance_percent": "95",
            "advance_d": 5,
        },
    ),
    "exchanged": (
        AssayExchanged,
        "2026-10-16T10:00:00+02:00",
        {
            "melt": "MELT-1",
            "laboratory": "lab",
            "sampler": "refinery-ladle",
            "unit": "permille",
            "mine": {
                "gold": "843.1",
                "silver": "119.0",
                "sample": "RM-1-MINE",
                "method": "fire_assay",
                "report": "A-31",
            },
            "refiner": {
                "gold": "842.7",
                "silver": "119.6",
                "sample": "RM-1-REF",
                "method": "fire_assay",
                "report": "R-31",
            },
        },
    ),
    "umpired": (
        UmpireReported,
        "2026-10-24T10:00:00+02:00",
        {
            "melt": "MELT-1",
            "laboratory": "umpire_lab",
            "method": "fire_assay",
            "unit": "permille",
            "gold": "842.8",
            "report": "U-4",
        },
    ),
    "challenged": (
        RefinerAssayChallenged,
        "2026-10-15T10:00:00+02:00",
        {
            "melt": "MELT-1",
            "reason": "our own samples are richer",
            "notice": "letter 12.pdf",
        },
    ),
    "settled": (
        MeltSettled,
        "2026-10-28T10:00:00+02:00",
        {
            "melt": "MELT-1",
            "statement": "S-88, settlement 88.pdf",
            "settlement_mass_g": "10885.1",
            "gold_permille": "842.9",
            "silver_permille": "119.3",
            "credited_unit": "g",
            "credited_gold": "9165.875",
            "credited_silver": "1272.620",
            "charges": [
                {"what": "treatment", "amount": "136.16", "currency": "USD"},
                {"what": "refining", "amount": "103.24", "currency": "USD"},
                {"what": "assays", "amount": "180.00", "currency": "USD"},
            ],
        },
    ),
}
SIGNED_BY = {"contract": GUARDS}


def values(name: str, **changed: Any) -> dict[str, Any]:
    """Return what a statement says, with some values changed (None drops one)."""
    said = {**deepcopy(SAID[name][2]), **changed}
    return {key: value for key, value in said.items() if value is not None}


def tell(state: State, name: str, *, at: str = "", **changed: Any) -> Statement:
    """Say a statement, with some values changed; return it. Raises its refusal."""
    kind, usual, _ = SAID[name]
    return say(
        state,
        kind,
        values(name, **changed),
        at=at or usual,
        people=SIGNED_BY.get(name, ACCOUNTS),
        entry=entry_of(name) if not at else None,
    )


def entry_of(name: str) -> str:
    """Return the id of the entry that said it."""
    return f"entry-of-{name}"


def refused(state: State, name: str, *, at: str = "", **changed: Any) -> str | None:
    """Return the code with which a statement is refused; None if it is accepted."""
    try:
        tell(state, name, at=at, **changed)
    except Refusal as refusal:
        return refusal.code
    return None


def correct(state: State, name: str, **changed: Any) -> None:
    """Put a statement's figures right. Raises its refusal."""
    kind, _, _ = SAID[name]
    _mend(state, name, kind, {"mode": "figures", "values": values(name, **changed)})


def take_back(state: State, name: str) -> None:
    """Take a statement back. Raises its refusal."""
    _mend(state, name, SAID[name][0], {"mode": "void"})


def _mend(state: State, name: str, kind: type[Statement], more: dict[str, Any]) -> None:
    said = {"entry": entry_of(name), "kind": kind.kind_name, "reason": "misread"}
    say(
        state,
        RecordCorrected,
        {**said, **more},
        at="2026-10-29T10:00:00+02:00",
        people=MENDERS,
        corrects=entry_of(name),
    )


def melted(**terms: Any) -> State:
    """Return the room with the melt, and the contract with these terms changed."""
    state = upto("melted")
    state.put(Place(place_id="umpire_lab", name="Umpire", sort="laboratory"))
    tell(state, "contract", **terms)
    return state


def apart(mine: str, refiner: str, metal: str = "gold") -> dict[str, Any]:
    """Return the exchange's rows with these two results for a metal."""
    said = values("exchanged")
    return {
        "mine": {**said["mine"], metal: mine},
        "refiner": {**said["refiner"], metal: refiner},
    }


def on_refiners_assay(**terms: Any) -> State:
    """Return the room with the melt under a contract where the refiner's stands."""
    return melted(basis="refiners_assay", challenge_d=7, **terms)


def exchanged(state: State) -> Exchanged:
    """Return the exchange, which must be there."""
    found = state.get(Exchanged, "MELT-1")
    assert found is not None
    return found


def outturn(state: State) -> Outturn:
    """Return the melt between the parties."""
    found = state.get(Outturn, "MELT-1")
    assert found is not None
    return found


def settled(state: State) -> Settled:
    """Return the settlement, which must be there."""
    found = state.get(Settled, "MELT-1")
    assert found is not None
    return found


def assays(state: State) -> list[tuple[str, str, str, str]]:
    """Return the melt's assays: standing, laboratory, gold, silver."""
    count = item(state, "MELT-1").assays
    found = [state.get(Assay, f"MELT-1/{n:03d}") for n in range(1, count + 1)]
    return [
        (each.standing, each.laboratory, str(each.gold), str(each.silver))
        for each in found
        if each is not None
    ]


def take_back_melt(state: State) -> None:
    """Take the refinery's melt itself back. Raises its refusal."""
    said = {
        "entry": "entry-of-melted",
        "kind": "dispatch.melted",
        "mode": "void",
        "reason": "another shipment's melt",
    }
    say(
        state,
        RecordCorrected,
        said,
        at="2026-10-29T10:00:00+02:00",
        people=MENDERS,
        corrects="entry-of-melted",
    )


def report_late(state: State, standing: str, *, gold: str, silver: str) -> None:
    """Report one more assay of the melt, of a standing, after everything else."""
    result = {
        "items": ["MELT-1"],
        "sample": "RM-9",
        "unit": "permille",
        "gold": gold,
        "silver": silver,
    }
    values_said = {
        "laboratory": "refinery",
        "method": "fire_assay",
        "standing": standing,
        "sampler": "refinery-ladle",
        "results": [result],
    }
    say(
        state,
        AssayReported,
        values_said,
        at="2026-10-30T10:00:00+02:00",
        people=(("p-noor", "laboratory"), ("p-ines", "metallurgist")),
    )
