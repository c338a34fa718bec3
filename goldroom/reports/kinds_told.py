"""A kind of statement told for whoever is about to say one: fields and cautions.

The description is drawn from the kind itself, so it can never say anything else than
what is accepted.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from goldroom.reports.example import who_signs
from goldroom.reports.plain import as_plain
from goldroom.statements.cautions import (
    RESCUE_FIRST,
    RULES_OVER_US,
    Caution,
    cautions_of,
)
from goldroom.statements.fields import Spec, specs
from goldroom.statements.registry import kind_named, kinds

SORT_WORDS = {
    "text": "words",
    "code": "id",
    "codes": "list of ids",
    "flag": "true or false",
    "whole": "whole number",
    "number": "figure, as text",
    "moment": "time with its offset",
    "day": "day",
    "reading": "reading: digits as text, unit (g, kg or ozt), instrument",
    "rows": "rows",
    "one": "group",
    "opaque": "object",
}
"""What a field's value looks like, by its sort."""
TABLE_WORDS = {"said": "entry", "emergency": "emergency's entry"}
"""What people call a record, where its table has another name."""


@dataclass(frozen=True, kw_only=True)
class FieldTold:
    """A field: its path, what it is called, how it is written, what it may be."""

    path: str
    label: str
    written: str
    bounds: str
    must: bool
    help: str


@dataclass(frozen=True, kw_only=True)
class KindTold:
    """A kind: name, title, meaning, policy group, fields in order, cautions."""

    kind: str
    title: str
    meaning: str
    group: str
    signing_class: str
    signed_by: str
    can_be_corrected: bool
    can_be_taken_back: bool
    fields: tuple[FieldTold, ...]
    cautions: tuple[Caution, ...]

    def to_json(self) -> dict[str, Any]:
        """Return the kind as plain values."""
        told: dict[str, Any] = as_plain(self)
        return told


def kind_told(name: str) -> KindTold:
    """Return a kind told. Raises UnknownKind, with what may have been meant."""
    cls = kind_named(name)
    return KindTold(
        kind=name,
        title=cls.title,
        meaning=(cls.__doc__ or "").strip().splitlines()[0],
        group=cls.group,
        signing_class=cls.klass,
        signed_by=who_signs(cls),
        can_be_corrected=cls.has_figures(),
        can_be_taken_back=cls.can_void,
        fields=tuple(_fields(cls, "")),
        cautions=cautions_of(name),
    )


def kinds_by_name() -> tuple[tuple[str, str], ...]:
    """Return every kind with the first line of what it says."""
    return tuple(
        (name, (cls.__doc__ or "").strip().splitlines()[0])
        for name, cls in sorted(kinds().items())
    )


def _fields(cls: type, path: str) -> Iterator[FieldTold]:
    for name, spec in specs(cls).items():
        yield FieldTold(
            path=f"{path}{name}",
            label=spec.label,
            written=_written(spec),
            bounds=_bounds(spec),
            must=not spec.optional,
            help=spec.help,
        )
        if spec.rows is not None:
            inner = "[]." if spec.sort == "rows" else "."
            yield from _fields(spec.rows, f"{path}{name}{inner}")


def _written(spec: Spec) -> str:
    if spec.choices:
        return " | ".join(spec.choices)
    unit = f" in {spec.unit}" if spec.unit else ""
    of = f" of {_one(spec.table)}" if spec.table else ""
    return f"{SORT_WORDS[spec.sort]}{of}{unit}"


def _one(table: str) -> str:
    """Return the trade name of a record with its article."""
    name = TABLE_WORDS.get(table, table.replace("_", " "))
    return f"an {name}" if name[0] in "aeiou" else f"a {name}"


def _bounds(spec: Spec) -> str:
    """Return what a figure may be; "" where only the sort bounds it."""
    if spec.low is None or spec.high is None:
        return ""
    low = f"from {spec.low}" if spec.low else ""
    high = f"to {spec.high}" if spec.high < 10**9 else ""
    return " ".join(part for part in (low, high) if part)


def text_of(told: KindTold) -> str:
    """Return the kind for reading."""
    return "\n".join(_lines(told))


def _lines(told: KindTold) -> Iterator[str]:
    yield f"{told.kind}: {told.meaning}"
    yield ""
    width = max((len(each.path) for each in told.fields), default=0)
    for each in told.fields:
        must = "" if each.must else " (may be left out)"
        bounds = f", {each.bounds}" if each.bounds else ""
        rest = f". {each.help}" if each.help else ""
        said = f"{each.label}: {each.written}{bounds}{must}{rest}"
        yield f"  {each.path.ljust(width)}  {said}"
    yield ""
    yield f"Signed by {told.signed_by}; a site may have other rules (policy.set)."
    yield _afterwards(told)
    yield f"A line to begin from: explain {told.kind} --example"
    if told.cautions:
        yield ""
        yield f"Before you begin. {RULES_OVER_US} {RESCUE_FIRST}"
        for caution in told.cautions:
            yield f"  {caution.hazard}. {caution.caution} [{caution.source}]"


def _afterwards(told: KindTold) -> str:
    corrected = "Its figures can be put right later" if told.can_be_corrected else ""
    back = "it can be taken back while nothing builds on it"
    ways = [
        part for part in (corrected, back if told.can_be_taken_back else "") if part
    ]
    if not ways:
        return "Once recorded it stays as it is; say anew what holds from then on."
    joined = "; ".join(ways)
    return joined[0].upper() + joined[1:] + "."
