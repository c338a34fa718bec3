"""What drying, calcining and retorting drove off: a mass that is not metal."""

from dataclasses import dataclass
from decimal import Decimal

from goldroom.custody.record import Record


@dataclass(frozen=True, kw_only=True)
class DrivenOff(Record):
    """A version of what heat drove off an item; `heated` is the entry that said it.

    `becomes` is the item that came out ("" if it kept its id). `before_g` is None
    where it was not weighed before; `mercury_g` is what the retort gave back (None
    outside a retort). None of it is gold or silver.
    """

    table = "driven_off"
    key_of = "{heated}/{version:03d}"
    heated: str
    version: int
    item: str
    becomes: str
    before_g: Decimal | None
    after_g: Decimal
    mercury_g: Decimal | None
    at: str
    entry: str
    known_at: str

    @property
    def driven_off_g(self) -> Decimal | None:
        """Return the grams that went, below 0 if it gained; None if not known."""
        return None if self.before_g is None else self.before_g - self.after_g
