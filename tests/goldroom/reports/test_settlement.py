"""The settlement report: mine and refinery side by side, out of the read tables."""

import json
from datetime import datetime
from decimal import Decimal
from typing import Any

import pytest
from django.core.management import CommandError, call_command

from goldroom import commands
from goldroom.errors import UnknownItem
from goldroom.reports.attention import standing_findings
from goldroom.reports.settlement import MeltSettlement, settlement, settlements
from tests.goldroom import dealings, small_mine
from tests.goldroom.small_mine import GUARDS, saying

MONTH = (("p-odile", "accountant"), ("p-ines", "metallurgist"))
FROM = "2026-10-01T00:00:00+02:00"


def say(ledger_id: int, at: str, kind: str, hands: Any, **values: Any) -> None:
    commands.say(
        ledger_id, saying(f"{kind} {at}", at, kind, hands, **values), small_mine.KEYS
    )


def contract(ledger_id: int, **changed: Any) -> None:
    values = dealings.values("contract", effective_from=FROM, **changed)
    say(ledger_id, "10-13 09:00", "refining_contract.set", GUARDS, **values)


def exchange(ledger_id: int, mine: str = "859.2", refiner: str = "858.8") -> None:
    said = dealings.apart(mine, refiner)
    for party in said.values():
        party["silver"] = "119.4"
    values = dealings.values("exchanged", **said)
    say(ledger_id, "10-14 09:00", "assay.exchanged", MONTH, **values)


def settle(ledger_id: int) -> None:
    values = dealings.values(
        "settled", settlement_mass_g="238.5", gold_permille="859.0",
        silver_permille="119.4", credited_gold="204.67", credited_silver="27.91",
        charges=[{"what": "all", "amount": "185.29", "currency": "USD"}],
    )  # fmt: skip
    say(ledger_id, "10-20 09:00", "melt.settled", MONTH, **values)


def found(ledger_id: int) -> MeltSettlement:
    return settlement(ledger_id, "MELT-1")


def test_melt_is_told_from_contract_to_payment(told):
    contract(told)
    exchange(told)
    settle(told)
    melt = found(told)
    assert (melt.status, melt.bars) == ("settled", ("BAR-1", "BAR-2"))
    assert (melt.bars_g, melt.as_received_g, melt.after_melt_g) == (
        Decimal("238.700"),
        Decimal("238.7"),
        Decimal("238.500"),
    )
    assert (melt.melt_loss_g, melt.melt_loss_percent) == (
        Decimal("0.200"),
        Decimal("0.0838"),
    )
    assert [each.standing for each in melt.assays] == [
        "refiner",
        "party",
        "refiner",
        "final",
    ]
    gold = melt.metals[0]
    assert gold.decision is not None
    assert (gold.apart_permille, gold.decision.settled) == (
        Decimal("0.4"),
        Decimal("859.0"),
    )
    assert gold.mine.grams == "205.282"
    assert gold.refinery.grams == "204.872"
    assert gold.difference.grams == "0.410"
    assert (gold.payable_g, gold.credited_g) == (Decimal("204.667"), Decimal("204.67"))


@pytest.mark.parametrize(
    ("terms", "mine", "status"),
    [
        pytest.param(None, None, "no contract in force", id="no contract"),
        pytest.param({}, None, "waits for the exchange", id="contract"),
        pytest.param({}, "859.2", "decided", id="agreed"),
        pytest.param({}, "860.2", "waits for the umpire", id="apart"),
        pytest.param(
            {"basis": "refiners_assay", "challenge_d": 30},
            None,
            "open to challenge",
            id="the refiner's assay",
        ),
    ],
)
def test_melt_says_what_it_waits_for(told, terms, mine, status):
    if terms is not None:
        contract(told, **terms)
    if mine is not None:
        exchange(told, mine=mine)
    assert [each.status for each in settlements(told)] == [status]


def test_melt_nobody_told_is_refused(told):
    with pytest.raises(UnknownItem, match="MELT-9"):
        settlement(told, "MELT-9")


def printed(capsys, *arguments):
    call_command("settlement", *arguments)
    return capsys.readouterr().out


def test_command_reads_a_melt_aloud(told, capsys):
    contract(told)
    exchange(told, mine="860.2")
    umpire = dealings.values("umpired", gold="859.4")
    say(told, "10-14 10:00", "place.registered", GUARDS, place="umpire_lab",
        name="Umpire's laboratory", sort="laboratory")  # fmt: skip
    say(told, "10-15 09:00", "umpire.reported", MONTH, **umpire)
    said = printed(capsys, "MELT-1")
    for words in (
        "Melt MELT-1 of BAR-1 to 2 (shipment SHP-1) at Refinery",
        "Contract RC-7, contract RC-7.pdf, version 1.",
        "Mass: mine 238.7 g; refinery 238.7 g as received, 238.5 g after melting.",
        "Melt loss: 0.2 g, 0.0838 % of the mass as received; the contract lets 0.1 %",
        "Exchanged: mine 860.2 ‰, refiner 858.8 ‰, apart 1.4 ‰, the mine's the"
        " higher; splitting limit 0.05 points of per cent (0.50 ‰).",
        "Umpire 859.4 ‰, rule: the middle of three; the mine pays.",
        "Settled figure 859.4 ‰.",
        "final: gold 859.4 ‰, silver 119.4 ‰ (Refinery, settlement)",
    ):
        assert words in said, words


def test_command_lists_all_and_gives_json(told, capsys):
    contract(told)
    exchange(told)
    settle(told)
    (plain,) = json.loads(printed(capsys, "--all", "--json"))
    assert plain["metals"][0]["payable_g"] == "204.667"
    assert plain["billed"] == [{"what": "all", "amount": "185.29", "currency": "USD"}]
    one = json.loads(printed(capsys, "MELT-1", "--json"))
    assert one == plain
    said = printed(capsys, "--all")
    assert "Payable 204.667 g, credited 204.67 g." in said
    assert "Charges billed: all 185.29 USD." in said


@pytest.mark.parametrize("arguments", [(), ("MELT-1", "--all")])
def test_command_wants_one_melt_or_all(told, arguments):
    with pytest.raises(CommandError, match="Name one melt"):
        call_command("settlement", *arguments)


def test_command_says_that_nothing_was_melted_and_what_is_unknown(fresh_db, capsys):
    small_mine.tell(upto="advised")
    assert "No refinery melt is on record." in printed(capsys, "--all")
    with pytest.raises(CommandError, match="unknown_item"):
        call_command("settlement", "MELT-1")


@pytest.mark.parametrize(
    ("terms", "now", "code"),
    [
        pytest.param({}, "10-15", None, id="an exchange that is far"),
        pytest.param({}, "10-18", "exchange_near", id="an exchange that is near"),
        pytest.param({}, "10-23", "exchange_overdue", id="an exchange overdue"),
        pytest.param(
            {"basis": "refiners_assay", "challenge_d": 20},
            "10-26",
            None,
            id="a challenge that is far",
        ),
        pytest.param(
            {"basis": "refiners_assay", "challenge_d": 20},
            "10-28",
            "challenge_near",
            id="a challenge that is near",
        ),
        pytest.param(
            {"basis": "refiners_assay", "challenge_d": 20},
            "11-03",
            "settlement_waits",
            id="a challenge no longer possible",
        ),
        pytest.param(None, "11-03", None, id="no contract, no dates"),
    ],
)
def test_dates_of_the_contract_want_attention(told, terms, now, code):
    if terms is not None:
        contract(told, **terms)
    moment = datetime.fromisoformat(f"2026-{now}T12:00:00+02:00")
    concerned = [
        each.code
        for each in standing_findings(told, now=moment)
        if each.item == "MELT-1"
    ]
    assert concerned == ([code] if code else [])


def test_rebuilt_tables_hold_the_same_dealings(told, capsys):
    contract(told)
    exchange(told)
    settle(told)
    call_command("rebuild_tables", "--check")
    before = found(told)
    call_command("rebuild_tables")
    assert found(told) == before


def test_settled_melt_wants_no_attention(told):
    contract(told)
    exchange(told)
    later = datetime.fromisoformat("2026-11-03T12:00:00+02:00")
    for _ in range(2):
        codes = [each.code for each in standing_findings(told, now=later)]
        assert not {"exchange_overdue", "settlement_waits"} & set(codes)
        if not found(told).statement:
            settle(told)
