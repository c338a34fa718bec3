"""Seals apart from any other act: issued as a range, fitted, inspected, removed.

A seal is used once. Its number is its series and a counter of fixed width
(`S-0041`). Kinds that open or close a vessel carry their own rows of seals; these
are for a seal alone, such as one found broken and replaced.
"""

from collections.abc import Iterator
from dataclasses import dataclass

from goldroom.custody import seals
from goldroom.custody.act import Act
from goldroom.custody.lookups import the
from goldroom.custody.number_series import NumberSeries
from goldroom.custody.numbers import is_whole, series_of
from goldroom.custody.records import Person, Record, Seal
from goldroom.custody.state import State
from goldroom.errors import AlreadyRegistered, CheckCharacterWrong
from goldroom.statements import fields
from goldroom.statements.kind import Statement, kind
from goldroom.statements.numbering import check_range, numbers_of
from goldroom.statements.sealing import (
    SealFittedRow,
    SealRemovedRow,
    SealSeenRow,
    ceremony,
    check_ceremony,
    check_seen,
    fitted_field,
    fitted_words,
    removed_field,
    removed_words,
    restay,
    seen_field,
    seen_words,
)


@kind("seals.issued", group="standing", title="Seals issued", can_void=True)
@dataclass(frozen=True, kw_only=True)
class SealsIssued(Statement):
    """A range of numbered seals handed to the person who keeps them."""

    series: str = fields.code("Series", help="What stands before the number, such as S")
    first: int = fields.whole("First number", low=1)
    last: int = fields.whole("Last number", low=1)
    digits: int | None = fields.whole(
        "Digits", low=1, high=10, optional=True, help="4 if left out, with zeros"
    )
    with_check: bool | None = fields.flag(
        "Check character", optional=True, help="Whether one follows the digits"
    )
    issued_to: str = fields.code("Issued to", table="person")

    def check(self, act: Act, state: State) -> None:
        """Refuse a range upside down, too long, not of its series, or issued before."""
        check_range(self.first, self.last, "seals")
        the(state, Person, self.issued_to, "issued_to")
        self._check_series(act, state)
        for number in self.numbers():
            if state.get(Seal, number) is not None:
                raise AlreadyRegistered(
                    f"first: seal {number} was issued before. Read the range off the"
                    " box again.",
                    field="first",
                )

    def _check_series(self, act: Act, state: State) -> None:
        number = self.numbers()[0]
        series = series_of(state.get(NumberSeries, "seal"), number, act.at)
        if series is not None and series.with_check and not is_whole(series, number):
            raise CheckCharacterWrong(
                f"with_check: the first seal would be {number}, but seals of series"
                f" {series.prefix} have {series.digits} digits and a check character."
                " Look at a seal of the box, and write with_check and digits so.",
                field="with_check",
            )

    def numbers(self) -> list[str]:
        """Return every seal number of the range."""
        return numbers_of(
            self.series,
            self.first,
            self.last,
            self.digits,
            with_check=bool(self.with_check),
        )

    def apply(self, act: Act, state: State) -> Iterator[Record]:
        """Yield the seals, unused."""
        for number in self.numbers():
            yield Seal(
                seal=number,
                status="issued",
                series=self.series,
                issued_to=self.issued_to,
                vessel="",
                point="",
                fitted_entry="",
                removed_entry="",
            )

    def sentence(self) -> str:
        """Return what the journal reads aloud."""
        numbers = self.numbers()
        return (
            f"Seals {numbers[0]} to {numbers[-1]} ({len(numbers)} seals) were issued"
            f" to {self.issued_to}."
        )


@kind("seal.fitted", group="room", title="Seal fitted", can_void=True)
@dataclass(frozen=True, kw_only=True)
class SealFitted(Statement):
    """Seals put on a vessel's bare points."""

    vessel: str = fields.code("Vessel", table="vessel")
    seals_fitted: tuple[SealFittedRow, ...] = fitted_field()
    reason: str | None = fields.text("Reason", optional=True)

    def check(self, act: Act, state: State) -> None:
        """Refuse seals that cannot be fitted there."""
        check_ceremony(state, self.vessel, fitted=self.seals_fitted)

    def apply(self, act: Act, state: State) -> Iterator[Record]:
        """Yield the seals on, and the contents' stay under them."""
        yield from ceremony(state, act, self.vessel, fitted=self.seals_fitted)
        yield from restay(state, act, self.vessel)

    def sentence(self) -> str:
        """Return what the journal reads aloud."""
        why = f": {self.reason}" if self.reason else ""
        return f"{self.vessel} was sealed, {fitted_words(self.seals_fitted)}{why}."


@kind("seal.inspected", group="room", title="Seals inspected")
@dataclass(frozen=True, kw_only=True)
class SealInspected(Statement):
    """Seals looked at: the numbers read and the tamper signs seen."""

    vessel: str = fields.code("Vessel", table="vessel")
    seals_seen: tuple[SealSeenRow, ...] = seen_field()

    def check(self, act: Act, state: State) -> None:
        """Refuse an unknown vessel or point."""
        check_seen(state, self.vessel, self.seals_seen)

    def apply(self, act: Act, state: State) -> Iterator[Record]:
        """Yield what was found that should not be."""
        yield from seals.seen(state, act, self.vessel, self.seals_seen)

    def sentence(self) -> str:
        """Return what the journal reads aloud."""
        return f"Seals on {self.vessel} were read: {seen_words(self.seals_seen)}."


@kind("seal.removed", group="room", title="Seal removed")
@dataclass(frozen=True, kw_only=True)
class SealRemoved(Statement):
    """Seals taken off a vessel, with the reason, and any put on in their place."""

    vessel: str = fields.code("Vessel", table="vessel")
    seals_removed: tuple[SealRemovedRow, ...] = removed_field()
    reason: str = fields.text("Reason")
    seals_fitted: tuple[SealFittedRow, ...] = fitted_field(
        "Seals fitted in their place", optional=True
    )

    def check(self, act: Act, state: State) -> None:
        """Refuse an unknown point, and seals that cannot be fitted there."""
        check_ceremony(
            state, self.vessel, fitted=self.seals_fitted, removed=self.seals_removed
        )

    def apply(self, act: Act, state: State) -> Iterator[Record]:
        """Yield the seals off and on, and the contents' stay since."""
        yield from ceremony(
            state,
            act,
            self.vessel,
            fitted=self.seals_fitted,
            removed=self.seals_removed,
        )
        yield from restay(state, act, self.vessel)

    def sentence(self) -> str:
        """Return what the journal reads aloud."""
        instead = ""
        if self.seals_fitted:
            instead = f" In their place: {fitted_words(self.seals_fitted)}."
        return (
            f"Seals were taken off {self.vessel}: {removed_words(self.seals_removed)};"
            f" reason: {self.reason}.{instead}"
        )
