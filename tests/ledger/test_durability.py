"""What is said of a database whose commits may not last."""

import pytest
from django.core.checks import Tags, run_checks
from django.db import connection, connections

ON_SQLITE = connections["default"].vendor == "sqlite"
UNSAFE = (
    [
        "PRAGMA synchronous=NORMAL",
        "PRAGMA synchronous=OFF",
        "PRAGMA journal_mode=DELETE",
    ]
    if ON_SQLITE
    else ["SET synchronous_commit = off", "SET synchronous_commit = local"]
)


def durability():
    return run_checks(tags=[Tags.database], databases=["default"])


def test_the_settings_we_ship_make_commits_last(fresh_db):
    assert durability() == []


@pytest.mark.parametrize("statement", UNSAFE)
def test_a_setting_that_may_lose_a_commit_is_an_error(fresh_db, statement):
    with connection.cursor() as cursor:
        cursor.execute(statement)
    assert [error.id for error in durability()] == ["ledger.E001"]
