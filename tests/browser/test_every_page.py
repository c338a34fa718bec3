"""Every sort of page, for everybody: answered, readable, within reach of any hand."""

import pytest

from goldroom.web.urls import urlpatterns
from tests.browser import axe, hands
from tests.browser.crawl import walked
from tests.browser.desk import ACCOUNTANT, LABORATORY, OFFICER, SECURITY, Desk

PHONE = {"width": 320, "height": 640}
TELLING = ("/items/OF-0412/", "/items/CH-04/")
"""Items that are kept by name and have papers of their own."""
KINDS_TELLING = ("dispatch.handed_over", "cleanup.recorded")
"""Kinds whose entries cite files, or have papers of their own."""
ACTS = {
    "check_now",
    "close_month",
    "restate_month",
    "sign_in",
    "sign_out",
    "stay",
    "take_back",
}
"""What is reached by a button, or by nobody who has signed in."""


def newest_of(desk: Desk, kind: str) -> str:
    """Return the address of a kind's newest entry, found in the journal."""
    desk.go(f"/journal/?work={kind}")
    entries = desk.page.get_by_role("main").get_by_role("listitem")
    return entries.first.get_by_role("link").first.get_attribute("href") or ""


@pytest.mark.source("WCAG 2.2, success criteria 1.4.10, 2.4.3, 2.4.7, 2.5.5, 2.5.8")
@pytest.mark.parametrize("name", [OFFICER, SECURITY, ACCOUNTANT, LABORATORY])
def test_every_sort_of_page_is_answered_and_within_reach(
    reading, desk_at, name, record_property
):
    desk = desk_at(reading)
    desk.sign_in(name)
    desk.page.set_viewport_size(PHONE)
    wrong, tabbed, views = [], set(), set()
    entries = (newest_of(desk, kind) for kind in KINDS_TELLING)
    for answer in walked(desk, (*TELLING, *entries)):
        views.add(answer.sort.split()[0])
        record_property(answer.took_ms, answer.address)
        if answer.status != 200:
            wrong.append(f"{answer.address}: {answer.status}")
        if not answer.is_page:
            continue
        wrong += axe.complaints(desk.page)
        wrong += hands.complaints(desk.page)
        if answer.sort not in tabbed:
            tabbed.add(answer.sort)
            wrong += hands.keyboard_complaints(desk.page)
    assert wrong == []
    if name == SECURITY:
        assert {each.name for each in urlpatterns} - ACTS - views == set()
