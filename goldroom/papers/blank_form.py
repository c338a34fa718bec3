"""Numbered blank forms for when the machine is down, made from a kind's own fields.

What the screen would ask for is asked for on paper, under the same labels: a box for
every field, words to tick, rows to fill, two signatures in ink. A form is written up
afterwards in its own kind, with the event's own time and its scan.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from reportlab.lib.colors import black
from reportlab.lib.styles import ParagraphStyle
from reportlab.platypus import Flowable, KeepTogether, PageBreak, Table

from goldroom.papers.frame import (
    BODY,
    BOLD,
    Leaf,
    Paper,
    code_of_mark,
    drawn,
    heading,
    words,
)
from goldroom.papers.sheet_parts import ink, shares, work_cautions
from goldroom.reports.entry import Mark
from goldroom.statements.fields import BadField, Spec, specs
from goldroom.statements.paper import INK
from goldroom.statements.registry import kind_named

NUMBER = ParagraphStyle("form number", BODY, fontName=BOLD, fontSize=26, leading=32)
HINT = ParagraphStyle("hint", BODY, fontSize=7, leading=9, spaceAfter=0)
LABEL = ParagraphStyle("label", BODY, leading=11.5, spaceAfter=0)

BLANK_ROWS = 8
"""Rows to fill where a list may hold as many; the rest goes on a further form."""

COLUMNS_AT_MOST = 5
TICK_HERE = "[\u00a0\u00a0\u00a0]\u00a0"
BOX_HEIGHT, ROW_HEIGHT, WORDS_HEIGHT = 26, 24, 48
HINTS = {
    "moment": "day (year-month-day) and time, by the site's clock",
    "day": "year-month-day",
    "reading": "digits as displayed, unit, instrument's id",
    "code": "id",
    "codes": "ids, one after the other",
    "whole": "a whole number",
}
RULES = (
    "Write in ink, strike out a slip so that it stays readable, and initial it. The"
    " work is recorded only when this form is written up; keep the paper. A spoiled"
    " form is kept and made void, so that no number is missing."
)


@dataclass(frozen=True, kw_only=True)
class FormField:
    """A field that a form asks for, under its path: `products.mass`."""

    path: str
    label: str
    unit: str
    sort: str
    is_optional: bool
    choices: tuple[str, ...]


@dataclass(frozen=True, kw_only=True)
class BlankForm:
    """What a pad of forms asks for: the kind, its version, the forms, the fields."""

    kind: str
    v: int
    title: str
    numbers: tuple[str, ...]
    fields: tuple[FormField, ...]


def blank_form(kind: str, numbers: Sequence[str], mark: Mark) -> bytes:
    """Return a blank form of a kind for each of these form numbers, as PDF.

    Raises UnknownKind, and BadField where numbers are missing or come twice, or the
    kind holds what nobody can write by hand.
    """
    asked, each_once = specs(kind_named(kind)), tuple(dict.fromkeys(numbers))
    title = kind_named(kind).title
    if not each_once or len(each_once) < len(numbers):
        raise BadField(
            f"numbers: found {len(numbers)} form numbers, {len(each_once)} of them"
            " different. Name each issued form once, at least one.",
            field="numbers",
        )
    _check_writable(asked, title)
    form = BlankForm(
        kind=kind,
        v=kind_named(kind).v,
        title=title,
        numbers=each_once,
        fields=tuple(_fields(asked)),
    )
    blocks: list[Flowable] = []
    for n, number in enumerate(each_once):
        blocks += [*([PageBreak()] if n else []), *_form(number, kind, asked)]
    return drawn(
        Paper(
            title=title,
            about="Blank form, to be filled in ink while the machine is down",
            mark=mark,
            code=code_of_mark(mark),
            figures=form,
        ),
        blocks,
    )


def _check_writable(asked: dict[str, Spec], title: str) -> None:
    for name, spec in asked.items():
        if spec.rows is not None:
            _check_writable(specs(spec.rows), title)
        if spec.sort == "opaque" and not spec.optional:
            raise BadField(
                f"kind: {title} holds {spec.label.lower()} ({name}), which nobody can"
                " write by hand. Say it at a screen once there is one again.",
                field="kind",
            )


def _fields(asked: dict[str, Spec], path: str = "") -> Iterator[FormField]:
    for name, spec in _on_paper(asked):
        yield FormField(
            path=f"{path}{name}",
            label=spec.label,
            unit=spec.unit,
            sort=spec.sort,
            is_optional=spec.optional,
            choices=spec.choices,
        )
        if spec.rows is not None:
            yield from _fields(specs(spec.rows), f"{path}{name}.")


def _on_paper(asked: dict[str, Spec]) -> Iterator[tuple[str, Spec]]:
    return ((name, spec) for name, spec in asked.items() if spec.sort != "opaque")


def _form(number: str, kind: str, asked: dict[str, Spec]) -> list[Flowable]:
    blocks: list[Flowable] = [
        Leaf(f"Form {number}"),
        words(f"Form {number}", NUMBER),
        words(RULES),
        *work_cautions((kind,)),
        heading("When and why"),
        _boxes(
            [
                Spec("When it happened", "moment"),
                Spec("Why on paper", "text", help="power, server, network"),
            ]
        ),
    ]
    blocks += _asked(asked, "What happened")
    signatures = [
        ink(f"{n}: name in letters, role, signature, day and time")
        for n in range(1, INK + 1)
    ]
    return [*blocks, KeepTogether([heading("Signed in ink"), *signatures])]


def _asked(asked: dict[str, Spec], title: str) -> Iterator[Flowable]:
    """Yield boxes for single fields, then groups and lists under their own headings."""
    fields = [spec for _, spec in _on_paper(asked)]
    single = [each for each in fields if each.rows is None]
    if single:
        yield heading(title)
        yield _boxes(single)
    for spec in fields:
        if spec.sort == "one" and spec.rows is not None:
            yield from _asked(specs(spec.rows), f"{spec.label}{_empty(spec)}")
        elif spec.rows is not None:
            yield from _lines(spec)


def _empty(spec: Spec) -> str:
    return " (if any)" if spec.optional else ""


def _label(spec: Spec) -> str:
    unit = f", {spec.unit}" if spec.unit else ""
    return f"{spec.label}{unit}{_empty(spec)}"


def _hint(spec: Spec) -> str:
    """Return what stands in a box to fill: words to tick, or what is to be written."""
    if ticked := _ticked(spec):
        return "   ".join(f"{TICK_HERE}{each}" for each in ticked)
    return HINTS.get(spec.sort, spec.unit)


def _ticked(spec: Spec) -> tuple[str, ...]:
    """Return the words of which one is chosen; none where something is written."""
    if spec.sort == "flag":
        return ("yes", "no")
    return tuple(each.replace("_", " ") for each in spec.choices)


def _boxes(fields: Sequence[Spec]) -> Table:
    """Return a box for each field, its label and its help on the left."""
    cells, heights = [], []
    for spec in fields:
        label: list[Flowable] = [words(_label(spec), LABEL)]
        if spec.help:
            label.append(words(spec.help, HINT))
        hint = words(_hint(spec), HINT)
        left, right = shares(2, 3)
        tall = sum(each.wrap(left - 8, 1000)[1] for each in label)
        least = WORDS_HEIGHT if spec.sort in ("text", "codes") else BOX_HEIGHT
        written = 0 if _ticked(spec) else 16
        cells.append([label, hint])
        heights.append(max(least, tall + 6, hint.wrap(right - 12, 1000)[1] + written))
    return Table(
        cells,
        colWidths=shares(2, 3),
        rowHeights=heights,
        style=[
            ("VALIGN", (0, 0), (-1, -1), "TOP"),
            ("GRID", (1, 0), (1, -1), 0.6, black),
            ("TOPPADDING", (0, 0), (-1, -1), 2),
            ("BOTTOMPADDING", (0, 0), (-1, -1), 2),
            ("LEFTPADDING", (0, 0), (-1, -1), 3),
        ],
        spaceAfter=8,
    )


def _lines(spec: Spec) -> Iterator[Flowable]:
    """Yield rows to fill for a list; wide ones in parts, each row by its number."""
    assert spec.rows is not None
    columns = list(_columns(specs(spec.rows)))
    count = min(spec.most, BLANK_ROWS)
    parts = [
        columns[n : n + COLUMNS_AT_MOST]
        for n in range(0, len(columns), COLUMNS_AT_MOST)
    ]
    for n, part in enumerate(parts, 1):
        which = f", part {n} of {len(parts)}" if len(parts) > 1 else ""
        lines = _blank_rows(part, count)
        named = heading(f"{spec.label}{which}{_empty(spec)}")
        told = [words(spec.help, HINT)] if spec.help and n == 1 else []
        yield KeepTogether([named, *told, lines])


def _columns(asked: dict[str, Spec], group: str = "") -> Iterator[tuple[str, str]]:
    """Yield each column's heading and hint; a group's fields by the group's name."""
    for _, spec in _on_paper(asked):
        if spec.rows is not None:
            yield from _columns(specs(spec.rows), f"{spec.label}: ")
        else:
            ticked = _ticked(spec)
            hint = f"one of: {', '.join(ticked)}" if ticked else _hint(spec)
            yield f"{group}{_label(spec)}", hint


def _blank_rows(columns: Sequence[tuple[str, str]], count: int) -> Table:
    widths = shares(0.6, *[10 / len(columns)] * len(columns))
    heads = [[words(""), words("")]]
    heads += [[words(label, LABEL), words(hint, HINT)] for label, hint in columns]
    rows = [[words(str(n), HINT), *[""] * len(columns)] for n in range(1, count + 1)]
    return Table(
        [heads, *rows],
        colWidths=widths,
        rowHeights=[None, *[ROW_HEIGHT] * count],
        repeatRows=1,
        style=[
            ("VALIGN", (0, 0), (-1, -1), "TOP"),
            ("GRID", (0, 0), (-1, -1), 0.6, black),
            ("LEFTPADDING", (0, 0), (-1, -1), 2),
            ("RIGHTPADDING", (0, 0), (-1, -1), 2),
        ],
        spaceAfter=8,
    )
