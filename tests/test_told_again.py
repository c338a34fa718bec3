"""A month told again from its file comes to the same: nothing hangs on the telling.

Into an empty ledger, the demo's JSON Lines file gives the same read tables but for
what the record itself adds: sequence, hashes, server times and signatures. (In a demo
ledger the file brings the times of receipt, so even those are the same.)
"""

from io import StringIO

import pytest
from django.core.management import call_command

from goldroom import tables
from goldroom.demo.folder import DemoFolder
from goldroom.management.database import working_on
from ledger import read


@pytest.fixture(scope="module")
def folder(tmp_path_factory, django_db_blocker):
    """Return the folder of a demonstration just made, with another seed."""
    path = tmp_path_factory.mktemp("again") / "demo"
    with django_db_blocker.unblock():
        call_command("demo", into=path, seed=7, stdout=StringIO())
    return DemoFolder(path)


def read_tables(ledger_id: int) -> dict[str, list[dict[str, object]]]:
    """Return every read table's rows without the sequence."""
    return {
        table: sorted(
            (
                {name: value for name, value in row._asdict().items() if name != "seq"}
                for row in tables.read_all(ledger_id, table)
            ),
            key=lambda row: [str(value) for value in row.values()],
        )
        for table in tables.TABLES
    }


def test_month_told_again_from_its_file_gives_the_same_read_tables(folder, fresh_db):
    with working_on(folder.database):
        first = read_tables(read.ledgers()[0].pk)
    call_command(
        "record",
        folder.month,
        keys=folder.keys,
        passphrase_file=folder.keys / "passphrase.txt",
        attachments=folder.papers,
        stdout=StringIO(),
    )
    ledger_id = read.ledgers()[0].pk
    again = read_tables(ledger_id)
    assert again == first
    assert sum(len(rows) for rows in first.values()) > 10_000
    call_command("rebuild_tables", stdout=StringIO())
    assert read_tables(ledger_id) == first
