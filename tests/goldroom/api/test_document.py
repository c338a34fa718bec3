"""The OpenAPI document: valid, fresh, and served as it is kept."""

import json

import pytest
from django.test import Client
from openapi_spec_validator import OpenAPIV31SpecValidator

from goldroom.api import openapi
from goldroom.api.table import OPERATIONS
from goldroom.statements.registry import kinds


@pytest.mark.source("OpenAPI 3.1 schema, by openapi-spec-validator")
def test_the_document_is_valid():
    OpenAPIV31SpecValidator(openapi.document()).validate()


def test_the_document_is_fresh():
    assert openapi.OUT.read_text(encoding="utf-8") == openapi.text(), (
        "run python -m goldroom.api.openapi"
    )


def test_the_document_is_served_to_anybody(fresh_db):
    answer = Client().get("/api/v1/openapi.json")
    assert answer.json() == json.loads(openapi.text())


def test_every_operation_has_a_name_of_its_own():
    names = [each.name for each in OPERATIONS]
    assert len(set(names)) == len(names)


@pytest.mark.parametrize("kind", sorted(kinds()))
@pytest.mark.source("JSON Schema draft 2020-12, by jsonschema")
def test_the_example_of_a_kind_fits_its_schema(kind):
    from jsonschema import Draft202012Validator

    from goldroom.api.schemas import schema_of_kind
    from goldroom.reports.example import example_of

    schema = schema_of_kind(kinds()[kind])
    Draft202012Validator.check_schema(schema)
    for whole in (False, True):
        Draft202012Validator(schema).validate(example_of(kind, whole=whole)["data"])
