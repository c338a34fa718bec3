"""The journal's pages: what is asked for, page by page, and what stays hidden."""

import re
from datetime import timedelta

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from goldroom.web import journal as page
from ledger import read
from tests.front_door import STANDING, off

LIMIT = {
    "limit": "stock_age_d",
    "value": "10",
    "unit": "d",
    "reason": "the insurer asks for it",
}

OPENED = {
    "hopper": "H1",
    "reason": "a blocked drain",
    "seals_removed": [off("lid", "S-0001"), off("drain", "S-0002")],
}


def seqs(answer):
    """Return the entry numbers on a page of the journal, in their order."""
    return [int(each) for each in re.findall(r'<li value="(\d+)"', text(answer))]


def text(answer):
    return answer.content.decode()


def way(answer, words):
    """Return the address of a link with these words; "" if there is none."""
    found = re.search(rf'href="([^"]+)"[^>]*>{words}</a>', text(answer))
    return found[1].replace("&amp;", "&") if found else ""


def titles(answer):
    return set(re.findall(r">Entry \d+: ([^<]+)</a>", text(answer)))


@pytest.fixture
def security(told_once, signed_in_as):
    return signed_in_as("p-soto")


def test_pages_hold_every_entry_once_there_and_back(told_once, security, monkeypatch):
    monkeypatch.setattr(page, "LINES", 7)
    size = read.head(told_once.ledger_id).size
    address, found, pages = "/journal/", [], []
    while address:
        answer = security.get(address)
        pages.append(seqs(answer))
        found += pages[-1]
        address = way(answer, "Older")
    assert found == list(reversed(range(size)))
    assert not way(security.get("/journal/"), "Newer")
    back = [pages[-1]]
    while address := way(answer, "Newer"):
        answer = security.get(address)
        back.append(seqs(answer))
    assert back[-1][0] == size - 1
    assert {seq for each in back for seq in each} == set(range(size))
    assert way(security.get("/journal/?before=9"), "Newest") == "/journal/?"


@pytest.mark.parametrize(
    ("asked", "expected"),
    [
        ("work=hopper.weighed", {"Hopper weighed"}),
        ("work=step:hopper", {"Hopper weighed", "Hopper emptied", "Hopper closed"}),
        ("thing=S-0004&sort=seal", {"Seals issued", "Hopper emptied"}),
        ("thing=BAR-1&work=step:vault", {"Placed in the vault"}),
        ("from=2026-03-03&to=2026-03-03", {"Table run", "Assay reported"}),
        ("person=gw-mill&from=2026-03-02", {"Cycles recorded"}),
    ],
)
def test_only_what_was_asked_for_is_shown(security, asked, expected):
    assert titles(security.get(f"/journal/?{asked}")) == expected


def test_a_day_begins_at_the_sites_hour_not_at_midnight(security):
    """The story's hopper was weighed at 09:40 of 2 March by the site's clock."""
    weighed = seqs(security.get("/journal/?work=hopper.weighed&to=2026-03-02"))
    assert len(weighed) == 1
    assert seqs(security.get("/journal/?work=hopper.weighed&to=2026-03-01")) == []


def test_the_form_keeps_what_was_typed(security):
    asked = "work=step:hopper&thing=H1&sort=vessel&from=2026-03-01&person=p-amara"
    shown = text(security.get(f"/journal/?{asked}"))
    for kept in (
        '<option value="step:hopper" selected>',
        '<option value="vessel" selected>',
        '<option value="p-amara" selected>',
        'value="H1"',
        'value="2026-03-01"',
    ):
        assert kept in shown


@pytest.mark.parametrize(
    ("asked", "box", "says"),
    [
        ("from=the+first", "from", "is no day. Write it as 2026-10-30."),
        ("to=2026-02-30", "to", "is no day. Write it as 2026-10-30."),
        ("about=99999", "about", "There is no entry"),
        ("about=x", "about", "Write the number of an entry."),
    ],
)
def test_what_cannot_be_read_is_said_at_its_box(security, asked, box, says):
    answer = security.get(f"/journal/?{asked}")
    assert answer.status_code == 422
    assert f'<a href="#box-{box}">' in text(answer)
    assert f'id="{box}-wrong"' in text(answer)
    assert says in text(answer)


def test_a_page_takes_few_queries(security):
    security.get("/journal/")
    with CaptureQueriesContext(connection) as queries:
        security.get("/journal/?thing=H1&sort=vessel&person=p-amara")
    assert len(queries) < 30


def test_withheld_kinds_never_appear_to_others(room_with_keys, signed_in_as):
    said = room_with_keys.say("limit.set", LIMIT, STANDING)
    seq = said.entry.seq
    officer, security = signed_in_as("p-amara"), signed_in_as("p-soto")
    assert seq in seqs(security.get("/journal/"))
    for asked in ("", "work=limit.set", f"about={seq}", "person=p-soto"):
        assert seq not in seqs(officer.get(f"/journal/?{asked}"))
    assert "Limit set" not in text(officer.get("/journal/"))
    for part in ("", "bytes", "proof", f"files/{'0' * 64}"):
        assert officer.get(f"/journal/{seq}/{part}").status_code == 403


def test_corrections_and_what_they_put_right_are_tagged(room_with_keys, signed_in_as):
    issued = {
        "series": "T", "first": 1, "last": 4, "digits": 4, "issued_to": "p-amara"
    }  # fmt: skip
    wrong = room_with_keys.say("seals.issued", issued, STANDING).entry
    correction = {
        "entry": wrong.entry_id,
        "mode": "void",
        "kind": "seals.issued",
        "reason": "another series was handed out",
    }
    room_with_keys.say(
        "record.corrected",
        correction,
        (("p-amara", "officer"), ("p-leith", "witness")),
        corrects=wrong.entry_id,
    )
    client = signed_in_as("p-soto")
    shown = text(client.get("/journal/"))
    lines = shown.split('<li value="')
    assert ">correction<" in lines[1]
    assert ">taken back<" in lines[2]
    about = client.get(f"/journal/?about={wrong.seq}")
    assert seqs(about) == [wrong.seq + 1, wrong.seq]


def test_an_emergency_under_one_signature_is_tagged(room_with_keys, signed_in_as):
    emergency = {
        "what": "smoke from the oven",
        "place": "gold-room",
        "hazards": "fume",
        "opened": "nothing",
    }
    room_with_keys.say("emergency.declared", emergency, (("p-leith", "witness"),))
    lines = text(signed_in_as("p-amara").get("/journal/")).split('<li value="')
    assert ">one signature, emergency<" in lines[1]


@pytest.mark.parametrize(("hours", "is_late"), [(1, False), (4, False), (5, True)])
def test_what_was_taken_down_hours_later_is_tagged(
    room_with_keys, signed_in_as, hours, is_late
):
    """Four hours are the program's own limit; a minute lies between the acts."""
    room = room_with_keys
    taken_down = room.now + timedelta(minutes=1, hours=hours)
    room.say("hopper.opened", OPENED, received_at=taken_down.isoformat())
    lines = text(signed_in_as("p-amara").get("/journal/")).split('<li value="')
    assert (">entered late<" in lines[1]) is is_late


@pytest.mark.parametrize(
    ("typed", "leads_to"),
    [
        ("INV-0001", "/items/BAR-1/"),
        ("bar-1", "/items/BAR-1/"),
        ("S-0004", "/journal/?sort=seal&thing=S-0004"),
        (" H1 ", "/journal/?sort=vessel&thing=H1"),
        ("12", "/journal/12/"),
        ("00000000-0000-4000-8000-000000000003", "/journal/3/"),
    ],
)
def test_what_is_written_on_a_thing_leads_to_its_page(security, typed, leads_to):
    answer = security.get("/find/", {"q": typed})
    assert (answer.status_code, answer.headers.get("Location")) == (302, leads_to)


def test_what_nothing_bears_offers_what_begins_like_it(security):
    shown = text(security.get("/find/", {"q": "load-"}))
    assert "/items/LOAD-1/" in shown
    assert "/items/LOAD-9/" in shown
    assert "nothing begins like it" in text(security.get("/find/", {"q": "QQ"}))
