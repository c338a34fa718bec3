"""The faces' own tables and checks as a Django application."""

from django.apps import AppConfig


class FacesConfig(AppConfig):
    """Keeps accounts, tokens, form drafts and the last verification."""

    name = "goldroom.faces"
    label = "faces"
    verbose_name = "Faces"
