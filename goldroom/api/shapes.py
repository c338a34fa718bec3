"""The schemas of bodies and answers, by name, as the table of operations uses them."""

from collections.abc import Mapping
from typing import Any

from goldroom.api.schemas import (
    CODE,
    PLAIN,
    Named,
    closed,
    listed,
    of_type,
    reference,
    schema_of_kind,
)
from goldroom.faces.own_key import Preparation
from goldroom.faces.reading import SeenHoldings
from goldroom.reports.attention import Concern
from goldroom.reports.entry import Cited, EntryTold, Mark
from goldroom.reports.journal import Line
from goldroom.reports.kinds_told import KindTold
from goldroom.reports.leach import LeachReport
from goldroom.reports.people import Names
from goldroom.reports.settlement import MeltSettlement
from goldroom.reports.told import ToldRow
from goldroom.reports.trail import Trail
from goldroom.reports.usual import Usual
from goldroom.statements.cautions import Caution
from goldroom.statements.registry import kinds

Schema = Mapping[str, Any]
TEXT: Schema = {"type": "string"}
FILLED: Schema = {"type": "string", "minLength": 1}
WHOLE: Schema = {"type": "integer"}
TEXTS: Schema = {"type": "array", "items": TEXT}
ANYTHING: Schema = {"type": "object"}
UUID = r"^[0-9a-f]{8}-[0-9a-f]{4}-[0-9a-f]{4}-[0-9a-f]{4}-[0-9a-f]{12}$"
ENTRY_ID: Schema = {"type": "string", "format": "uuid", "pattern": UUID}
BASE64: Schema = {"type": "string", "contentEncoding": "base64", "minLength": 1}
SHA256: Schema = {"type": "string", "pattern": "^[0-9a-f]{64}$"}
SIGNER: Schema = closed({"person": FILLED, "role": FILLED})
NAMED = Named()
"""Every schema that has a name, as the document lists them."""


def _named(name: str, schema: Schema) -> Schema:
    NAMED[name] = dict(schema)
    return reference(name)


def _open(cls: type, **more: Schema) -> Schema:
    """Return the schema of a report with what its `to_json` or the face adds."""
    name = NAMED.name_of(cls)
    of_type(cls, NAMED)
    plain = NAMED.pop(name)
    plain["properties"] = {**plain["properties"], **more}
    plain["required"] = list(plain["properties"])
    NAMED[name] = plain
    return reference(name)


SIGNATURE = _named(
    "Signature",
    closed({"alg": TEXT, "key": TEXT, "nonce": TEXT, "signature": BASE64}),
)
OPENING = _named(
    "Opening",
    {
        "type": "object",
        "description": "what opens a signer's key for one signature; never kept",
        "properties": {
            "person": FILLED,
            "passphrase": {**FILLED, "format": "password"},
            "key_file": {**BASE64, "description": "a sealed key not kept there"},
        },
        "required": ["person", "passphrase"],
        "additionalProperties": False,
    },
)
CITED = of_type(Cited, NAMED)
SAYING_PARTS: Schema = {
    "kind": {"enum": sorted(kinds())},
    "occurred_at": {"type": "string", "format": "date-time"},
    "data": {"type": "object", "description": "as /api/v1/kinds/{kind} says"},
    "signers": {"type": "array", "items": SIGNER, "minItems": 1},
    "entry_id": {**ENTRY_ID, "description": "made by the client: idempotency key"},
    "corrects": closed({"entry": ENTRY_ID}),
    "attachments": {"type": "array", "items": CITED},
}
MUST = ["kind", "occurred_at", "data", "signers", "entry_id"]
SAYING = _named(
    "Saying",
    {
        "type": "object",
        "properties": SAYING_PARTS,
        "required": MUST,
        "additionalProperties": False,
    },
)
STATEMENT = _named(
    "StatementToSign",
    {
        "type": "object",
        "properties": {
            **SAYING_PARTS,
            "signatures": {"type": "array", "items": OPENING, "minItems": 1},
        },
        "required": [*MUST, "signatures"],
        "additionalProperties": False,
    },
)
SIGNED = _named(
    "SignedStatement",
    closed({"entry_id": ENTRY_ID, "statement": BASE64, "signature": SIGNATURE}),
)
NEXT_SIGNATURE: Schema = {"anyOf": [OPENING, closed({"signature": SIGNATURE})]}
WITHDRAWAL: Schema = closed({"detail": FILLED})
EMPTY: Schema = {"type": "object", "additionalProperties": False}
PREPARATION = of_type(Preparation, NAMED)
WORDS: Schema = {
    "entry_id": ENTRY_ID,
    "kind": TEXT,
    "title": TEXT,
    "sentence": TEXT,
    "rows": {"type": "array", "items": of_type(ToldRow, NAMED)},
    "occurred_at": TEXT,
    "signers": {"type": "array", "items": SIGNER},
}
PROPOSAL = _named(
    "Proposal",
    closed(
        {
            **WORDS,
            "signed": TEXTS,
            "missing": TEXTS,
            "created_at": TEXT,
            "expires_at": TEXT,
            "entry": {"type": ["integer", "null"]},
        }
    ),
)
CHECKED = _named(
    "Checked",
    closed(
        {
            **WORDS,
            "data": ANYTHING,
            "usual": {"type": "array", "items": of_type(Usual, NAMED)},
            "cautions": {"type": "array", "items": of_type(Caution, NAMED)},
        }
    ),
)
ENTRY = of_type(EntryTold, NAMED)
EITHER: Schema = {"anyOf": [ENTRY, PROPOSAL]}
MARK = of_type(Mark, NAMED)
READER = _named(
    "Reader",
    closed(
        {
            **dict.fromkeys(("person", "name", "line", "ledger", "site"), TEXT),
            "roles": TEXTS,
            "is_demo": {"type": "boolean"},
            "may_say": TEXTS,
        }
    ),
)
KINDS: Schema = listed("kinds", closed({"kind": TEXT, "meaning": TEXT}))
KIND = _open(KindTold, data_schema=ANYTHING, example=ANYTHING)
JOURNAL: Schema = listed(
    "lines", of_type(Line, NAMED), before={"type": ["integer", "null"]}
)
PROOF = _named(
    "Proof",
    closed(
        {
            **dict.fromkeys(("checked_by", "origin", "root_hash", "leaf_hash"), TEXT),
            "leaf_index": WHOLE,
            "tree_size": WHOLE,
            "inclusion_path": TEXTS,
        }
    ),
)
TRAIL = _open(
    Trail,
    **dict.fromkeys(("flushes", "flushes_behind_returns", "hands", "melts"), TEXTS),
    identity=TEXT,
)
HOLDINGS = of_type(SeenHoldings, NAMED)
PEOPLE = of_type(Names, NAMED)
FINDINGS: Schema = listed("findings", _open(Concern, is_open=PLAIN[bool]))
LEACH = of_type(LeachReport, NAMED)
MELT = of_type(MeltSettlement, NAMED)
CHECK = closed({"checked_at": TEXT, "size": WHOLE, "exit_code": WHOLE, "report": {}})
MEANING: Schema = closed(dict.fromkeys(("code", "title", "meaning", "remedy"), TEXT))
PROBLEM = _named(
    "Problem",
    {
        "type": "object",
        "description": "RFC 9457, with code, field and refusals of our own",
        "properties": {
            "type": {"type": "string", "format": "uri-reference"},
            "title": TEXT,
            "status": {"type": "integer", "minimum": 400, "maximum": 599},
            "detail": TEXT,
            "instance": {"type": "string", "format": "uri-reference"},
            "code": TEXT,
            "field": TEXT,
            "refusals": {
                "type": "array",
                "items": closed({"code": TEXT, "field": TEXT, "detail": TEXT}),
            },
        },
        "required": [
            *("type", "title", "status", "detail", "instance", "code", "field")
        ],
        "additionalProperties": False,
    },
)
NAMED.update(
    {f"kind.{name}": schema_of_kind(cls) for name, cls in sorted(kinds().items())}
)
ID: Schema = {"type": "string", "pattern": CODE}
