"""The boxes of a record form, drawn from the fields of a kind of statement.

A kind's fields say what each box is called, in which unit, how it is read and what
it may be; nothing is spelled again here. Boxes are shown with what was typed, and
with the refusals that speak of them.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from typing import Any

from django.utils.translation import gettext as _

from goldroom.reports.known import Choice
from goldroom.reports.told import SOURCE_WORDS, said_choice
from goldroom.statements.fields import Spec, specs
from goldroom.web.problems import Problem, box_id
from goldroom.web.values import WALL, rows_filled

CHOSEN = frozenset({"vessel", "instrument", "place", "concentrator", "person"})
"""Tables whose things are few and registered: chosen from a list. Others are typed
or scanned, with what is known offered beside."""
SORTS_ASKED = frozenset(
    {"hopper", "furnace", "safe", "box", "cell", "table", "oven", "refinery"}
)
"""Fields that ask for one sort of vessel, instrument or place, and are named so."""
LONG_WORDS = frozenset(
    {"answer", "reason", "what", "found", "done", "note", "note_of", "why", "words"}
)


@dataclass(frozen=True, kw_only=True)
class Box:
    """One box, or a group of boxes. `shape` names the part of a page that shows it."""

    path: str
    shape: str
    label: str
    unit: str = ""
    help: str = ""
    value: str = ""
    must: bool = True
    choices: tuple[tuple[str, str], ...] = ()
    offered: str = ""
    problems: tuple[str, ...] = ()
    inner: tuple["Box", ...] = ()
    rows: tuple["Row", ...] = ()

    @property
    def box(self) -> str:
        """Return the id of the box on the page."""
        return box_id(self.path)

    @property
    def sent_as(self) -> str:
        """Return the name under which the box is sent."""
        return self.path if self.path.startswith("@") else f"d.{self.path}"

    @property
    def is_wall(self) -> bool:
        """Tell whether a time can be shown by the browser's own box for times."""
        return not self.value or WALL.fullmatch(self.value) is not None

    @property
    def has_blank(self) -> bool:
        """Tell whether a choice begins with nothing chosen."""
        values = [value for value, _word in self.choices]
        is_made = self.path.endswith((".source", ".confirmed"))
        return not is_made and not (len(values) == 1 and self.value in values)

    @property
    def count(self) -> int:
        """Return how many rows there are: the number of the next one."""
        return len(self.rows)


@dataclass(frozen=True, kw_only=True)
class Row:
    """One row of a list: its number, from 0, and its boxes."""

    n: int
    inner: tuple[Box, ...]

    @property
    def shown(self) -> int:
        """Return the row's number as people count."""
        return self.n + 1


@dataclass(frozen=True, kw_only=True)
class Filling:
    """What fills the boxes: what was typed, what can be chosen, what was refused."""

    typed: Mapping[str, str]
    known: Mapping[str, tuple[Choice, ...]] = field(default_factory=dict)
    problems: tuple[Problem, ...] = ()
    extra_rows: Mapping[str, int] = field(default_factory=dict)

    def of(self, path: str) -> str:
        """Return what was typed into a box."""
        return self.typed.get(path, "")

    def wrong(self, *paths: str) -> tuple[str, ...]:
        """Return the words of the problems at these boxes."""
        return tuple(each.message for each in self.problems if each.field in paths)


def boxes(cls: type, filling: Filling, path: str = "") -> tuple[Box, ...]:
    """Return the boxes of a class's fields, in order."""
    return tuple(
        _box(name, spec, f"{path}{name}", filling) for name, spec in specs(cls).items()
    )


def tables_of(cls: type) -> set[str]:
    """Return the tables that a class's fields name things of."""
    found = set()
    for spec in specs(cls).values():
        if spec.table:
            found.add(spec.table)
        if spec.sort == "reading":
            found.add("instrument")
        if spec.rows is not None:
            found |= tables_of(spec.rows)
    return found


def _box(name: str, spec: Spec, path: str, filling: Filling) -> Box:
    if spec.sort == "rows":
        return _rows(spec, path, filling)
    if spec.sort == "one":
        assert spec.rows is not None
        inner = boxes(spec.rows, filling, f"{path}.")
        return _plain(spec, path, filling, "group", inner=inner)
    if spec.sort == "reading":
        return _reading(spec, path, filling)
    if spec.sort == "flag":
        either = (("yes", _("yes")), ("no", _("no")))
        return _plain(spec, path, filling, "either", choices=either)
    if spec.sort == "choice":
        choices = _words(spec.choices)
        return _plain(spec, path, filling, "choice", choices=choices)
    if spec.sort == "code" and spec.table in CHOSEN:
        return _chosen(name, spec, path, filling)
    shapes = {
        "number": "figure",
        "whole": "figure",
        "moment": "moment",
        "day": "day",
        "opaque": "long",
        "codes": "long",
    }
    shape = shapes.get(spec.sort, "line")
    if spec.sort == "text" and name in LONG_WORDS:
        shape = "long"
    offered = spec.table if filling.known.get(spec.table) else ""
    return _plain(spec, path, filling, shape, offered=offered)


def _plain(spec: Spec, path: str, filling: Filling, shape: str, **more: Any) -> Box:
    return Box(
        path=path,
        shape=shape,
        label=_(spec.label),
        unit=spec.unit,
        help=_(spec.help) if spec.help else _several(spec),
        value=filling.of(path),
        must=not spec.optional,
        problems=filling.wrong(path),
        **more,
    )


def _several(spec: Spec) -> str:
    return _("Several, with a space or a new line between.") * (spec.sort == "codes")


def _chosen(name: str, spec: Spec, path: str, filling: Filling) -> Box:
    """Offer what is registered; for a hopper the hoppers, for a safe the safes."""
    known = filling.known.get(spec.table, ())
    alike = [each for each in known if name in SORTS_ASKED and each.sort == name]
    offered = [(each.value, each.name) for each in alike or known]
    typed = filling.of(path)
    if typed and typed not in dict(offered):
        offered.append((typed, typed))
    return _plain(spec, path, filling, "choice", choices=tuple(offered))


def _reading(spec: Spec, path: str, filling: Filling) -> Box:
    instruments = [
        (each.value, each.name)
        for each in filling.known.get("instrument", ())
        if each.unit in ("g", "kg", "ozt")
    ]
    said = filling.wrong(path, f"{path}.reading", f"{path}.unit")
    inner = [
        _part(path, "reading", "figure", _("Digits on the display"), filling),
        _part(
            path,
            "instrument",
            "choice",
            _("Instrument"),
            filling,
            choices=instruments,
        ),
        _part(
            path,
            "source",
            "choice",
            _("How taken"),
            filling,
            choices=tuple((key, _(word)) for key, word in SOURCE_WORDS.items()),
        ),
    ]
    is_over = any(each.code == "over_capacity" for each in filling.problems)
    if is_over or filling.of(f"{path}.confirmed"):
        confirmed = _("Over its capacity: read again, and it is so")
        inner.append(
            _part(path, "confirmed", "choice", confirmed, filling, choices=_yes_no())
        )
    return Box(
        path=path,
        shape="reading",
        label=_(spec.label),
        help=_(spec.help) if spec.help else "",
        must=not spec.optional,
        problems=said,
        inner=tuple(inner),
    )


def _part(
    path: str,
    name: str,
    shape: str,
    label: str,
    filling: Filling,
    *,
    choices: Iterable[tuple[str, str]] = (),
) -> Box:
    here = f"{path}.{name}"
    problems = () if name == "reading" else filling.wrong(here)
    return Box(
        path=here,
        shape=shape,
        label=label,
        value=filling.of(here),
        choices=tuple(choices),
        problems=problems,
    )


def _rows(spec: Spec, path: str, filling: Filling) -> Box:
    assert spec.rows is not None
    filled = len(rows_filled(filling.typed, path))
    least = 0 if spec.optional else 1
    count = max(filled, least) + filling.extra_rows.get(path, 0)
    rows = tuple(
        Row(n=n, inner=boxes(spec.rows, filling, f"{path}[{n}]."))
        for n in range(min(count, spec.most))
    )
    return Box(
        path=path,
        shape="rows",
        label=_(spec.label),
        help=_(spec.help) if spec.help else "",
        must=not spec.optional,
        problems=filling.wrong(path),
        rows=rows,
    )


def _words(choices: Iterable[str]) -> tuple[tuple[str, str], ...]:
    return tuple((each, _(said_choice(each))) for each in choices)


def _yes_no() -> tuple[tuple[str, str], ...]:
    return (("", _("no")), ("yes", _("yes")))
