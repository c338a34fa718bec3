"""What all worksheets have in common, whatever was assayed."""

from typing import Any

import pytest

from goldroom.custody.records import Assay, Said
from goldroom.statements.fields import dump, parse
from goldroom.statements.kind import Statement
from goldroom.statements.registry import kind_named
from tests.goldroom.statements.worksheets import (
    ENTRY,
    WORKSHEETS,
    correct,
    laboratory,
    report,
)

BY_KIND = pytest.mark.parametrize(
    ("kind", "values"),
    [pytest.param(*row, id=row[0].kind_name) for row in WORKSHEETS.items()],
)


@BY_KIND
def test_a_worksheet_is_recorded_as_it_was_said(
    kind: type[Statement], values: dict[str, Any]
):
    said = parse(kind, values)
    assert dump(said) == values
    assert parse(kind, dump(said)) == said


@BY_KIND
def test_a_worksheet_can_be_said_signed_like_any_assay_and_taken_back(
    kind: type[Statement], values: dict[str, Any]
):
    assert kind_named(kind.kind_name) is kind
    assert (kind.group, kind.klass, kind.can_void) == ("assay", "two", True)
    state = laboratory()
    report(state, values, kind)
    made = [each for each in state.all_held().values() if isinstance(each, Assay)]
    assert {each.entry for each in made} == {ENTRY}
    correct(state, kind, None)
    left = [each for each in state.all_held().values() if isinstance(each, Assay)]
    assert left == []
    said = state.get(Said, ENTRY)
    assert said is not None
    assert said.voided_by == "entry-correction"
