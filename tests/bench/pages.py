"""Server time and queries of every page of the demonstration's month, by hand.

    .venv/bin/python -m tests.bench.pages FOLDER

FOLDER is what `manage.py demo --into FOLDER` made. Each page is asked for as somebody
who may read it, in this process and without a network; the first figure is that of a
page never asked for before since the last entry, the second the middle of five more.
Beside each stands its ratio to the emptiest page in the same run.
"""

import os
import statistics
import sys
import time
from pathlib import Path
from typing import Any

GOAL_MS = 150
GOAL_QUERIES = 30
PAGES = {
    "p-dara": ["/", "/say/", "/steps/", "/steps/smelt/", "/say/cleanup.recorded/"],
    "p-ruvi": [
        "/", "/journal/", "/journal/?person=p-dara", "/journal/700/", "/items/OF-0412/",
        "/holdings/", "/holdings/?at=400", "/findings/", "/check/", "/exports/",
        "/people/", "/equipment/", "/limits/", "/seals/", "/numbers/", "/rooms/",
        "/shipments/", "/site/", "/find/?q=OF-0412",
    ],
    "p-loris": [
        "/", "/month/?from=2026-10-01&to=2026-10-31", "/month/closed/", "/melts/",
        "/leach/", "/papers/month.pdf?from=2026-10-01&to=2026-10-31",
        "/papers/month.xlsx?from=2026-10-01&to=2026-10-31",
    ],
}  # fmt: skip


def main(folder: Path) -> None:
    """Print the table."""
    os.environ["GOLDROOM_DATABASE_URL"] = (
        f"sqlite:///{folder.resolve()}/goldroom.sqlite3"
    )
    os.environ["DJANGO_SETTINGS_MODULE"] = "goldroom.settings"
    import django

    django.setup()
    import logging

    from django.conf import settings

    logging.disable(logging.CRITICAL)
    settings.ALLOWED_HOSTS = ["testserver"]
    rows = [
        (person, path, *_measured(_client(person), path))
        for person, paths in PAGES.items()
        for path in paths
    ]
    least = min(row[4] for row in rows)
    print(f"{'page':52} {'status':>6} {'first':>8} {'again':>8} {'ratio':>6} queries")
    for person, path, status, first, again, queries in rows:
        mark = "" if first <= GOAL_MS and queries <= GOAL_QUERIES else "  over the goal"
        print(
            f"{person + ' ' + path:52} {status:6} {first:7.0f}ms {again:7.0f}ms"
            f" {again / least:6.1f} {queries:4}{mark}"
        )


def _client(person: str) -> Any:
    from django.test import Client

    from goldroom.faces.models import Account
    from ledger.models import Ledger

    ledger = Ledger.objects.get()
    account, _ = Account.objects.get_or_create(
        name=f"{ledger.slug}:{person}",
        defaults={"ledger_id": ledger.pk, "person": person},
    )
    client = Client(raise_request_exception=False)
    client.force_login(account, backend="goldroom.faces.backend.KeyBackend")
    return client


def _measured(client: Any, path: str) -> tuple[int, float, float, int]:
    from django.db import connection
    from django.test.utils import CaptureQueriesContext

    client.get("/sign-in/")  # templates and settings are read once a process
    times = []
    with CaptureQueriesContext(connection) as captured:
        begun = time.perf_counter()
        answer = client.get(path, follow=True)
        first = 1000 * (time.perf_counter() - begun)
    queries = len(captured)
    for _ in range(5):
        begun = time.perf_counter()
        client.get(path, follow=True)
        times.append(1000 * (time.perf_counter() - begun))
    return answer.status_code, first, statistics.median(times), queries


if __name__ == "__main__":
    main(Path(sys.argv[1]))
