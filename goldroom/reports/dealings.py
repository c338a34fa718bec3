"""Melts between mine and refinery out of the read tables: terms, dates, what waits."""

from datetime import datetime

from goldroom.custody.agreed import (
    challenge_until,
    contract_at,
    exchange_until,
    governing,
)
from goldroom.custody.dealings import Contract, Exchanged, Outturn, Settled
from goldroom.custody.state import State
from goldroom.findings import settlement
from goldroom.findings.found import Found, Threshold
from goldroom.findings.settlement import OpenMelt
from goldroom.reports import rows

NEAR_WITHIN = settlement.NEAR_WITHIN
"""Limit by which a date of a contract is near."""


def dealings_of(ledger_id: int) -> State:
    """Return a state that holds the contracts and every melt's dealings."""
    state = State()
    for record in rows.all_of(ledger_id, Contract, Outturn, Exchanged, Settled):
        state.put(record)
    state.settle()
    return state


def open_melts(ledger_id: int) -> list[OpenMelt]:
    """Return the melts not settled yet, of refineries with a contract in force."""
    state = dealings_of(ledger_id)
    found = []
    for outturn in rows.every(ledger_id, Outturn):
        if outturn.settled_by or not _contract(state, outturn):
            continue
        contract = governing(state, outturn)
        found.append(
            OpenMelt(
                melt=outturn.melt,
                refinery=outturn.refinery,
                challenge_until=challenge_until(outturn, contract),
                exchange_until=exchange_until(outturn, contract),
                is_challenged=bool(outturn.challenged_by),
                is_exchanged=state.get(Exchanged, outturn.melt) is not None,
            )
        )
    return found


def melts_waiting(ledger_id: int, *, within: Threshold, now: datetime) -> list[Found]:
    """Return the melts to challenge, exchange or settle soon, or overdue by now."""
    melts = open_melts(ledger_id)
    return [
        *settlement.melts_to_challenge(melts, within=within, now=now),
        *settlement.melts_to_exchange(melts, within=within, now=now),
    ]


def contract_of(state: State, outturn: Outturn) -> Contract | None:
    """Return the contract that governs a melt, or None where none was in force."""
    return governing(state, outturn) if _contract(state, outturn) else None


def _contract(state: State, outturn: Outturn) -> bool:
    return (
        state.get(Exchanged, outturn.melt) is not None
        or contract_at(state, outturn.refinery, outturn.at) is not None
    )
