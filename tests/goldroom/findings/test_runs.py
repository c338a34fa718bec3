"""Ids said in few words."""

import pytest

from goldroom.findings.runs import counted, in_words, plural, runs_of


@pytest.mark.parametrize(
    ("ids", "words"),
    [
        ([], ""),
        (["U1-0-1409"], "U1-0-1409"),
        (["U1-0-1410", "U1-0-1409"], "U1-0-1409 to 1410"),
        (["U1-0-9", "U1-0-10", "U1-0-11"], "U1-0-9 to 11"),
        (["U1-0-1", "U1-0-3"], "U1-0-1, U1-0-3"),
        (["U1-0-1", "U2-0-2"], "U1-0-1, U2-0-2"),
        (["U1-0-1", "U1-1-2"], "U1-0-1, U1-1-2"),
        (["S-0003", "S-0004", "S-0005"], "S-0003 to 0005"),
        (["heel", "heel"], "heel"),
        (["a-1", "a-2", "heel"], "a-1 to 2, heel"),
    ],
)
def test_ids_that_follow_one_another_are_said_as_one_run(ids, words):
    assert in_words(ids) == words


def test_no_id_is_lost_or_invented_in_runs():
    ids = [f"U{unit}-0-{n}" for unit in (1, 2) for n in range(1, 60) if n % 7]
    assert sorted(each for run in runs_of(ids) for each in run.ids) == sorted(ids)


def test_after_so_many_runs_the_rest_is_counted():
    ids = [f"B-{n}" for n in range(0, 20, 2)]
    assert in_words(ids, most=2) == "B-0, B-2 and 8 more"


def test_count_and_noun_agree():
    assert counted(["U1-0-1"], "flush") == "U1-0-1 (1 flush)"
    assert counted(["U1-0-1", "U1-0-2"], "flush") == "U1-0-1 to 2 (2 flushes)"
    assert plural("tails", 3) == "tails"
    assert plural("bar", 2) == "bars"
