"""Contracts with refineries: terms that fit together, versions by effective time."""

from decimal import Decimal
from typing import Any

import pytest

from goldroom.custody.agreed import contract_at, versions
from goldroom.custody.dealings import Charge, SplittingLimit
from goldroom.statements.contracts import RefiningContractSet
from tests.goldroom import dealings
from tests.goldroom.room import room

LATER = {"effective_from": "2026-11-01T00:00:00+02:00", "reference": "RC-8"}


def test_contract_is_kept_as_said():
    state = room()
    dealings.tell(state, "contract")
    found = contract_at(state, "refinery", "2026-10-02T00:00:00Z")
    assert found is not None
    assert found.gold_splitting == SplittingLimit(limit=Decimal("0.05"), unit="points")
    assert (found.umpire_rule, found.exchange_d, found.challenge_d) == (
        "middle_of_three",
        10,
        None,
    )
    assert found.charges[1] == Charge(
        what="refining", amount=Decimal("0.35"), currency="USD", per="ozt_gold"
    )
    assert (found.from_at, found.known_at) == (
        "2026-09-30T22:00:00Z",
        "2026-10-01T07:10:00Z",
    )


@pytest.mark.parametrize(
    ("at", "reference"),
    [
        pytest.param("2026-09-30T21:59:59Z", None, id="before the first"),
        pytest.param("2026-09-30T22:00:00Z", "RC-7, contract RC-7.pdf", id="first"),
        pytest.param("2026-10-31T21:59:59Z", "RC-7, contract RC-7.pdf", id="its last"),
        pytest.param("2026-10-31T22:00:00Z", "RC-8", id="second"),
    ],
)
def test_each_version_holds_from_its_own_time(at: str, reference: str | None):
    state = room()
    dealings.tell(state, "contract", at="2026-10-20T09:00:00+02:00", **LATER)
    dealings.tell(state, "contract")
    found = contract_at(state, "refinery", at)
    assert (found.reference if found else None) == reference
    assert [each.version for each in versions(state, "refinery")] == [1, 2]


def test_terms_said_again_for_the_same_time_take_the_earlier_ones_place():
    state = room()
    dealings.tell(state, "contract")
    dealings.tell(state, "contract", at="2026-10-02T09:00:00+02:00", reference="RC-7b")
    found = contract_at(state, "refinery", "2026-10-02T00:00:00Z")
    assert found is not None
    assert found.reference == "RC-7b"


CHARGE = {"what": "treatment", "amount": "1", "currency": "USD", "per": "melt"}


@pytest.mark.parametrize(
    ("changed", "code"),
    [
        pytest.param({}, None, id="as it was"),
        pytest.param({"refinery": "mill"}, "wrong_sort", id="the mill"),
        pytest.param({"refinery": "nowhere"}, "unknown_place", id="not registered"),
        pytest.param(
            {"basis": "refiners_assay"}, "bad_field", id="no days to challenge"
        ),
        pytest.param({"challenge_d": 7}, "bad_field", id="challenge of an exchange"),
        pytest.param({"advance_d": None}, "bad_field", id="advance without days"),
        pytest.param(
            {"payable_gold_percent": "100.1"}, "bad_field", id="more than all paid"
        ),
        pytest.param(
            {"charges": [{**CHARGE, "currency": "usd"}]}, "bad_field", id="small usd"
        ),
        pytest.param(
            {"charges": [{**CHARGE, "currency": "US$"}]}, "bad_field", id="a sign"
        ),
        pytest.param(
            {"charges": [{**CHARGE, "per": "oz"}]}, "bad_field", id="a bare ounce"
        ),
        pytest.param({"charges": [{**CHARGE, "amount": "-3"}]}, None, id="a rebate"),
    ],
)
def test_contract_is_refused(changed: dict[str, Any], code: str | None):
    assert dealings.refused(room(), "contract", **changed) == code


def test_contract_reads_aloud():
    said = dealings.tell(room(), "contract")
    assert said.sentence() == (
        "The contract with refinery (RC-7, contract RC-7.pdf) holds from 2026-10-01"
        " 00:00 on: assays are exchanged within 10 days of the melt. Gold may be apart"
        " by 0.05 points of per cent, silver by 0.20 points of per cent; beyond that an"
        " umpire is called, the middle of the three results stands, and the party"
        " further from the umpire pays. Paid for are 99.9 % of the gold and 98 % of the"
        " silver; a melt loss of 0.1 % is let pass. Charges: treatment 12.50 USD for"
        " each kilogram as received, refining 0.35 USD for each troy ounce of fine gold"
        " and assays 180 USD for each melt. In advance 95 % are paid within 5 days."
    )


def test_contract_on_the_refiners_assay_reads_aloud():
    said = dealings.tell(
        room(),
        "contract",
        basis="refiners_assay",
        challenge_d=7,
        gold_splitting={"limit": "0.06", "unit": "percent_of_mean"},
        advance_percent=None,
        advance_d=None,
        charges=None,
    )
    assert isinstance(said, RefiningContractSet)
    assert (
        "the refiner's assay stands unless it is challenged within 7 days, and assays"
        " are then exchanged within 10 days. Gold may be apart by 0.06 % of the mean"
    ) in said.sentence()
    assert said.sentence().endswith("a melt loss of 0.1 % is let pass.")
