"""Several processes, one ledger: no fork, nothing lost, nothing half done."""

import itertools
import json
import os
import subprocess
import sys
from pathlib import Path
from urllib.parse import quote

from django.db import connection

import ledger
from ledger import audit, read
from ledger.models import Entry

ROOT_FOLDER = Path(ledger.__file__).resolve().parent.parent
PROCESSES, STATEMENTS_EACH = 8, 6

# Appends the signed statements of a file, one by one; `die` ends the process in the
# middle of the transaction, as a power cut would.
WORKER = """
import json, os, sys
from datetime import datetime
import django
django.setup()
from ledger.append import append
from ledger.core.entry import Signature, Signed

def project(context, entry):
    if sys.argv[3] == "die":
        os._exit(9)

for statement, signatures in json.load(open(sys.argv[1])):
    signed = Signed(statement, tuple(map(Signature.from_json, signatures)))
    done = append(
        int(sys.argv[2]),
        signed,
        now=datetime.fromisoformat("2026-09-24T12:00:00+00:00"),
        check=lambda context: None,
        project=project,
    )
    print(done.seq, done.leaf_hash.hex(), flush=True)
"""


def url():
    settings = connection.settings_dict
    if connection.vendor == "sqlite":
        return f"sqlite:///{settings['NAME']}"
    user = quote(settings["USER"]) + (
        f":{quote(settings['PASSWORD'])}" if settings["PASSWORD"] else ""
    )
    port = f":{settings['PORT']}" if settings["PORT"] else ""
    host = settings["HOST"]
    if host.startswith("/"):
        return f"postgresql://{user}@{port}/{settings['NAME']}?host={quote(host)}"
    return f"postgresql://{user}@{host}{port}/{settings['NAME']}"


def start(site, tmp_path, statements, end="live"):
    path = tmp_path / f"{statements[0].statement['entry_id']}.json"
    path.write_text(
        json.dumps(
            [
                [item.statement, [given.to_json() for given in item.signatures]]
                for item in statements
            ]
        )
    )
    environment = {
        **os.environ,
        "GOLDROOM_DATABASE_URL": url(),
        "DJANGO_SETTINGS_MODULE": "goldroom.settings",
    }
    return subprocess.Popen(
        [sys.executable, "-c", WORKER, str(path), str(site.id), end],
        cwd=ROOT_FOLDER,
        env=environment,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
    )


def test_eight_processes_append_at_once_without_a_fork(site, tmp_path, settings):
    settings.LEDGER_PROJECTIONS = []
    signed = [site.signed() for _ in range(PROCESSES * STATEMENTS_EACH)]
    workers = [
        start(site, tmp_path, signed[number::PROCESSES]) for number in range(PROCESSES)
    ]
    told = {}
    for worker in workers:
        out, errors = worker.communicate(timeout=120)
        assert (worker.returncode, errors) == (0, "")
        told |= dict(line.split() for line in out.splitlines())
    entries = list(read.entries(site.id))
    assert len(entries) == 1 + len(signed)
    for before, after in itertools.pairwise(entries):
        assert after.previous == before.leaf_hash
    assert told == {str(item.seq): item.leaf_hash.hex() for item in entries[1:]}
    assert audit.audit().exit_code == 0


def test_a_process_that_dies_in_the_middle_leaves_nothing(site, tmp_path, settings):
    settings.LEDGER_PROJECTIONS = []
    signed = site.signed()
    worker = start(site, tmp_path, [signed], end="die")
    out, _ = worker.communicate(timeout=60)
    assert (worker.returncode, out) == (9, "")
    assert Entry.objects.count() == 1
    assert site.append(signed).seq == 1
    assert audit.audit().exit_code == 0
