"""The holdings page: now, as of an entry, and what the vault holds by role."""

import re

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from goldroom.models import JournalLine


def held(answer):
    """Return the items on the page."""
    rows = re.findall(
        r'<th scope="row"><a class="when" href="/items/([^/]+)/"',
        answer.content.decode(),
    )
    return set(rows)


def seq_of(kind, ledger_id):
    lines = JournalLine.objects.filter(ledger_id=ledger_id, kind=kind)
    return lines.order_by("seq").first().seq


def test_the_vault_is_shown_to_those_who_may_read_it(told_once, signed_in_as):
    watching = signed_in_as("p-soto").get("/holdings/")
    room = signed_in_as("p-amara").get("/holdings/")
    assert held(watching) == {"SLAG-1", "LOAD-9", "BAR-1"}
    assert held(room) == {"SLAG-1", "LOAD-9"}
    assert "is read by the security manager" in room.content.decode()


def test_holdings_as_of_an_entry_are_those_of_then(told_once, signed_in_as):
    client = signed_in_as("p-soto")
    emptied = seq_of("hopper.emptied", told_once.ledger_id)
    assert held(client.get("/holdings/", {"at": emptied})) == {"LOT-1"}
    assert held(client.get("/holdings/", {"at": emptied - 1})) == {"LOAD-1"}
    placed = seq_of("vault.placed", told_once.ledger_id)
    for person, items in (("p-soto", {"BAR-1", "SLAG-1"}), ("p-amara", {"SLAG-1"})):
        then = signed_in_as(person).get("/holdings/", {"at": placed})
        assert held(then) == items
        assert f"entry {placed}" in then.content.decode()


def test_provisional_figures_are_said_to_be(told_once, signed_in_as):
    client = signed_in_as("p-soto")
    placed = seq_of("vault.placed", told_once.ledger_id)
    then = client.get("/holdings/", {"at": placed}).content.decode()
    bar = then[then.index("/items/BAR-1/") :]
    assert "provisional" in bar[: bar.index("</tr>")]
    now = client.get("/holdings/").content.decode()
    bar = now[now.index("/items/BAR-1/") :]
    assert "provisional" not in bar[: bar.index("</tr>")]


def test_gold_of_a_bar_is_mass_times_fineness(told_once, signed_in_as):
    """Fine gold = mass x fineness: 167.8 g at 850.4 permille is 142.70 g."""
    shown = signed_in_as("p-soto").get("/holdings/").content.decode()
    bar = shown[shown.index("/items/BAR-1/") :]
    gold = re.search(r'<td class="n">(\d+\.\d+) ±', bar)
    assert gold[1].startswith("142.7")


@pytest.mark.parametrize(("at", "status"), [("x", 422), ("-1", 422), ("99999", 422)])
def test_a_number_of_no_entry_is_said_at_its_box(told_once, signed_in_as, at, status):
    answer = signed_in_as("p-soto").get("/holdings/", {"at": at})
    assert answer.status_code == status
    assert 'id="at-wrong"' in answer.content.decode()
    assert f'value="{at}"' in answer.content.decode()


@pytest.mark.parametrize("asked", [{}, {"at": "50"}])
def test_a_page_takes_few_queries(told_once, signed_in_as, asked):
    client = signed_in_as("p-soto")
    client.get("/holdings/", asked)
    with CaptureQueriesContext(connection) as queries:
        client.get("/holdings/", asked)
    assert len(queries) < 30
