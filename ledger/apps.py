"""The keeper as a Django application: puts the fence up after every migrate."""

from typing import Any

from django.apps import AppConfig
from django.db import connections
from django.db.models.signals import post_migrate


class LedgerConfig(AppConfig):
    """Connects the fence to `migrate`."""

    name = "ledger"

    def ready(self) -> None:
        """Ask to be told whenever the tables may have changed."""
        post_migrate.connect(put_up_fence, sender=self)


def put_up_fence(using: str, **kwargs: Any) -> None:
    """Put the fence up again after a migration of database `using`."""
    from ledger import fence

    fence.install(connections[using])
