"""Every sort of page, for everybody: answered, readable, within reach of any hand."""

import pytest

from tests.browser import axe, hands
from tests.browser.crawl import walked
from tests.browser.desk import ACCOUNTANT, LABORATORY, OFFICER, SECURITY

PHONE = {"width": 320, "height": 640}


@pytest.mark.source("WCAG 2.2, success criteria 1.4.10, 2.4.3, 2.4.7, 2.5.5, 2.5.8")
@pytest.mark.parametrize("name", [OFFICER, SECURITY, ACCOUNTANT, LABORATORY])
def test_every_sort_of_page_is_answered_and_within_reach(
    reading, desk_at, name, record_property
):
    desk = desk_at(reading)
    desk.sign_in(name)
    desk.page.set_viewport_size(PHONE)
    wrong, tabbed = [], set()
    for answer in walked(desk):
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
    assert len(tabbed) > 10
