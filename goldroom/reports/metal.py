"""What reports need to speak of metal: the records, the site's clock, figures.

Figures are shown to the digits that their uncertainty justifies: two significant
digits of u, and the value to the same place.
"""

from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal

from goldroom.custody.act import utc_text
from goldroom.errors import Refusal
from goldroom.metal.rounding import to_milligram
from goldroom.reconcile.amounts import Amount, decimal_text, shown_u, shown_value
from goldroom.reconcile.ledger_records import LedgerRecords
from goldroom.reconcile.production_days import SiteClock
from goldroom.reports.kept import worked_out
from ledger import read

G_PER_KG = Decimal(1000)
STANDING_WORDS = {"party": "the mine's", "refiner": "the refiner's"}
"""Whose figure an assay is, where its standing is a party to a settlement."""


class NothingRecorded(Refusal):
    """The ledger has no entry yet, so there is nothing to report on."""

    code = "nothing_recorded"


@dataclass(frozen=True, kw_only=True)
class Figure:
    """Grams to the milligram with their standard uncertainty, and as shown.

    All are decimal texts, None where nothing in the record tells.
    """

    grams: str | None
    u_g: str | None
    shown: str | None
    u_shown: str | None

    def __str__(self) -> str:
        """Return the figure as shown: "1234.5 ± 1.2 g", or "not known"."""
        if self.shown is None:
            return "not known"
        spread = f" ± {self.u_shown}" if self.u_shown != "0" else ""
        return f"{self.shown}{spread} g"


NOT_KNOWN = Figure(grams=None, u_g=None, shown=None, u_shown=None)


def figure_of(amount: Amount | None) -> Figure:
    """Return an amount as a figure."""
    if amount is None:
        return NOT_KNOWN
    return Figure(
        grams=format(to_milligram(amount.posted_g), "f"),
        u_g=decimal_text(amount.u_g),
        shown=shown_value(amount.posted_g, amount.u_g),
        u_shown=shown_u(amount.u_g),
    )


def grams_text(grams: Decimal) -> str:
    """Return weighed grams without the zeros at the end: "12345.6"."""
    text = format(grams, "f")
    return text.rstrip("0").rstrip(".") if "." in text else text


def mass_text(grams: Decimal) -> str:
    """Return a weighed mass in kilograms from ten of them on, in grams below."""
    if abs(grams) >= 10 * G_PER_KG:
        return f"{grams_text(grams / G_PER_KG)} kg"
    return f"{grams_text(grams)} g"


def standing_text(standing: str) -> str:
    """Return an assay's standing as people say it: "the mine's", "final"."""
    return STANDING_WORDS.get(standing, standing)


def ledger_records(ledger_id: int) -> LedgerRecords:
    """Return what a reconciliation reads, from the read tables, in one query."""
    return worked_out(ledger_id).records


def site_clock(ledger_id: int) -> SiteClock:
    """Return the site's zone and production-day start, as the opening entry says.

    Raises NothingRecorded.
    """
    opening = read.keyring(ledger_id).opening
    if opening is None:
        raise NothingRecorded("This ledger has no entries yet. Open it first.")
    return SiteClock(opening.time_zone, opening.production_day_start)


def last_known_at(ledger_id: int) -> str:
    """Return when the ledger learned of its last entry, as UTC text to the second."""
    return utc_text(datetime.fromisoformat(read.head(ledger_id).at))
