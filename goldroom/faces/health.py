"""Is the program there, and can it work? For machines that watch it, without a session.

    /health/live    200 while the process answers; asks nothing of the database
    /health/ready   200 when the database answers, is migrated and a ledger's head
                    can be read; otherwise 503 with the reason. A last line says how
                    long ago the record was verified.

Nothing of the record stands there: no figures, no names.
"""

from datetime import timedelta

from django.db import DatabaseError, connection
from django.db.migrations.executor import MigrationExecutor
from django.http import HttpRequest, HttpResponse
from django.urls import path
from django.views.decorators.http import require_safe

from goldroom.errors import Refusal
from goldroom.faces import clock
from goldroom.faces.models import LastCheck
from ledger import read
from ledger.core.errors import LedgerRefusal

TEXT = "text/plain; charset=utf-8"


class NotReady(Exception):
    """The program cannot work now; its words are the reason."""


@require_safe
def live(request: HttpRequest) -> HttpResponse:
    """Answer that the process runs."""
    return HttpResponse("live\n", content_type=TEXT)


@require_safe
def ready(request: HttpRequest) -> HttpResponse:
    """Answer whether somebody could work here now, and if not, why."""
    try:
        ledgers = _ledgers()
        lines = ["ready", f"record verified: {_verified(ledgers)}"]
    except NotReady as reason:
        return HttpResponse(f"not ready: {reason}\n", content_type=TEXT, status=503)
    return HttpResponse("\n".join(lines) + "\n", content_type=TEXT)


def _ledgers() -> list[int]:
    """Return the ids of the ledgers that can be worked in. Raises NotReady."""
    try:
        executor = MigrationExecutor(connection)
        if executor.migration_plan(executor.loader.graph.leaf_nodes()):
            raise NotReady("the database is of another version. Run manage.py migrate.")
        found = [ledger.pk for ledger in read.ledgers()]
    except DatabaseError as error:
        raise NotReady(
            "the database does not answer. Look whether it runs and"
            " GOLDROOM_DATABASE_URL names it."
        ) from error
    if not found:
        raise NotReady("no ledger is open. Record the line that opens one.")
    for ledger_id in found:
        _check_head(ledger_id)
    return found


def _check_head(ledger_id: int) -> None:
    try:
        read.head(ledger_id)
    except (Refusal, LedgerRefusal, DatabaseError) as error:
        raise NotReady(
            "a ledger's head cannot be read. Run manage.py verify_ledger."
        ) from error


def _verified(ledgers: list[int]) -> str:
    """Return how long ago the ledger was verified that waits for it longest."""
    ages = [
        clock.now(each.ledger_id) - each.checked_at
        for each in LastCheck.objects.filter(ledger_id__in=ledgers)
    ]
    if len(ages) < len(ledgers):
        return "never yet"
    hours = max(ages) // timedelta(hours=1)
    return "within the hour" if hours < 1 else f"{hours} hours ago"


urlpatterns = [
    path("live", live, name="health_live"),
    path("ready", ready, name="health_ready"),
]
