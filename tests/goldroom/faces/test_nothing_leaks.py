"""What only some roles read stands at no address that others can read.

Secrets are put into the record through the front door; then pages, papers and API are
read by an officer, a witness and the laboratory, and none of the secrets appears. The
security manager's pages show them, so the looking itself is sound.
"""

from collections.abc import Iterator
from typing import Any

import pytest

from goldroom.statements.registry import kinds
from ledger import read
from tests.conftest import copied_database
from tests.front_door import Room, told

GUARD = (("p-soto", "security"), ("p-okoro", "manager"))
SHIPPED_BY = (("p-soto", "security"), ("p-anan", "accountant"))
CLERKS = ("p-amara", "p-leith", "p-lima")
SECRETS = ("SHP-PLANTED", "Planted Carrier", "INC-PLANTED", "planted words", "731.25")
PAGES = (
    "/", "/say/", "/steps/", "/steps/vault/", "/steps/dispatch/", "/journal/",
    "/journal/?person=p-soto", "/journal/?thing=BAR-1", "/journal/?work=limit.set",
    "/find/?q=SHP", "/find/?q=INC", "/find/?q=Planted", "/items/BAR-1/", "/holdings/",
    "/month/", "/month/closed/", "/melts/", "/leach/", "/findings/", "/check/",
    "/exports/", "/site/", "/people/", "/equipment/", "/limits/", "/seals/",
    "/numbers/", "/rooms/", "/shipments/", "/shipments/SHP-PLANTED/",
    "/papers/packing/SHP-PLANTED.pdf", "/papers/bar/BAR-1.pdf", "/papers/bars.pdf",
    "/api/v1/journal", "/api/v1/journal?thing=BAR-1", "/api/v1/items/BAR-1",
    "/api/v1/holdings", "/api/v1/findings", "/api/v1/proposals",
    "/api/v1/settlements", "/api/v1/closed-periods", "/api/v1/verification",
)  # fmt: skip


def plant(room: Room) -> None:
    room.say(
        "dispatch.advised",
        {
            "shipment": "SHP-PLANTED",
            "refinery": "refinery",
            "carrier": "Planted Carrier (invented)",
            "carrier_person": "Planted Carrier's person",
            "items": ["BAR-1"],
            "window_from": "2026-03-09T09:00:00+02:00",
            "window_until": "2026-03-09T12:00:00+02:00",
        },
        SHIPPED_BY,
    )
    room.say(
        "incident.reported",
        {
            "incident": "INC-PLANTED",
            "severity": "near_miss",
            "what": "planted words",
            "done": "planted words",
            "anybody_hurt": False,
        },
        GUARD,
    )
    room.say(
        "limit.set",
        {
            "limit": "stock_age_d",
            "value": "731.25",
            "unit": "d",
            "reason": "planted words",
        },
        GUARD,
    )


@pytest.fixture(scope="module")
def planted(
    template_db: str, tmp_path_factory: Any, django_db_blocker: Any
) -> Iterator[Room]:
    """Tell the story, and then what is to be found nowhere."""
    folder = tmp_path_factory.mktemp("planted")
    with django_db_blocker.unblock(), copied_database(template_db, folder):
        room = told()
        plant(room)
        yield room


def addresses(room: Room) -> list[str]:
    size = read.head(room.ledger_id).size
    entries = [f"/journal/{seq}/" for seq in range(size - 5, size)]
    ours = [f"/api/v1/entries/{seq}" for seq in range(size - 5, size)]
    raw = [f"/journal/{seq}/bytes" for seq in range(size - 5, size)]
    named = ("dispatch", "incident", "period", "stock", "limit", "vault", "finding")
    forms = [f"/say/{kind}/" for kind in sorted(kinds()) if kind.startswith(named)]
    return [*PAGES, *entries, *ours, *raw, *forms]


def text_of(answer: Any) -> str:
    return b"".join(answer).decode("utf-8", "replace")


@pytest.mark.parametrize("person", CLERKS)
def test_no_secret_is_read_by_whoever_may_not(planted, signed_in_as, person):
    client = signed_in_as(person)
    for address in addresses(planted):
        answer = client.get(address, follow=True)
        assert answer.status_code < 500, address
        told_there = text_of(answer)
        asked_for = address + "".join(each for each, _ in answer.redirect_chain)
        found = [s for s in SECRETS if s in told_there and s not in asked_for]
        assert not found, (address, found)


def test_those_who_watch_read_all_of_it(planted, signed_in_as):
    client = signed_in_as("p-soto")
    everything = " ".join(text_of(client.get(each)) for each in addresses(planted))
    assert [each for each in SECRETS if each not in everything] == []


def test_to_others_an_announced_shipment_is_not_there(planted, signed_in_as):
    client = signed_in_as("p-amara")
    for where in ("/papers/packing/{}.pdf", "/papers/dispatch/{}.pdf"):
        there = client.get(where.format("SHP-PLANTED"))
        nowhere = client.get(where.format("SHP-NOWHERE"))
        assert there.status_code == nowhere.status_code
        assert there.text.replace("PLANTED", "NOWHERE").count("SHP-NOWHERE") == (
            nowhere.text.count("SHP-NOWHERE")
        )


def test_numbers_of_unused_seals_are_for_those_who_watch(planted, signed_in_as):
    assert "S-0010" not in signed_in_as("p-amara").get("/seals/").text
    assert "S-0010" in signed_in_as("p-soto").get("/seals/").text
    assert "S-0010" not in signed_in_as("p-amara").get("/find/?q=S-00").text
