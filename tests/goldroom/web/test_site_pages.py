"""The site's standing things: what everybody reads, and what only some do."""

import pytest

from tests.goldroom import small_mine

OPEN = (
    "/site/",
    "/people/",
    "/equipment/",
    "/seals/",
    "/numbers/",
    "/rooms/",
    "/shipments/",
    "/check/",
)


def body_of(answer):
    return answer.content.decode()


@pytest.mark.parametrize("path", OPEN)
def test_everybody_enrolled_reads_the_sites_things(told_once, signed_in_as, path):
    answer = signed_in_as("p-amara").get(path)
    assert answer.status_code == 200
    assert "style=" not in body_of(answer)


def test_the_site_leads_only_where_one_may_go(told_once, signed_in_as):
    officers = body_of(signed_in_as("p-amara").get("/site/"))
    watching = body_of(signed_in_as("p-soto").get("/site/"))
    for path in ("/limits/", "/exports/", "/findings/"):
        assert f'href="{path}"' not in officers
        assert f'href="{path}"' in watching


def test_people_are_told_with_their_keys(told_once, signed_in_as):
    body = body_of(signed_in_as("p-amara").get("/people/"))
    assert "Amara Invented" in body
    assert "from 0 on" in body


def test_a_limit_can_be_set_from_its_line(told_once, signed_in_as):
    form = "/say/limit.set/?limit=stock_age_d"
    assert form in body_of(signed_in_as("p-soto").get("/limits/"))


def test_instruments_tell_when_their_calibration_is_due(told_once, signed_in_as):
    body = body_of(signed_in_as("p-amara").get("/equipment/"))
    assert "2027-03-01" in body


def test_how_much_a_vault_holds_is_not_told_by_its_boxes(told_once, signed_in_as):
    assert "Items in it" in body_of(signed_in_as("p-soto").get("/equipment/"))
    assert "Items in it" not in body_of(signed_in_as("p-amara").get("/equipment/"))


def test_a_shipment_that_left_is_told_with_boxes_and_papers(fresh_db, signed_in_as):
    small_mine.tell(upto="handed over")
    body = body_of(signed_in_as("p-amara").get("/shipments/SHP-1/"))
    assert "/papers/packing/SHP-1.pdf" in body
    assert "/papers/dispatch/SHP-1.pdf" in body
    assert "S-0009" in body


def test_a_shipment_not_yet_left_is_nowhere_for_others(fresh_db, signed_in_as):
    small_mine.tell(upto="advised")
    officer, security = signed_in_as("p-amara"), signed_in_as("p-sefu")
    assert "SHP-1" not in body_of(officer.get("/shipments/"))
    assert officer.get("/shipments/SHP-1/").status_code == 400
    assert "W-90" not in body_of(officer.get("/shipments/SHP-1/"))
    assert "SHP-1" in body_of(security.get("/shipments/"))
    assert security.get("/shipments/SHP-1/").status_code == 200


def test_who_signed_the_announcement_knows_of_it(fresh_db, signed_in_as):
    small_mine.tell(upto="advised")
    assert "SHP-1" in body_of(signed_in_as("p-leith").get("/shipments/"))
