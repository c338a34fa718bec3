"""The OpenAPI 3.1 document, drawn from the table of operations.

    python -m goldroom.api.openapi        write goldroom/api/openapi.json

A test draws it again and compares byte for byte.
"""

import json
import os
from pathlib import Path
from typing import Any

OUT = Path(__file__).with_name("openapi.json")
VERSION = "1"
SAID = (
    "Programs say and read what people say and read on the pages: the same rules, the"
    " same two signatures, the same roles. Figures are texts, so that no digit is lost."
    " What is refused is told as a problem document (RFC 9457) whose code never"
    " changes; /api/v1/problems/{code} tells what it means."
)
REFUSED = {
    400: "The request cannot be read",
    401: "Nobody is signed in",
    403: "Not for these roles, or the key was not opened",
    404: "Not there",
    405: "The address does not take this method",
    409: "The id stands for something else, or what it speaks of has changed",
    413: "The body is too large",
    415: "The body's media type is not taken",
    422: "The statement is refused; field says where, detail what to do",
    500: "The program failed; what was recorded is safe",
    503: "The record or its tables are damaged; nothing is written",
}
DONE = {
    200: "Done, or done before",
    201: "Recorded, or kept",
    202: "Signed, and waiting for the others",
}


def document() -> dict[str, Any]:
    """Return the OpenAPI document."""
    from goldroom.api.shapes import NAMED
    from goldroom.api.table import OPERATIONS

    paths: dict[str, dict[str, Any]] = {}
    for each in OPERATIONS:
        paths.setdefault(f"/api/v1/{each.path}", {})[each.method.lower()] = _of(each)
    return {
        "openapi": "3.1.0",
        "info": {
            "title": "Gold room, for programs",
            "version": VERSION,
            "description": SAID,
        },
        "security": [{"token": []}, {"session": [], "csrf": []}],
        "paths": dict(sorted(paths.items())),
        "components": {
            "schemas": dict(sorted(NAMED.items())),
            "responses": {str(code): _problem(code) for code in REFUSED},
            "securitySchemes": {
                "token": {"type": "http", "scheme": "bearer"},
                "session": {
                    "type": "apiKey",
                    "in": "cookie",
                    "name": "goldroom_session",
                },
                "csrf": {"type": "apiKey", "in": "header", "name": "X-CSRFToken"},
            },
        },
    }


def text() -> str:
    """Return the document as it is kept."""
    return json.dumps(document(), indent=1, ensure_ascii=False) + "\n"


def _of(each: Any) -> dict[str, Any]:
    found: dict[str, Any] = {
        "operationId": each.name,
        "summary": each.summary,
        "tags": [each.tag],
    }
    needs = f"Only for roles that may read {each.needs}." if each.needs else ""
    if said := " ".join(part for part in (each.said, needs) if part):
        found["description"] = said
    if each.is_open:
        found["security"] = []
    if each.parameters:
        found["parameters"] = [_parameter(one) for one in each.parameters]
    if each.body is not None:
        content: dict[str, Any] = {"schema": each.body.schema}
        if each.body.example is not None:
            content["example"] = each.body.example
        found["requestBody"] = {"required": True, "content": {each.body.media: content}}
    found["responses"] = _answers(each)
    return found


def _answers(each: Any) -> dict[str, Any]:
    found: dict[str, Any] = {}
    for status, schema in each.answers.items():
        answer: dict[str, Any] = {
            "description": DONE[status],
            "content": {each.media: {"schema": schema}},
        }
        if each.method == "POST" and status in (201, 202) and each.name != "keepFile":
            answer["headers"] = {
                "Location": {
                    "description": "where it is told",
                    "schema": {"type": "string", "format": "uri-reference"},
                }
            }
        found[str(status)] = answer
    always = {400, 405, 500, 503} if each.is_open else {400, 401, 405, 500, 503}
    if not each.is_open:
        always |= {403}  # a session's CSRF token, and what only some roles read
    for status in sorted(always | set(each.refusals)):
        found[str(status)] = {"$ref": f"#/components/responses/{status}"}
    return found


def _parameter(one: Any) -> dict[str, Any]:
    return {
        "name": one.name,
        "in": "path" if one.is_in_path else "query",
        "required": one.is_required,
        "description": one.said,
        "schema": one.schema,
    }


def _problem(status: int) -> dict[str, Any]:
    from goldroom.api.bodies_shown import PROBLEM_SHOWN
    from goldroom.api.shapes import PROBLEM

    content: dict[str, Any] = {"schema": PROBLEM}
    if status == PROBLEM_SHOWN["status"]:
        content["example"] = PROBLEM_SHOWN
    answer: dict[str, Any] = {
        "description": REFUSED[status],
        "content": {"application/problem+json": content},
    }
    if status == 401:
        answer["headers"] = {
            "WWW-Authenticate": {
                "description": "how to say who one is",
                "schema": {"type": "string"},
            }
        }
    return answer


def main() -> None:
    """Write the document beside this module."""
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "goldroom.settings")
    import django

    django.setup()
    OUT.write_text(text(), encoding="utf-8")


if __name__ == "__main__":
    main()
