"""The accountant's month: a tighter budget, a count, its rolling, and the closing.

The period's figures are no part of the story: they are asked of the ledger when the
line is said, as the accountant would. It is closed before the last day's loads are
assayed, so its figures are provisional.
"""

from dataclasses import dataclass, field
from datetime import datetime, timedelta
from typing import Any

from goldroom.demo import mine, story
from goldroom.demo.diary import Mark
from goldroom.demo.liquor import wash_cathodes
from goldroom.demo.lots import TRAY_TARE_G
from goldroom.demo.room import Room, at, hands
from goldroom.demo.truth import together
from goldroom.demo.winning import HEEL, LOAD, CellWork
from goldroom.reports.closing import closing
from ledger.core.base64text import to_base64

RUVI, HALE = mine.SECURITY
HEEL_GUESS_U = 0.15
AUDITOR = "Maud Ellingworth of Tarn and Ellingworth, auditors (both invented)"


@dataclass
class MonthEnd:
    """What the accountant keeps in mind from the count to the closing."""

    room: Room
    cell: CellWork
    first: datetime
    counted: list[str] = field(default_factory=list)
    count: str = ""

    def in_the_morning(self, day: datetime, n: int) -> None:
        """Write what is done before the table runs."""
        if n == story.BUDGET_DAY:
            self._tighten_budget(day)
        if n == story.STOCK_COUNT_DAY:
            self._count(day)
            self._estimate_heel(day)

    def later(self, day: datetime, n: int) -> None:
        """Write what the accountant does once the month is over."""
        if n == story.LAST_DAY:
            self._roll(day)
            self._close(day)

    def _tighten_budget(self, day: datetime) -> None:
        """Write what bars' gold assays repeat to, from the next day's cut-off on."""
        values = {
            "in_force_from": at(day, mine.DAY_START, days=1).isoformat(),
            "rows": [
                {
                    "quantity": "bullion_assay_gold",
                    "random_u": "0.0004",
                    "basis": "relative",
                    "shared_u": "0.002",
                    "shared_basis": "relative",
                    "evidence": "12 duplicates of dip samples repeat to 0.04 %; 12"
                    " proofs show no more than the method's own spread, so what all"
                    " assays share stays as it was until an outside laboratory has had"
                    " some of them",
                }
            ],
        }
        self.room.diary.say(
            "budget", "error_budget.set", values, at(day, "13:50"),
            hands(HALE, mine.ACCOUNTANT),
        )  # fmt: skip

    def _count(self, day: datetime) -> None:
        """Write the concentrate safe counted blind, each thing weighed again."""
        room, safe = self.room, mine.CONCENTRATE_SAFE
        self.counted = list(room.in_concentrate_safe)
        seen = room.seals.seen(safe)
        found = [
            {
                "thing": item,
                "gross": room.look.reading(
                    mine.BENCH, room.truth[item].dry_g + TRAY_TARE_G, f"again/{item}"
                ),
                "tare": room.look.reading(mine.BENCH, TRAY_TARE_G, f"tray/{item}"),
            }
            for item in self.counted
        ]
        values: dict[str, Any] = {
            "vessel": safe,
            "seals_seen": seen,
            "opened": room.seals.open(safe),
            "found": found,
            "closed": room.seals.close((safe, "door")),
        }
        self.count = room.diary.say(
            "month-end count", "stock.counted", values, at(day, "11:20"),
            hands(mine.ACCOUNTANT, RUVI),
        )  # fmt: skip

    def _estimate_heel(self, day: datetime) -> None:
        """Write what is left on the cathodes, judged again with more to go by."""
        room = self.room
        _, heel = wash_cathodes(room.chance, LOAD, together(self.cell.plated))
        gold_g = room.look.guess_g(heel.gold_g, HEEL_GUESS_U, "heel again")
        silver_g = room.look.guess_g(heel.silver_g, HEEL_GUESS_U, "heel again silver")
        values = {
            "item": HEEL,
            "gold_g": gold_g,
            "gold_u_g": f"{HEEL_GUESS_U * float(gold_g):.1f}",
            "silver_g": silver_g,
            "silver_u_g": f"{HEEL_GUESS_U * float(silver_g):.1f}",
            "method": "by eye through the grille, the cell's seal whole, beside a"
            " cathode of the same film that the laboratory stripped",
        }
        room.diary.say(
            "heel again", "stock.estimated", values, at(day, "14:25"),
            hands(mine.METALLURGIST, HALE),
        )  # fmt: skip

    def _roll(self, day: datetime) -> None:
        """Write the count rolled over what the table put into the safe since."""
        room = self.room
        came = [each for each in room.in_concentrate_safe if each not in self.counted]
        values = {
            "count": self.count,
            "cut_off": at(day, mine.DAY_START, days=1).isoformat(),
            "movements": [
                {
                    "entry": room.chance.entry_id(f"table/{int(item[-3:])}"),
                    "item": item,
                }
                for item in came
            ],
        }
        room.diary.say(
            "count rolled", "stock.rolled", values, at(day, "10:40", days=1),
            hands(mine.ACCOUNTANT, mine.METALLURGIST),
        )  # fmt: skip

    def _close(self, day: datetime) -> None:
        """Write the month's closing, and the copy that the auditor took."""
        diary, names = self.room.diary, hands(mine.ACCOUNTANT, mine.METALLURGIST)
        closed_at = at(day, "11:40", days=1)
        diary.ask_and_say(
            "month closed", "period.closed", self._figures, closed_at, names
        )
        diary.ask_and_say(
            "auditor's copy", "export.made", _copy, closed_at + timedelta(minutes=35),
            hands(RUVI, mine.ACCOUNTANT),
        )  # fmt: skip

    def _figures(self, mark: Mark) -> dict[str, Any]:
        """Return what `close_period` would print at this moment."""
        return closing(
            mark.ledger_id,
            first_day=self.first.date(),
            last_day=self.first.date() + timedelta(days=story.LAST_DAY),
        )


def _copy(mark: Mark) -> dict[str, Any]:
    """Return the full export that somebody takes at this moment."""
    return {
        "taken_by": AUDITOR,
        "purpose": "the group's audit of the month just closed",
        "size": mark.size,
        "root": to_base64(mark.root),
        "medium": "stick 14, in the auditor's sealed envelope",
    }
