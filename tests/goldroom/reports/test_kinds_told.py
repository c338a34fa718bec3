"""A kind told: fields as they are accepted, bounds, and the cautions of the work."""

import json
from io import StringIO

import pytest
from django.core.management import CommandError, call_command

from goldroom.reports.kinds_told import kind_told, text_of
from goldroom.sayings import read_line
from goldroom.statements import fields
from goldroom.statements.fields import specs
from goldroom.statements.registry import kinds


def told_on_screen(*args):
    out = StringIO()
    call_command("explain", *args, stdout=out)
    return out.getvalue()


@pytest.mark.parametrize("name", sorted(kinds()))
def test_every_kind_is_told_with_all_its_fields(name):
    told = kind_told(name)
    outer = [each.path for each in told.fields if not set(each.path) & {"[", "."}]
    assert outer == list(specs(kinds()[name]))
    text = text_of(told)
    assert text.startswith(f"{name}: ")
    assert all(each.label in text for each in told.fields)


@pytest.mark.parametrize("name", sorted(kinds()))
@pytest.mark.parametrize("asked", ["short", "all"])
def test_example_of_every_kind_is_a_line_that_is_read(name, asked):
    saying = read_line(told_on_screen(name, "--example", asked))
    said = fields.parse(kinds()[name], saying.data)
    named = specs(kinds()[name])
    wanted = [each for each in named if asked == "all" or not named[each].optional]
    assert list(fields.dump(said)) == wanted
    assert saying.kind == name


def test_example_says_what_it_leaves_out_and_who_signs():
    line, left_out = StringIO(), StringIO()
    call_command("explain", "leach.drained", "--example", stdout=line, stderr=left_out)
    assert '"measured_by": "tank_table"' in line.getvalue()
    assert left_out.getvalue().startswith("Left out here, as they may be: opened, cl")
    assert "Signed by officer and one of witness, security or metallurgist, " in (
        told_on_screen("leach.drained")
    )
    assert [each.role for each in read_line(line.getvalue()).signers] == [
        "officer",
        "witness",
    ]


def test_example_says_what_nobody_types():
    told = StringIO()
    call_command("explain", "policy.set", "--example", stdout=StringIO(), stderr=told)
    assert told.getvalue().startswith("Nobody types what stands as made by the program")


def test_example_of_a_leach_keeps_it_alkaline():
    data = read_line(told_on_screen("leach.charged", "--example")).data
    assert float(data["target_ph"]) > 10


def test_rows_are_told_by_path_with_bounds_unit_and_help():
    text = text_of(kind_told("charge.poured"))
    assert "samples[].taken_by  Way: dip | pin" in text
    assert "figure, as text in °C, from 500 to 2000 (may be left out)" in text
    assert "Casting id: id. A new id; the bar keeps it" in text
    assert "Charge: id of an item" in text
    assert "can be put right later; it can be taken back" in text


def test_cautions_follow_with_what_rules_over_them():
    text = text_of(kind_told("charge.poured"))
    assert "This reminds, it does not authorise" in text
    assert "rescue never waits for a signature" in text
    assert "[Health and Safety Executive (United Kingdom)" in text
    assert "Before you begin" not in text_of(kind_told("limit.set"))


def test_command_lists_kinds_and_tells_one_for_a_machine():
    listed = told_on_screen()
    assert len(listed.splitlines()) == len(kinds())
    assert json.loads(told_on_screen("--json")).keys() == kinds().keys()
    told = json.loads(told_on_screen("hopper.weighed", "--json"))
    assert told["kind"] == "hopper.weighed"
    assert told["fields"][0]["must"] is True


def test_command_guesses_a_kind_misspelt():
    with pytest.raises(CommandError, match=r"Did you mean charge\.poured"):
        told_on_screen("charge.pourd")
