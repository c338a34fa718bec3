"""Seals by series: how many are fitted, used up, still to be used, or void."""

from collections.abc import Iterable
from dataclasses import dataclass

from goldroom.custody.records import Seal
from goldroom.reports import rows


@dataclass(frozen=True, kw_only=True)
class SealSeries:
    """The seals of one series, by number; `unused` were issued and never fitted."""

    series: str
    first: str
    last: str
    issued_to: tuple[str, ...]
    unused: tuple[str, ...]
    fitted: tuple[str, ...]
    removed: int
    void: tuple[str, ...]

    @property
    def count(self) -> int:
        """Return how many seals of the series were ever issued."""
        return len(self.unused) + len(self.fitted) + self.removed + len(self.void)


def seals_stock(ledger_id: int) -> tuple[SealSeries, ...]:
    """Return every series of seals that was issued, by its name."""
    found: dict[str, list[Seal]] = {}
    for seal in rows.every(ledger_id, Seal):
        found.setdefault(seal.series, []).append(seal)
    return tuple(_series(name, seals) for name, seals in sorted(found.items()))


def _series(name: str, seals: list[Seal]) -> SealSeries:
    return SealSeries(
        series=name,
        first=seals[0].seal,
        last=seals[-1].seal,
        issued_to=tuple(sorted({each.issued_to for each in seals if each.issued_to})),
        unused=_numbers(seals, "issued"),
        fitted=_numbers(seals, "fitted"),
        removed=len(_numbers(seals, "removed")),
        void=_numbers(seals, "void"),
    )


def _numbers(seals: Iterable[Seal], status: str) -> tuple[str, ...]:
    return tuple(each.seal for each in seals if each.status == status)
