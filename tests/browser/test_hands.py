"""What looks for things out of reach finds them where they are put."""

import pytest

from tests.browser import axe, hands

SPOILS = {
    "below 44": "document.querySelector('form button').style.cssText"
    " = 'min-height: 0; height: 20px; padding: 0'",
    "px wide": "document.querySelector('h1').style.cssText"
    " = 'width: 2000px; max-width: none'",
    "below 24": "for (const _ of 'ab') { const a = document.createElement('a');"
    " a.href = '/'; a.style.cssText = 'display: block; height: 9px; width: 9px';"
    " document.querySelector('main').append(a); }",
}
KEYBOARD_SPOILS = {
    "no ring": "document.querySelector('form button').style.outline = 'none'",
    "out of order": "document.querySelector('form button').tabIndex = 1",
    "not reached": "document.querySelector('form button').addEventListener('focus',"
    " (event) => event.target.blur())",
}


@pytest.mark.parametrize("words", SPOILS)
def test_what_fingers_miss_is_found(reading, desk_at, words):
    desk = desk_at(reading)
    desk.go("/sign-in/")
    assert hands.complaints(desk.page) == []
    desk.page.evaluate(SPOILS[words])
    assert any(words in each for each in hands.complaints(desk.page))


@pytest.mark.parametrize("words", KEYBOARD_SPOILS)
def test_what_a_keyboard_misses_is_found(reading, desk_at, words):
    desk = desk_at(reading)
    desk.go("/sign-in/")
    assert hands.keyboard_complaints(desk.page) == []
    desk.go("/sign-in/")
    desk.page.evaluate(KEYBOARD_SPOILS[words])
    assert any(words in each for each in hands.keyboard_complaints(desk.page))


def test_a_box_without_a_label_is_found(reading, desk_at):
    desk = desk_at(reading)
    desk.go("/sign-in/")
    assert axe.complaints(desk.page) == []
    desk.page.evaluate("document.querySelector('label').remove()")
    assert any("select-name" in each for each in axe.complaints(desk.page))
