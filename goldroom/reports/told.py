"""What a statement says, field by field, as people read it.

The rows are drawn from the kind's own fields, so a page, a slip and a paper show
the same words, and a new kind is told as soon as it exists.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from goldroom.statements.fields import Spec, specs
from goldroom.statements.kind import marked
from goldroom.statements.limits import LIMITS

SOURCE_WORDS = {
    "typed": "typed in",
    "instrument": "taken from the instrument",
    "paper": "copied from paper",
}
YES, NO = "yes", "no"


@dataclass(frozen=True, kw_only=True)
class ToldRow:
    """A line of a statement: what it is called, and its value in words.

    `depth` is how far it is indented; a row with an empty value heads those below.
    """

    path: str
    label: str
    value: str
    depth: int


def told_rows(kind: str, v: int, data: Mapping[str, Any]) -> tuple[ToldRow, ...]:
    """Return every value of a statement in words, in the order of its fields.

    What this program does not know (a later version's field) is shown as it stands.
    """
    cls = marked(kind, v)
    if cls is None:
        return tuple(_as_it_stands(data, "", 0))
    return tuple(_rows(cls, data, "", 0))


def label_of(spec: Spec) -> str:
    """Return a field's label with its unit: "Gross mass, g"."""
    return f"{spec.label}, {spec.unit}" if spec.unit else spec.label


def reading_words(value: Mapping[str, Any]) -> str:
    """Return a reading: digits, unit, instrument and how it was taken."""
    taken = SOURCE_WORDS.get(str(value.get("source", "typed")), "")
    over = "; over capacity, confirmed" if value.get("confirmed") else ""
    return (
        f"{value.get('reading', '')} {value.get('unit', '')}"
        f" on {value.get('instrument', '')}, {taken}{over}"
    )


def _rows(
    cls: type, data: Mapping[str, Any], path: str, depth: int
) -> Iterator[ToldRow]:
    known = specs(cls)
    for name, spec in known.items():
        if name in data and data[name] is not None:
            yield from _field(spec, data[name], f"{path}{name}", depth)
    unknown = {name: value for name, value in data.items() if name not in known}
    yield from _as_it_stands(unknown, path, depth)


def _field(spec: Spec, value: Any, path: str, depth: int) -> Iterator[ToldRow]:
    if spec.sort == "one" and spec.rows is not None and isinstance(value, Mapping):
        yield ToldRow(path=path, label=spec.label, value="", depth=depth)
        yield from _rows(spec.rows, value, f"{path}.", depth + 1)
    elif spec.sort == "rows" and spec.rows is not None and isinstance(value, list):
        for n, row in enumerate(value):
            label = f"{spec.label} {n + 1}"
            here = f"{path}[{n}]"
            yield ToldRow(path=here, label=label, value="", depth=depth)
            yield from _rows(spec.rows, row, f"{here}.", depth + 1)
    elif spec.sort == "opaque":
        yield ToldRow(path=path, label=spec.label, value="", depth=depth)
        yield from _as_it_stands({"": value}, path, depth + 1)
    else:
        said = _words(spec, value)
        yield ToldRow(path=path, label=label_of(spec), value=said, depth=depth)


def _words(spec: Spec, value: Any) -> str:
    if spec.sort == "reading" and isinstance(value, Mapping):
        return reading_words(value)
    if spec.sort == "moment":
        return str(value).replace("T", " ")
    if spec.sort == "choice":
        return said_choice(str(value))
    return _plain(value)


def said_choice(value: str) -> str:
    """Return a choice's word as people say it; a limit is told by its meaning."""
    return LIMITS[value].meaning if value in LIMITS else value.replace("_", " ")


def _plain(value: Any) -> str:
    if isinstance(value, bool):
        return YES if value else NO
    if isinstance(value, list):
        return ", ".join(_plain(each) for each in value)
    return str(value)


def _as_it_stands(data: Mapping[str, Any], path: str, depth: int) -> Iterator[ToldRow]:
    """Yield values of which no field tells, nested ones below each other."""
    for name, value in data.items():
        here = f"{path}{name}"
        label = str(name).replace("_", " ")
        if isinstance(value, Mapping):
            if label:
                yield ToldRow(path=here, label=label, value="", depth=depth)
            yield from _as_it_stands(value, f"{here}.", depth + bool(label))
        elif isinstance(value, list) and any(isinstance(x, Mapping) for x in value):
            numbered = {f"{label} {n + 1}".strip(): row for n, row in enumerate(value)}
            yield from _as_it_stands(numbered, path, depth)
        else:
            yield ToldRow(path=here, label=label, value=_plain(value), depth=depth)
