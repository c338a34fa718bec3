"""Every shipment in a line: who carries what where, and how far it has come."""

from dataclasses import dataclass

from goldroom.custody.records import Shipment
from goldroom.reports import rows
from goldroom.reports.journal import lines_of
from goldroom.reports.metal import site_clock
from goldroom.reports.people import names


@dataclass(frozen=True, kw_only=True)
class ShipmentLine:
    """A shipment. `at` is when its last statement was made, by the site's clock.

    `advised_seq` is the entry that announced it, `advised_by` who signed that.
    """

    shipment: str
    status: str
    refinery: str
    carrier: str
    bars: int
    at: str
    advised_seq: int | None
    advised_by: tuple[str, ...]

    @property
    def has_left(self) -> bool:
        """Tell whether the bars were handed over."""
        return self.status != "advised"


def shipment_lines(ledger_id: int) -> tuple[ShipmentLine, ...]:
    """Return every shipment, the newest first."""
    found = sorted(rows.every(ledger_id, Shipment), key=lambda each: each.at)
    lines = lines_of(ledger_id, (each.entry for each in found))
    known, clock = names(ledger_id), site_clock(ledger_id)
    return tuple(
        ShipmentLine(
            shipment=each.shipment,
            status=each.status,
            refinery=known.place(each.refinery),
            carrier=each.carrier,
            bars=len(each.items),
            at=clock.wall_text(each.at),
            advised_seq=lines[each.entry].seq if each.entry in lines else None,
            advised_by=lines[each.entry].people if each.entry in lines else (),
        )
        for each in reversed(found)
    )
