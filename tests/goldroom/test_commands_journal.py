"""`manage.py journal` and `attention`: what was said, and what to see to."""

import json

import pytest
from django.core.management import CommandError, call_command

from goldroom import commands
from goldroom.reports.aloud import aloud
from goldroom.reports.attention import noticed_in
from goldroom.reports.journal import journal
from ledger import read
from tests.goldroom import small_mine


def notice_a_seal(ledger_id):
    """Let two people read another number on the hopper than the one fitted."""
    strange = small_mine.saying(
        "strange seal",
        "10-13T07:00",
        "seal.inspected",
        small_mine.MENDERS,
        vessel="H1",
        seals_seen=[{"point": "lid", "seal": "S-9999", "tamper_signs": "none"}],
    )
    commands.say(ledger_id, strange, small_mine.KEYS)


def printed(capsys, *arguments):
    call_command(*arguments)
    return capsys.readouterr().out


def test_entries_are_read_aloud_with_the_ids_that_correct_them(told, capsys):
    said = printed(capsys, "journal", "--most", "3")
    lines = journal(told, most=3).lines
    reader = aloud(told, (line.sentence for line in lines))
    for line in lines:
        assert f"Entry {line.seq}, " in said
        assert reader.sentence(line.sentence) in said
        assert line.entry_id in said
    assert f"Older ones: --before {read.head(told).size - 3}" in said


def test_next_page_goes_on_where_the_last_one_ended(told, capsys):
    said = printed(capsys, "journal", "--most", "1", "--before", "2")
    assert said.startswith("Entry 1, ")


def test_entries_about_a_seal_are_found(told, capsys):
    entries = json.loads(printed(capsys, "journal", "--seal", "S-0008", "--json"))
    assert entries["lines"]
    assert all("S-0008" in line["sentence"] for line in entries["lines"][:-1])


def test_entries_of_a_day_are_those_of_the_production_day(told, capsys):
    plain = json.loads(
        printed(
            capsys, "journal", "--from", "2026-10-05", "--to", "2026-10-05", "--json"
        )
    )
    times = [line["occurred_at"] for line in plain["lines"]]
    assert times
    assert min(times) >= "2026-10-05T04:00:00Z"
    assert max(times) < "2026-10-06T04:00:00Z"


def test_nothing_found_is_said(told, capsys):
    assert "There is no such entry that speaks of seal X-1." in (
        printed(capsys, "journal", "--seal", "X-1")
    )


@pytest.mark.parametrize(
    ("arguments", "told_so"),
    [
        (("--most", "0"), "expected 1 to 500"),
        (("--from", "5.10.2026"), "--from: found '5.10.2026'"),
    ],
)
def test_what_cannot_be_asked_is_refused(told, arguments, told_so):
    with pytest.raises(CommandError, match=told_so):
        call_command("journal", *arguments)


def test_what_wants_attention_is_listed_with_found_and_expected(told, capsys):
    notice_a_seal(told)
    said = printed(capsys, "attention")
    noticed = noticed_in(told, [each.entry_id for each in read.entries(told)])
    assert "seal_unknown" in {each.code for each in noticed}
    reader = aloud(told, ())
    for each in noticed:
        message = reader.words(each.message)
        assert f"{each.level}, {each.code}: {message} (entry " in said
        assert reader.words(f"found {each.found}; expected {each.expected}") in said


def test_attention_is_narrowed_by_level_and_day(told, capsys):
    notice_a_seal(told)
    every = json.loads(printed(capsys, "attention", "--json"))
    some = json.loads(printed(capsys, "attention", "--level", "exception", "--json"))
    assert some == [each for each in every if each["level"] == "exception"]
    assert some
    assert "Nothing wants attention." in printed(
        capsys, "attention", "--since", "2099-01-01"
    )


def test_findings_of_entries_come_in_the_order_of_the_entries(told):
    notice_a_seal(told)
    ids = [each.entry_id for each in read.entries(told)]
    found = [ids.index(each.entry) for each in noticed_in(told, ids)]
    assert found == sorted(found)
    assert found[-1] == len(ids) - 1
    assert noticed_in(told, []) == ()


def test_finding_not_reviewed_comes_with_the_values_that_review_it(told, capsys):
    notice_a_seal(told)
    named = [
        json.loads(line.partition("not reviewed: ")[2])
        for line in printed(capsys, "attention").splitlines()
        if "not reviewed: " in line
    ]
    for n, values in enumerate(named):
        review = small_mine.saying(
            f"review/{n}", "10-13T09:00", "finding.reviewed",
            (("p-brandt", "manager"), ("p-sefu", "security")),
            **values, outcome="explained", words="asked the night shift",
        )  # fmt: skip
        commands.say(told, review, small_mine.KEYS)
    said = printed(capsys, "attention")
    assert said.count(
        "by Brandt Osei and Sefu Marlow, explained: asked the night shift"
    ) == (said.count("reviewed "))
    assert "seal_unknown" in said
    assert "seal_unknown" not in printed(capsys, "attention", "--open")


def test_entries_that_only_name_a_thing_are_found_by_it(told, capsys):
    inspected = small_mine.saying(
        "in order", "10-13T07:00", "incident.reported", small_mine.GUARDS,
        incident="INC-1", severity="minor", what="a strap slipped", items=["BAR-1"],
        vessels=["H1"], done="strap replaced", anybody_hurt=False,
    )  # fmt: skip
    commands.say(told, inspected, small_mine.KEYS)
    for option, name in (("--item", "BAR-1"), ("--vessel", "H1")):
        assert "Incident INC-1 (minor)" in printed(capsys, "journal", option, name)
    assert "Incident INC-1" not in printed(capsys, "journal", "--item", "BAR-2")


def test_person_who_went_in_without_signing_is_found(told, capsys):
    went_in = small_mine.saying(
        "went in", "10-13T07:00", "room.entered", small_mine.PAIR,
        place="gold_room", persons=["p-amara", "p-leith", "p-noor"],
    )  # fmt: skip
    commands.say(told, went_in, small_mine.KEYS)
    assert "Noor Hale went into Gold room" in printed(
        capsys, "journal", "--person", "p-noor"
    )
