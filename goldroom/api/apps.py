"""The API as a Django application."""

from django.apps import AppConfig


class ApiConfig(AppConfig):
    """Names the application; it has no tables."""

    name = "goldroom.api"
    label = "api"
