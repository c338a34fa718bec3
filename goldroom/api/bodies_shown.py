"""Examples for the OpenAPI document; people, things and figures are invented."""

from typing import Any

STATEMENT_SHOWN: dict[str, Any] = {
    "kind": "place.registered",
    "occurred_at": "2026-10-05T09:10:00+02:00",
    "entry_id": "0b0e7a3c-5f54-4a0e-9a9e-2f8f1f6b7d10",
    "data": {"place": "store", "name": "Store (invented)", "sort": "store"},
    "signers": [
        {"person": "p-soto", "role": "security"},
        {"person": "p-okoro", "role": "manager"},
    ],
    "signatures": [
        {"person": "p-soto", "passphrase": "words that only the first signer knows"},
        {"person": "p-okoro", "passphrase": "words that only the second knows"},
    ],
}
PROBLEM_SHOWN: dict[str, Any] = {
    "type": "/api/v1/problems/bad_field",
    "title": "A value is missing, of another sort than its field, or out of its range.",
    "status": 422,
    "detail": "name: Name is missing. Write it.",
    "instance": "urn:uuid:4b3f0a52c1d94c0f9a5f5f0c9b1a7e22",
    "code": "bad_field",
    "field": "name",
}
