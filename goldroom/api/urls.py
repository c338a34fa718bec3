"""Addresses of the API, under /api/v1/: those of the table, and one for all others."""

from itertools import groupby

from django.urls import URLPattern, path, re_path

from goldroom.api.endpoint import Endpoint
from goldroom.api.operation import Operation
from goldroom.api.table import OPERATIONS


def _by_path(operation: Operation) -> str:
    return operation.path


def _address(template: str) -> str:
    return template.replace("{", "<str:").replace("}", ">")


urlpatterns: list[URLPattern] = [
    path(
        _address(template),
        Endpoint.as_view(operations={each.method: each for each in operations}),
        name=f"api_{template}",
    )
    for template, operations in groupby(sorted(OPERATIONS, key=_by_path), key=_by_path)
]
urlpatterns.append(re_path(r"^.*$", Endpoint.as_view(), name="api_other"))
