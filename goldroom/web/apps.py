"""The pages as a Django application: templates and static files."""

from django.apps import AppConfig


class WebConfig(AppConfig):
    """Names the application; it has no tables."""

    name = "goldroom.web"
    label = "web"
