"""The accountant's pages: figures first, what was closed, what waits to be signed."""

import pytest

from goldroom.metal.units import GRAMS_PER_TROY_OUNCE
from goldroom.reports.month import reconciliation
from goldroom.web.periods import month_of

PAGES = ("/month/", "/month/closed/", "/melts/", "/leach/")
MARCH = "?from=2026-03-01&to=2026-03-31"


@pytest.fixture
def accountant(told_once, signed_in_as):
    return signed_in_as("p-anan")


def body_of(answer):
    return answer.content.decode()


@pytest.mark.parametrize("path", PAGES)
def test_books_open_for_the_accountant(accountant, path):
    assert accountant.get(path).status_code == 200


@pytest.mark.parametrize("path", PAGES)
def test_an_officer_is_told_whom_to_ask(told_once, signed_in_as, path):
    answer = signed_in_as("p-amara").get(path)
    assert answer.status_code == 403
    assert "Ask the security manager" in body_of(answer)


def test_the_gold_stands_first_and_is_never_called_missing(accountant):
    body = body_of(accountant.get(f"/month/{MARCH}"))
    assert body.index("Gold poured against") < body.index("Balances by step")
    assert "scales and assays" in body
    assert "nothing is missing" not in body


@pytest.mark.source("International avoirdupois and troy units: 31.1034768 g, exact")
def test_a_mass_stands_in_grams_and_in_troy_ounces(accountant):
    answer = accountant.get(f"/month/{MARCH}")
    row = next(each for each in answer.context["gold"] if each[0] == "Gold poured")
    grams, troy_ounces = float(row[1]), float(row[3])
    assert grams > 0
    assert troy_ounces == pytest.approx(grams / 31.1034768, abs=0.0006)
    assert str(GRAMS_PER_TROY_OUNCE) in body_of(answer)


def test_balances_are_those_of_the_report(accountant, told_once):
    first, last = month_of(__import__("datetime").date(2026, 3, 1))
    report = reconciliation(told_once.ledger_id, first_day=first, last_day=last)
    shown = accountant.get(f"/month/{MARCH}").context["told"]
    assert shown.report == report


def test_a_day_that_is_none_is_told_and_kept(accountant):
    answer = accountant.get("/month/?from=the+first&to=2026-03-31")
    assert answer.status_code == 422
    assert 'value="the first"' in body_of(answer)
    assert "such as 2026-10-31" in body_of(answer)


def test_plots_come_with_their_table_and_no_style(accountant):
    body = body_of(accountant.get(f"/month/{MARCH}"))
    assert "<svg" in body
    assert "The same figures as a table" in body
    assert "style=" not in body


def test_limits_of_a_plot_are_for_those_who_read_limits(told_once, signed_in_as):
    of_limits = "no limits are drawn yet"
    assert of_limits in body_of(signed_in_as("p-anan").get(f"/month/{MARCH}"))
    body = body_of(signed_in_as("p-mori").get(f"/month/{MARCH}"))
    assert "dry kilograms per flush" in body
    assert of_limits not in body


def test_closing_draws_up_the_statement_and_goes_on_to_sign(
    room_with_keys, signed_in_as
):
    client = signed_in_as("p-anan")
    answer = client.post("/month/close/", {"from": "2026-03-01", "to": "2026-03-01"})
    assert answer.status_code == 302
    assert answer["Location"].startswith("/say/period.closed/")
    assert client.get(answer["Location"]).status_code == 200


def test_restating_asks_for_the_reason(accountant):
    answer = accountant.post("/month/restate/", {"period": "2026-03", "reason": " "})
    assert answer.status_code == 400
    assert "what became known" in body_of(answer)


def test_who_may_not_close_is_told(told_once, signed_in_as):
    days = {"from": "2026-03-01", "to": "2026-03-01"}
    answer = signed_in_as("p-okoro").post("/month/close/", days)
    assert answer.status_code == 403
    assert "accountant" in body_of(answer)
