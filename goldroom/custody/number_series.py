"""Records of number series: how bars, samples and seals are numbered, since when."""

from dataclasses import dataclass

from goldroom.custody.record import Record


@dataclass(frozen=True, kw_only=True)
class Series:
    """Numbers with one beginning: prefix, counter of so many digits, check character.

    The counter gets zeros in front; with `with_check` a check character follows.
    """

    prefix: str
    digits: int
    with_check: bool
    from_at: str


@dataclass(frozen=True, kw_only=True)
class NumberSeries(Record):
    """Every series ever set for bars, for samples or for seals, the newest last."""

    table = "number_series"
    key_of = "{numbers}"
    numbers: str
    series: tuple[Series, ...]
    at: str
    entry: str
