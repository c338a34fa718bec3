"""The faces' own tables and checks as a Django application."""

from django.apps import AppConfig
from django.core.checks import Tags, register


class FacesConfig(AppConfig):
    """Keeps accounts, tokens, form drafts and the last verification."""

    name = "goldroom.faces"
    label = "faces"
    verbose_name = "Faces"

    def ready(self) -> None:
        """Ask to be told of checks."""
        from goldroom.faces import checks

        register(checks.check_settings, Tags.security)
        register(checks.check_databases, Tags.database)
