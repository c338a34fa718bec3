"""What people do wrong, and what machines do to them: nothing typed is lost.

Each test fills a form of its own as the officer; what was recorded is counted in the
journal, as somebody would look.
"""

import re

import pytest
from playwright.sync_api import expect

from tests.browser import axe
from tests.browser.desk import OFFICER, WITNESS, Desk


@pytest.fixture
def desk(recording, desk_at) -> Desk:
    """Open a page where the officer has signed in."""
    found = desk_at(recording)
    found.sign_in(OFFICER)
    return found


def weighed(desk: Desk, **changed: str) -> None:
    """Fill in that a hopper was weighed, with some boxes as asked."""
    values = {"Load": "LD-9001", "Mark": "M1", **changed}
    desk.begin("Hopper weighed")
    desk.choose("Hopper", "H1")
    desk.fill(values)
    desk.choose("Signs with you", WITNESS)


def newest(desk: Desk) -> str:
    """Return the journal's first entry, as it reads."""
    desk.way("Journal").click()
    entries = desk.page.get_by_role("main").get_by_role("listitem")
    return entries.first.inner_text()


def test_every_wrong_box_is_told_at_its_place_and_nothing_typed_is_lost(desk):
    weighed(desk, **{"Load": "a load with blanks"})
    gross = desk.group("Gross on its cells")
    desk.reading(gross, "two tonnes", "LC1")
    desk.button("Read it over, then sign").click()

    summary = desk.page.get_by_role("alert")
    expect(summary).to_be_focused()
    expect(desk.page).to_have_title(re.compile(r"^Error: "))
    assert axe.complaints(desk.page) == []
    for words, typed in (
        ("Load", "a load with blanks"),
        ("Digits on the display", "two tonnes"),
    ):
        box = desk.page.get_by_label(words, exact=True)
        expect(box).to_have_value(typed)
    told = summary.get_by_role("link").all_inner_texts()
    assert len(told) >= 2, told
    for words in told:
        expect(
            desk.page.get_by_role("paragraph").filter(has_text=words)
        ).to_be_visible()
    summary.get_by_role("link").first.click()
    expect(desk.page.get_by_label("Load", exact=True)).to_be_in_viewport()


def test_a_double_click_and_two_tabs_record_once(desk):
    before = newest(desk)
    weighed(desk)
    desk.reading(desk.group("Gross on its cells"), "2311", "LC1")
    desk.read_over()
    desk.sign(OFFICER)
    other = Desk(desk.page.context.new_page(), desk.demo, desk.watch)
    other.page.goto(desk.page.url)
    secret = f"Passphrase of {WITNESS}'s key"
    for each in (desk, other):
        expect(each.button(f"Sign as {WITNESS}")).to_be_visible()
        each.page.get_by_label(secret).fill(desk.demo.passphrase)
    desk.button(f"Sign as {WITNESS}").dblclick()
    expect(desk.heading("Hopper weighed")).to_be_visible()
    address = desk.page.url.partition("?")[0]
    other.button(f"Sign as {WITNESS}").click()
    expect(other.page).to_have_url(re.compile(re.escape(address)))

    assert newest(desk) != before
    entries = desk.page.get_by_role("main").get_by_role("listitem")
    expect(entries.filter(has_text="LD-9001")).to_have_count(1)


def test_back_from_signing_shows_the_form_as_it_was_typed(desk):
    weighed(desk, **{"Load": "LD-9002"})
    desk.reading(desk.group("Gross on its cells"), "2312", "LC1")
    desk.read_over()
    desk.page.go_back()
    expect(desk.page.get_by_label("Load", exact=True)).to_have_value("LD-9002")
    desk.page.go_forward()
    desk.link("Back to the form").click()
    expect(desk.page.get_by_label("Digits on the display")).to_have_value("2312")


def test_a_session_that_is_over_gives_back_what_was_typed(desk):
    weighed(desk, **{"Load": "LD-9003"})
    desk.reading(desk.group("Gross on its cells"), "2313", "LC1")
    desk.page.context.clear_cookies(name="goldroom_session")
    desk.button("Read it over, then sign").click()
    expect(desk.heading("You were signed out")).to_be_visible()
    desk.button("Sign in and go on").click()
    desk.give_name(OFFICER)
    expect(desk.heading("Hopper weighed")).to_be_visible()
    expect(desk.page.get_by_label("Load", exact=True)).to_have_value("LD-9003")
    expect(desk.page.get_by_label("Digits on the display")).to_have_value("2313")
    desk.read_over()


def test_without_a_network_what_is_typed_stays_in_the_browser_and_comes_back(desk):
    desk.begin("Hopper weighed")
    where = desk.page.url
    with desk.watch.offline(desk.page):
        desk.fill({"Load": "LD-9004"})
        desk.page.get_by_label("Mark", exact=True).fill("M1")
        desk.page.get_by_label("Mark", exact=True).blur()
        expect(desk.page.get_by_role("status")).to_contain_text(
            "kept in this browser, not yet recorded"
        )
    desk.page.goto(where)
    expect(desk.page.get_by_label("Load", exact=True)).to_have_value("LD-9004")
    expect(desk.page.get_by_role("status")).to_have_text("Kept here, not yet recorded.")
    other = Desk(desk.page.context.new_page(), desk.demo, desk.watch)
    other.page.goto(where)
    expect(other.page.get_by_label("Load", exact=True)).to_have_value("LD-9004")


def test_the_same_draft_in_two_tabs_keeps_what_was_typed_last(desk):
    desk.begin("Hopper weighed")
    other = Desk(desk.page.context.new_page(), desk.demo, desk.watch)
    other.page.goto(desk.page.url)
    kept = re.compile(r"^Kept here, not yet recorded\.$")
    for each, load in ((desk, "LD-9005"), (other, "LD-9006")):
        each.fill({"Load": load})
        each.page.get_by_label("Load", exact=True).blur()
        expect(each.page.get_by_role("status")).to_have_text(kept)
    desk.page.reload()
    expect(desk.page.get_by_label("Load", exact=True)).to_have_value("LD-9006")


def test_a_scanner_that_ends_with_enter_moves_on_and_sends_nothing(desk):
    desk.begin("Hopper weighed")
    box = desk.page.get_by_label("Load", exact=True)
    box.fill("LD-9007")
    box.press("Enter")
    expect(box).not_to_be_focused()
    expect(desk.heading("Hopper weighed")).to_be_visible()
    expect(desk.page.get_by_role("alert")).to_have_count(0)


def test_somebody_signed_in_as_another_cannot_sign_in_their_place(desk):
    weighed(desk, **{"Load": "LD-9008"})
    desk.reading(desk.group("Gross on its cells"), "2318", "LC1")
    desk.read_over()
    desk.page.get_by_label(f"Passphrase of {OFFICER}'s key").fill("not this one")
    desk.button(f"Sign as {OFFICER}").click()
    expect(desk.page.get_by_role("alert")).to_be_focused()
    expect(desk.page.get_by_text("not signed yet")).to_have_count(2)
