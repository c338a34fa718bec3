"""The keeper as a Django application: puts the fence up after every migrate."""

from typing import Any

from django.apps import AppConfig
from django.core.checks import Tags, register
from django.db import connections
from django.db.models.signals import post_migrate

from ledger import durability


class LedgerConfig(AppConfig):
    """Connects the fence to `migrate`, and the check that commits last."""

    name = "ledger"

    def ready(self) -> None:
        """Ask to be told of migrations and of checks."""
        register(durability.check_durability, Tags.database)
        post_migrate.connect(put_up_fence, sender=self)


def put_up_fence(using: str, **kwargs: Any) -> None:
    """Put the fence up again after a migration of database `using`."""
    from ledger import fence

    fence.install(connections[using])
