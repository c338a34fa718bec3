"""A kind of statement: its values, what must be true, what changes, its sentence.

Every kind is one class with four paragraphs, always in this order: the fields;
`check`, which raises a refusal while something said cannot be accepted; `apply`,
which yields the records that change, findings among them; `sentence`, which the
journal reads aloud. A kind whose figures may be corrected later yields them from
`measures`, which `apply` calls too, and asks in `check_figures`, which `check` calls
too, what figures must be at any time.
"""

from collections.abc import Callable, Iterator
from typing import Any, ClassVar, TypeVar

from goldroom.custody.act import Act
from goldroom.custody.records import Record
from goldroom.custody.state import State

K = TypeVar("K", bound="type[Statement]")
_MARKED: dict[tuple[str, int], "type[Statement]"] = {}


class Statement:
    """What somebody says happened: one instance holds one statement's values.

    `kind_name` is `family.past_participle` and never changes; `v` the version of its
    fields; `group` the policy group whose roles sign it; `klass` its signing class;
    `title` what pages call it; `can_void` whether it may be taken back while
    nothing has built on it.
    """

    kind_name: ClassVar[str]
    v: ClassVar[int]
    group: ClassVar[str]
    klass: ClassVar[str]
    title: ClassVar[str]
    can_void: ClassVar[bool]

    def check(self, act: Act, state: State) -> None:
        """Raise a refusal if this cannot be accepted in this state."""

    def check_figures(self, act: Act, state: State) -> None:
        """Raise a refusal if the figures cannot be; asked of corrected ones too."""

    def apply(self, act: Act, state: State) -> Iterator[Record]:
        """Yield what changes; each record is held before the next is asked for."""
        yield from self.measures(act, state)

    def measures(self, act: Act, state: State) -> Iterator[Record]:
        """Yield the figures alone; a correction yields them again as new versions."""
        yield from ()

    @classmethod
    def has_figures(cls) -> bool:
        """Tell whether this kind's figures can be corrected, as versions."""
        return cls.measures is not Statement.measures

    def sentence(self) -> str:
        """Return what the journal reads aloud."""
        raise AssertionError("every kind has its sentence")


def kind(
    name: str,
    *,
    group: str,
    title: str,
    klass: str = "two",
    v: int = 1,
    can_void: bool = False,
) -> Callable[[K], K]:
    """Mark a class as a kind of statement."""

    def mark(cls: K) -> K:
        settings: dict[str, Any] = {
            "kind_name": name,
            "group": group,
            "title": title,
            "klass": klass,
            "v": v,
            "can_void": can_void,
        }
        for each, value in settings.items():
            setattr(cls, each, value)
        _MARKED[name, v] = cls
        return cls

    return mark


def marked(name: str, v: int) -> type[Statement] | None:
    """Return the class marked as this kind and version, or None.

    For a kind that speaks of another, as a correction does: it knows classes by
    what marked them, so that no module of kinds needs the list of all of them.
    """
    return _MARKED.get((name, v))
