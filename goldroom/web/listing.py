"""Pages that are tables: cells, captions, and the forms that change what they show.

A report's values become rows of cells here; `web/listing.html` draws them.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from typing import Any

from django.http import HttpRequest, HttpResponse
from django.urls import reverse
from django.utils.translation import gettext as _

from goldroom.faces.offered import may_say
from goldroom.faces.reader import Reader
from goldroom.statements.registry import kind_named
from goldroom.web.page import page, reader_in


@dataclass(frozen=True, kw_only=True)
class Cell:
    """A cell: text, where it leads to, a quieter second line, a tag in words.

    `said` is what a link says where it is read without its row.
    """

    text: str
    address: str = ""
    note: str = ""
    tag: str = ""
    is_figure: bool = False
    is_code: bool = False
    said: str = ""


@dataclass(frozen=True, kw_only=True)
class Heading:
    """A heading of a column, over text or over figures."""

    text: str
    is_figure: bool = False


@dataclass(frozen=True, kw_only=True)
class Table:
    """A table of one page; `name` is its id there, `empty` what stands for no row."""

    name: str
    caption: str
    headings: tuple[Heading, ...]
    rows: tuple[tuple[Cell, ...], ...]
    empty: str
    lead: str = ""


@dataclass(frozen=True, kw_only=True)
class Link:
    """A link of a page: its words, and where it leads to."""

    name: str
    address: str


@dataclass(frozen=True, kw_only=True)
class Listing:
    """A page of tables; `back` leads to where one came from."""

    title: str
    lead: str
    tables: tuple[Table, ...]
    links: tuple[Link, ...] = ()
    back: Link | None = None
    more: Mapping[str, Any] = field(default_factory=dict)


def listing(request: HttpRequest, found: Listing) -> HttpResponse:
    """Return a page of tables."""
    values = {"title": found.title, "found": found, **found.more}
    return page(request, "listing", values)


def words(text: str, *, note: str = "", tag: str = "") -> Cell:
    """Return a cell of words."""
    return Cell(text=text, note=note, tag=tag)


def figure(value: object) -> Cell:
    """Return a cell of a figure, set flush right; a dash where there is none."""
    return Cell(text="–" if value in (None, "") else str(value), is_figure=True)


def code(text: str) -> Cell:
    """Return a cell of letters and digits that are read one by one."""
    return Cell(text=text, is_code=True)


def entry_cell(seq: int | None) -> Cell:
    """Return a cell that leads to an entry; a dash where there is none."""
    if seq is None:
        return Cell(text="–")
    return Cell(text=_("Entry %d") % seq, address=reverse("entry", args=[seq]))


def item_cell(item: str) -> Cell:
    """Return a cell that leads to an item's trail."""
    return Cell(text=item, address=reverse("item", args=[item]))


def headings(*texts: str) -> tuple[Heading, ...]:
    """Return headings; one that begins with an equals sign stands over figures."""
    return tuple(
        Heading(text=text.removeprefix("="), is_figure=text.startswith("="))
        for text in texts
    )


def forms(reader: Reader, kinds: Iterable[str]) -> tuple[Link, ...]:
    """Return links to the forms of these kinds, of those that the reader may say."""
    mine = may_say(reader)
    return tuple(
        Link(name=_(kind_named(kind).title), address=reverse("say_kind", args=[kind]))
        for kind in kinds
        if kind in mine
    )


def site_link() -> Link:
    """Return the way back to the page of the site's standing things."""
    return Link(name=_("Site"), address=reverse("site"))


def forms_here(request: HttpRequest, *kinds: str) -> tuple[Link, ...]:
    """Return links to the forms of these kinds for whoever asks."""
    return forms(reader_in(request), kinds)
