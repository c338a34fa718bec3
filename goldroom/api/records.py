"""What the record holds: chain mark, kinds, journal, entries, items, holdings."""

import json
from dataclasses import replace
from importlib import resources
from typing import Any

from goldroom.api.asking import one_of, seq_of, utc, whole
from goldroom.api.meanings import meanings
from goldroom.api.operation import Answered, Asked
from goldroom.api.plainly import entry_plain
from goldroom.api.problems import NoSuchAddress
from goldroom.api.schemas import schema_of_kind
from goldroom.faces import reading
from goldroom.faces.offered import may_say
from goldroom.reports.aloud import aloud
from goldroom.reports.entry import mark
from goldroom.reports.example import example_of
from goldroom.reports.journal import Wanted
from goldroom.reports.kinds_told import kind_told, kinds_by_name
from goldroom.reports.people import names
from goldroom.reports.plain import as_plain
from goldroom.reports.proof import proof_of
from goldroom.statements.registry import kind_named

THINGS = ("item", "vessel", "seal", "instrument", "concentrator", "place")
DOCUMENT = "openapi.json"


def document(asked: Asked) -> Answered:
    """Give the OpenAPI document."""
    text = resources.files("goldroom.api").joinpath(DOCUMENT).read_text("utf-8")
    return Answered(value=json.loads(text))


def problem(asked: Asked) -> Answered:
    """Tell what a refusal's code means."""
    found = meanings().get(asked.path["code"])
    if found is None:
        raise NoSuchAddress(
            "No refusal has this code. Take the code from a problem document's type.",
            field="code",
        )
    return Answered(value=found)


def ledger(asked: Asked) -> Answered:
    """Give the chain mark as the ledger stands."""
    return Answered(value=as_plain(mark(asked.reader.ledger_id)))


def who(asked: Asked) -> Answered:
    """Tell who asks, as the ledger knows them now."""
    reader = asked.reader
    return Answered(
        value={
            "person": reader.person,
            "name": reader.name,
            "line": reader.line,
            "roles": list(reader.roles),
            "ledger": reader.slug,
            "site": reader.site,
            "is_demo": reader.is_demo,
            "may_say": sorted(may_say(reader)),
        }
    )


def kinds(asked: Asked) -> Answered:
    """List what can be said."""
    found = [{"kind": name, "meaning": said} for name, said in kinds_by_name()]
    return Answered(value={"kinds": found})


def kind(asked: Asked) -> Answered:
    """Tell a kind: fields, their JSON Schema, an example, cautions."""
    name = asked.path["kind"]
    told = kind_told(name)
    return Answered(
        value={
            **told.to_json(),
            "data_schema": schema_of_kind(kind_named(name)),
            "example": example_of(name),
        }
    )


def journal(asked: Asked) -> Answered:
    """Give a page of the journal, the newest first."""
    query = asked.query
    wanted = Wanted(
        kind=query.get("kind", ""),
        person=query.get("person", ""),
        thing=query.get("thing", ""),
        record=one_of(query, "sort", THINGS, "item"),
        about=query.get("about", ""),
        from_at=utc(query, "from"),
        to_at=utc(query, "to"),
    )
    most = whole(query, "most")
    found = reading.journal(
        asked.reader,
        wanted,
        before=whole(query, "before"),
        most=50 if most is None else most,
    )
    spoken = aloud(asked.reader.ledger_id, (each.sentence for each in found.lines))
    told = [
        replace(each, sentence=spoken.sentence(each.sentence)) for each in found.lines
    ]
    return Answered(value={"lines": as_plain(told), "before": found.before})


def entry(asked: Asked) -> Answered:
    """Tell an entry whole, its bytes with it."""
    return Answered(value=entry_plain(reading.entry(asked.reader, seq_of(asked.path))))


def entry_bytes(asked: Asked) -> Answered:
    """Give the bytes that are the record, as they were hashed."""
    return Answered(value=reading.entry(asked.reader, seq_of(asked.path)).leaf)


def proof(asked: Asked) -> Answered:
    """Give the proof that an entry is in the chain of a mark's size."""
    told = reading.entry(asked.reader, seq_of(asked.path))
    size = whole(asked.query, "size")
    return Answered(value=proof_of(asked.reader.ledger_id, told.seq, size).to_json())


def cited(asked: Asked) -> Answered:
    """Give a file that an entry cites."""
    seq, sha256 = seq_of(asked.path), asked.path["sha256"]
    _, content = reading.cited_file(asked.reader, seq, sha256)
    return Answered(value=content)


def item(asked: Asked) -> Answered:
    """Tell an item's trail."""
    return Answered(value=reading.trail(asked.reader, asked.path["item"]).to_json())


def holdings(asked: Asked) -> Answered:
    """Tell what is held, step by step, now or when an entry was taken down."""
    at_entry = whole(asked.query, "at_entry")
    found: dict[str, Any] = as_plain(reading.holdings(asked.reader, at_entry=at_entry))
    return Answered(value=found)


def people(asked: Asked) -> Answered:
    """Tell the names of persons, places and vessels by id."""
    return Answered(value=as_plain(names(asked.reader.ledger_id)))
