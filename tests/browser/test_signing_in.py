"""Signing in and out, as somebody does who reads the page."""

import re

from playwright.sync_api import expect

from tests.browser.desk import OFFICER


def test_the_officer_signs_in_and_out(reading, desk_at):
    desk = desk_at(reading)
    desk.sign_in(OFFICER)
    expect(desk.page.get_by_text(OFFICER)).to_be_visible()
    desk.button("Sign out").click()
    expect(desk.heading("Sign in")).to_be_visible()
    desk.go("/journal/")
    expect(desk.heading("Sign in")).to_be_visible()


def test_a_wrong_passphrase_is_told_at_its_box_and_the_name_stays(reading, desk_at):
    desk = desk_at(reading)
    desk.go("/")
    desk.page.get_by_label("Your name").select_option(label=OFFICER)
    desk.page.get_by_label("Passphrase of your key").fill("not this one")
    desk.button("Sign in").click()
    summary = desk.page.get_by_role("alert")
    expect(summary).to_be_focused()
    expect(desk.page).to_have_title("Error: Sign in – Gold room")
    box = desk.page.get_by_label("Passphrase of your key")
    expect(box).to_have_value("")
    expect(box).to_have_attribute("aria-invalid", "true")
    told = summary.get_by_role("link").inner_text()
    expect(box).to_have_accessible_description(re.compile(re.escape(told)))
    expect(desk.page.get_by_label("Your name").locator("option:checked")).to_have_text(
        OFFICER
    )


def test_after_signing_in_one_is_where_one_wanted_to_go(reading, desk_at):
    desk = desk_at(reading)
    desk.go("/items/OF-0412/?at=2026-10-20T10:00")
    desk.give_name(OFFICER)
    expect(desk.page).to_have_url(
        f"{reading.address}/items/OF-0412/?at=2026-10-20T10:00"
    )
