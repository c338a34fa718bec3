"""Cases made from the OpenAPI document, for one of its people: never a failure of ours.

Each answer must be one that the document names, and fit its schema.
"""

import json
from typing import Any

import schemathesis
from hypothesis import HealthCheck, Phase, given, seed, settings
from schemathesis.checks import CHECKS
from schemathesis.core.failures import FailureGroup
from schemathesis.generation import GenerationMode

from goldroom.api import openapi
from goldroom.wsgi import application

CHECKED = (
    "not_a_server_error",
    "status_code_conformance",
    "content_type_conformance",
    "response_headers_conformance",
    "response_schema_conformance",
)
SEED = 20261005


def schema_of() -> Any:
    """Return the document's operations, asked of the WSGI application."""
    schema = schemathesis.openapi.from_dict(json.loads(openapi.text()))
    schema.app = application
    return schema


def ask(token: str, cases: int, tally: dict[str, int]) -> int:
    """Ask about `cases` cases over all operations; return how many were asked.

    Acts are asked twice: with what fits the document, and with what does not.

    `tally` counts the answers by status.
    """
    schema = schema_of()
    checks = [each for each in CHECKS.get_all() if each.__name__ in CHECKED]
    assert len(checks) == len(CHECKED)
    operations = [found.ok() for found in schema.get_all_operations()]
    runs = [(each, GenerationMode.POSITIVE) for each in operations]
    acts = [each for each in operations if each.method.upper() == "POST"]
    runs += [(each, GenerationMode.NEGATIVE) for each in acts]
    each_most = 1 + cases // (len(runs) - 1)
    asked = 0
    for operation, mode in runs:

        @seed(SEED)
        @settings(
            max_examples=each_most,
            deadline=None,
            database=None,
            phases=[Phase.generate],
            suppress_health_check=list(HealthCheck),
        )
        @given(case=operation.as_strategy(generation_mode=mode))
        def run(case: Any) -> None:
            nonlocal asked
            answer = case.call(headers={"Authorization": f"Bearer {token}"})
            asked += 1
            name = str(answer.status_code)
            tally[name] = tally.get(name, 0) + 1
            assert answer.headers["cache-control"] == ["no-store"]
            try:
                case.validate_response(answer, checks=checks)
            except FailureGroup as failures:
                told = [str(each) for each in failures.exceptions]
                raise AssertionError("\n".join(told)) from None

        run()
    return asked
