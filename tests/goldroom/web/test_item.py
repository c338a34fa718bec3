"""An item's page: its trail, its figures side by side, and who held it when."""

import re
from urllib.parse import urljoin

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from tests.front_door import STORY, g


@pytest.fixture
def security(told_once, signed_in_as):
    return signed_in_as("p-soto")


def shown(client, address, status=200):
    answer = client.get(address)
    assert answer.status_code == status
    return re.sub(r"\s+", " ", answer.content.decode())


@pytest.mark.parametrize("name", ["BAR-1", "INV-0001"])
def test_a_bar_is_found_by_id_and_by_the_number_stamped_on_it(security, name):
    page = shown(security, f"/items/{name}/")
    assert "Bar INV-0001" in page
    assert "S-0006" in page


def test_assays_stand_side_by_side_and_nothing_is_overwritten(security):
    page = shown(security, "/items/BAR-1/")
    assert page.index("851.0") < page.index("850.4")
    assert page.count(">provisional<") == 1
    assert page.count(">final<") == 1


def test_the_way_back_leads_to_the_flushes_in_one_line(security):
    page = shown(security, "/items/BAR-1/")
    assert "It comes from U1-1-1 to 2, U2-1-1 (3 flushes)." in page
    for source in ("LOAD-1", "LOT-1", "CON-1", "CH-1"):
        assert f'href="/items/{source}/"' in page
    assert 'href="../U1-1-2/"' in page
    assert security.get(urljoin("/items/BAR-1/", "../U1-1-2/")).status_code == 200
    assert "not by any mark on the metal" in page


@pytest.mark.parametrize(
    ("item", "at", "answer"),
    [
        ("BAR-1", "2026-03-04T10:59", "BAR-1 was not there yet: it was made out of"),
        (
            "BAR-1",
            "2026-03-04T12:00",
            "under no seal, in the charge of Amara Invented and Leith Invented",
        ),
        ("BAR-1", "2026-03-05T03:00", "in vault (invented), under seal S-0006"),
        ("LOT-1", "2026-03-02T14:00", "was in D1 (invented)"),
        ("LOT-1", "2026-03-02 14:00", "under seal S-0003"),
        ("LOT-1", "2026-03-03T10:00", "LOT-1 was gone into CON-1, TAI-1: Table run"),
        ("TAI-1", "2026-03-04T00:00", "had left the site"),
    ],
)
def test_who_held_it_is_answered_in_a_sentence(security, item, at, answer):
    """Custody rests on the latest act before: common practice, no source."""
    page = shown(security, f"/items/{item}/?at={at}")
    (said,) = re.findall(r"<strong>(At 2026-[^<]+)</strong>", page)
    assert answer in said.replace("&#x27;", "'")
    assert f"At {at.replace('T', ' ')} " in said


def test_the_answer_names_the_entry_and_the_next_act(security):
    page = shown(security, "/items/LOT-1/?at=2026-03-02T14:00")
    assert re.search(
        r'under seal S-0003 .*?<a href="/journal/\d+/">Entry \d+</a>', page
    )
    assert "The next act on it: Table run" in page


def test_a_time_that_cannot_be_read_says_what_to_write(security):
    page = shown(security, "/items/LOT-1/?at=noon", 422)
    assert "Write it as 2026-10-12 14:00." in page
    assert 'href="#box-at"' in page


@pytest.mark.parametrize("at", ["0001-01-01T00:00", "9999-12-31T23:59"])
def test_times_at_the_ends_of_the_calendar_are_answered_or_refused(security, at):
    assert security.get(f"/items/LOT-1/?at={at}").status_code in (200, 422)


def test_custody_is_drawn_and_keeps_to_the_content_policy(security):
    """No style attribute and no script: the policy allows neither."""
    page = shown(security, "/items/BAR-1/")
    drawing = page[page.index("<svg") : page.index("</svg>")]
    assert 'role="img"' in drawing
    assert "style=" not in drawing
    assert "<script" not in drawing
    assert page.index("</svg>") < page.index("Placed in the vault")


def test_a_seal_taken_for_an_item_leads_to_its_entries(security):
    answer = security.get("/items/S-0003/")
    assert answer.status_code == 302
    assert answer["Location"] == "/journal/?sort=seal&thing=S-0003"


def test_what_was_never_recorded_is_said_so(security):
    assert "was ever recorded here" in shown(security, "/items/NONE-1/", 404)
    assert security.get("/items/%00/").status_code in (400, 404)


def poured_in_two(data):
    """Return the values of the pour with a second casting."""
    second = {"item": "BAR-2", "mould": "M-2"}
    return {**data, "castings": [*data["castings"], second]}


def test_of_several_bars_with_a_number_one_is_chosen(room_with_keys, signed_in_as):
    for kind, hands, data, at in STORY:
        values = poured_in_two(data) if kind == "charge.poured" else data
        room_with_keys.say(kind, values, hands, at=at)
        if kind == "bar.numbered":
            break
    other = {"item": "BAR-2", "stamped": "INV-0001", "first": g("120.1", "BU1")}
    room_with_keys.say("bar.numbered", other)
    client = signed_in_as("p-soto")
    for address in ("/items/INV-0001/", "/find/?q=INV-0001"):
        page = shown(client, address)
        assert "Several things bear INV-0001" in page
        assert 'href="/items/BAR-1/"' in page
        assert 'href="/items/BAR-2/"' in page


def test_a_page_takes_few_queries(security):
    security.get("/items/BAR-1/")
    with CaptureQueriesContext(connection) as queries:
        security.get("/items/BAR-1/?at=2026-03-05T03:00")
    assert len(queries) < 30
