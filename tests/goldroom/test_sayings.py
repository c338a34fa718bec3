"""Reading a line: what is wrong in it is named where it stands."""

import pytest

from goldroom.sayings import BadLine, read_line

GOOD = (
    '{"kind": "hopper.weighed", "occurred_at": "2026-11-01T13:53:00+02:00",'
    ' "signers": [], "data": {"gross": {"reading": "2074", "unit": "kg"}}}'
)


def test_good_line_is_read():
    assert read_line(GOOD).data["gross"]["reading"] == "2074"


@pytest.mark.parametrize(
    ("before", "after", "field", "told"),
    [
        ('"signers": [], ', '"signers": [] ', "", "between"),
        ('"kg"}', '"kg",}', "", "comma"),
        ('"kg"}}}', '"k', "", "may have been cut short"),
        ('{"kind"', '"kind"', "", "it begins with"),
        ('"2074"', "2074.0", "gross.reading", 'Write "2074.0"'),
        ('"2074"', "NaN", "gross.reading", 'Write "NaN"'),
        ('"kind"', '"knid"', "knid", "Did you mean kind?"),
        ('"unit": "kg"', '"reading": "1"', "reading", "written twice"),
    ],
)
def test_wrong_line_says_where_and_what_to_do(before, after, field, told):
    assert before in GOOD
    with pytest.raises(BadLine, match=told.replace("?", r"\?")) as refused:
        read_line(GOOD.replace(before, after))
    assert refused.value.field == field


def test_place_of_a_missing_comma_is_shown():
    with pytest.raises(BadLine) as refused:
        read_line('{"kind": "a" "data": {}}')
    assert "at character 14, between" in refused.value.message
    assert '"data": {}}' in refused.value.message
