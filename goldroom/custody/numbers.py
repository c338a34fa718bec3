"""Numbers of a series: made, and found whole or not.

A new id that begins like a series but does not end in its check character is a slip
of whoever typed it: refused. A number stamped on a bar is what people saw: recorded,
with a finding. Neither tells which character was expected, for a number is read, not
worked out.
"""

from collections.abc import Iterator, Sequence

from goldroom.custody.act import Act
from goldroom.custody.notices import notice
from goldroom.custody.number_series import NumberSeries, Series
from goldroom.custody.records import Record
from goldroom.custody.state import State
from goldroom.errors import CheckCharacterWrong
from goldroom.metal.check_characters import id_check_character, id_holds


def numbered(series: Series, count: int) -> str:
    """Return a series' number of this count, with its check character if it has one."""
    number = f"{series.prefix}{count:0{series.digits}d}"
    return number + id_check_character(number) if series.with_check else number


def count_of(series: Series, text: str) -> int | None:
    """Return the count of a series' number; None for one that is not of the series."""
    counter = text.removeprefix(series.prefix)
    counter = counter[:-1] if series.with_check else counter
    is_number = counter.isascii() and counter.isdecimal()
    if not is_number or numbered(series, int(counter)) != text:
        return None
    return int(counter)


def series_of(known: NumberSeries | None, text: str, at: str) -> Series | None:
    """Return the series that a number begins like, as in force at a time, or None.

    The longest beginning wins, and of one beginning what was set last.
    """
    alike = [
        each
        for each in (known.series if known is not None else ())
        if each.from_at <= at and text.upper().startswith(each.prefix.upper())
    ]
    return max(alike, key=lambda each: (len(each.prefix), each.from_at), default=None)


def check_numbers(
    state: State, act: Act, what: str, named: Sequence[tuple[str, str]]
) -> None:
    """Refuse (number, field) pairs that do not end in their check character.

    Raises CheckCharacterWrong.
    """
    known = state.get(NumberSeries, what)
    for text, field in named:
        series = series_of(known, text, act.at)
        if series is not None and not is_whole(series, text):
            raise CheckCharacterWrong(
                f"{field}: {text} begins like the {what}s' series {series.prefix}, but"
                f" its digits and its last character do not belong together; expected"
                f" {_form(series)}. Read it again, character by character.",
                field=field,
            )


def number_notices(
    state: State, act: Act, what: str, *, number: str, item: str
) -> Iterator[Record]:
    """Yield a finding if a number that was seen lacks its check character."""
    series = series_of(state.get(NumberSeries, what), number, act.at)
    if series is not None and not is_whole(series, number):
        yield notice(
            state,
            act,
            "check_character_differs",
            item=item,
            found=number,
            expected=f"a number of series {series.prefix}: {_form(series)}",
            message=f"the number {number} of {item} does not hold together; look at"
            " it again",
        )


def is_whole(series: Series, text: str) -> bool:
    """Return whether a number that begins like a series is a whole number of it.

    A series without check character asks nothing of a number.
    """
    if not series.with_check:
        return True
    return count_of(series, text) is not None and id_holds(text)


def _form(series: Series) -> str:
    return f"{series.prefix}, {series.digits} digits and a check character"
