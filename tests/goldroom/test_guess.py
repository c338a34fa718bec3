"""The nearest known word is offered, and none where nothing is near."""

import pytest

from goldroom.guess import meant

FIELDS = ("gross", "tare", "hopper", "mark")


@pytest.mark.parametrize(
    ("found", "offered"),
    [
        ("gros", "Did you mean gross? "),
        ("hoper", "Did you mean hopper? "),
        ("Mark", "Did you mean mark? "),
        ("moisture", ""),
        ("", ""),
    ],
)
def test_word_near_a_known_one_is_offered(found, offered):
    assert meant(found, FIELDS) == offered
