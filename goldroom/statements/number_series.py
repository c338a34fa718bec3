"""How bars, samples and seals are numbered: prefix, digits, check character."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime

from goldroom.custody.act import Act, utc_text
from goldroom.custody.number_series import NumberSeries, Series
from goldroom.custody.numbers import numbered
from goldroom.custody.records import Record
from goldroom.custody.state import State
from goldroom.statements import fields
from goldroom.statements.fields import BadField
from goldroom.statements.kind import Statement, kind

NUMBERED = ("bar", "sample", "seal")


@kind("number_series.set", group="standing", title="Number series set", can_void=True)
@dataclass(frozen=True, kw_only=True)
class NumberSeriesSet(Statement):
    """How bars, samples or seals are numbered from a time on."""

    numbers: str = fields.choice("Numbers", NUMBERED)
    prefix: str = fields.code(
        "Prefix", help="What every number begins with, such as E-; of a seal, up to -"
    )
    digits: int = fields.whole("Digits", low=1, high=10, help="With zeros in front")
    with_check: bool = fields.flag(
        "Check character",
        help="Whether one follows the digits, so that a slip of the pen shows",
    )
    from_at: datetime | None = fields.moment(
        "From", optional=True, help="From when this was said on, if left out"
    )

    def check(self, act: Act, state: State) -> None:
        """Refuse a series from the past, and seals whose prefix has no dash."""
        if self.from_at is not None and self.from_at < act.occurred_at:
            raise BadField(
                f"from_at: found {self.from_at.isoformat()}, which is past. Numbers"
                " said before would seem wrong: write a time still to come.",
                field="from_at",
            )
        if self.numbers == "seal" and not self.prefix.endswith("-"):
            raise BadField(
                f"prefix: found {self.prefix}; a seal's number is its series, a dash"
                " and a counter. Write the prefix with its dash, such as S-.",
                field="prefix",
            )

    def _series(self, act: Act) -> Series:
        return Series(
            prefix=self.prefix,
            digits=self.digits,
            with_check=self.with_check,
            from_at=act.at if self.from_at is None else utc_text(self.from_at),
        )

    def apply(self, act: Act, state: State) -> Iterator[Record]:
        """Yield the series beside those set before."""
        known = state.get(NumberSeries, self.numbers)
        before = () if known is None else known.series
        yield NumberSeries(
            numbers=self.numbers,
            series=(*before, self._series(act)),
            at=act.at,
            entry=act.entry,
        )

    def sentence(self) -> str:
        """Return what the journal reads aloud."""
        plain = Series(
            prefix=self.prefix,
            digits=self.digits,
            with_check=self.with_check,
            from_at="",
        )
        check = "with" if self.with_check else "without"
        since = "" if self.from_at is None else f" from {self.from_at:%Y-%m-%d %H:%M}"
        return (
            f"{self.numbers.capitalize()}s are numbered {check} a check character"
            f"{since}: the first of prefix {self.prefix} is {numbered(plain, 1)}."
        )
