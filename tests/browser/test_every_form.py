"""The form of every kind on a phone; those that bring something new, by keyboard."""

import pytest

from goldroom.statements.registry import kinds
from goldroom.web.boxes import Box, Filling, boxes
from tests.browser import axe, hands
from tests.browser.desk import OFFICER
from tests.browser.test_every_page import PHONE

QUARTERS = 4


def makings(found: tuple[Box, ...]) -> set[tuple[str, bool]]:
    """Return what boxes are made of: their shapes, and whether they may be left out."""
    made = {(box.shape, box.must) for box in found}
    for box in found:
        made |= makings(box.inner)
        for row in box.rows:
            made |= makings(row.inner)
    return made


def telling() -> set[str]:
    """Return the kinds whose forms bring a box of a making not met before."""
    met: set[tuple[str, bool]] = set()
    found = set()
    for name, cls in kinds().items():
        made = makings(boxes(cls, Filling(typed={})))
        if not made <= met:
            found.add(name)
            met |= made
    return found


@pytest.mark.source("WCAG 2.2, success criteria 1.4.10, 2.4.3, 2.4.7, 2.5.5")
@pytest.mark.parametrize("quarter", range(QUARTERS))
def test_every_form_is_within_reach(reading, desk_at, quarter):
    desk = desk_at(reading)
    desk.sign_in(OFFICER)
    desk.page.set_viewport_size(PHONE)
    wrong = []
    for name in sorted(kinds())[quarter::QUARTERS]:
        desk.go(f"/say/{name}/")
        wrong += hands.complaints(desk.page)
        if name in telling():
            wrong += axe.complaints(desk.page)
            wrong += hands.keyboard_complaints(desk.page)
    assert wrong == []
