"""The gold room as a Django application: read tables, commands, pages."""

from django.apps import AppConfig


class GoldroomConfig(AppConfig):
    """Names the application; everything it needs is set up where it is used."""

    name = "goldroom"
    verbose_name = "Gold room"
