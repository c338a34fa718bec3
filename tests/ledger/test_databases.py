"""The ledger is tested on both databases, or CI says that it was not."""

import os


def test_ci_tests_the_ledger_on_postgresql_too():
    """CI names a PostgreSQL server and runs these tests on it a second time."""
    in_ci = os.environ.get("CI") == "true"
    assert not in_ci or os.environ.get("GOLDROOM_TEST_POSTGRES_URL")
