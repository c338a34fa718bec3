"""Assays exchanged with the refinery, an umpire, and the melts settled.

Mine and refinery each assayed a portion of the same dip. For one melt they agree;
for the other their gold is just beyond the splitting limit, so the umpire opens the
portion kept sealed. How far the parties are apart is the story's; the refinery's
figure and the umpire's are drawn from the true metal, and what follows from them is
computed as the contract has it, exactly.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from decimal import Decimal
from typing import Any

from goldroom.demo import mine
from goldroom.demo.looking import shown
from goldroom.demo.room import Room, at, hands
from goldroom.demo.sampling import Divided, seen
from goldroom.demo.shifts import laboratory_hands
from goldroom.demo.shipping import Melt
from goldroom.demo.truth import Matter
from goldroom.metal.assay import fine_mass_g
from goldroom.metal.payable import Lot, charge_due, payable_g
from goldroom.metal.settlement import (
    Exchange,
    UmpireRule,
    splitting_limit_permille,
)

ACCOUNTS = hands(mine.ACCOUNTANT, mine.METALLURGIST)
CONTRACT = "RC-2026-4 (invented)"
IN_FORCE_AFTER_D = 14
EXCHANGE_D = 10
LIMITS = {"gold": "0.05", "silver": "0.20"}
"""Splitting limits in points of per cent."""
PAYABLE = {"gold": "99.9", "silver": "98"}
CHARGES = (
    ("treatment", "6.50", "kg_received"),
    ("refining", "0.30", "ozt_gold"),
    ("assays", "140", "melt"),
)
CURRENCY = "USD"
RULE = UmpireRule.MIDDLE_OF_THREE
APART = ((0.12, 0.38), (0.54, 0.68))
"""How many permille of gold the parties are apart, least and most: melt by melt."""
UMPIRE_U = 1e-4


def set_contract(room: Room, day: datetime) -> None:
    """Write the terms with the refinery, which hold from the middle of the month."""
    from_day = at(day, "00:00", days=IN_FORCE_AFTER_D)
    values = {
        "refinery": mine.REFINERY,
        "reference": CONTRACT,
        "effective_from": from_day.isoformat(),
        "basis": "exchange",
        "exchange_d": EXCHANGE_D,
        **{
            f"{metal}_splitting": {"limit": limit, "unit": "points"}
            for metal, limit in LIMITS.items()
        },
        "umpire_rule": RULE.value,
        "umpire_paid_by": "further",
        **{f"payable_{metal}_percent": share for metal, share in PAYABLE.items()},
        "melt_loss_percent": "0.1",
        "charges": [
            {"what": what, "amount": amount, "currency": CURRENCY, "per": per}
            for what, amount, per in CHARGES
        ],
    }
    room.diary.say(
        "contract", "refining_contract.set", values, at(day, "14:10"),
        hands(mine.SECURITY[0], mine.ACCOUNTANT),
    )  # fmt: skip


@dataclass
class Dealing:
    """One melt between mine and refinery, its sealed portions, and what each found."""

    melt: Melt
    samples: Divided
    mine: dict[str, Decimal]
    refiner: dict[str, Decimal]
    umpire: Decimal | None = None

    def decided(self) -> dict[str, Decimal]:
        """Return what the contract makes of the results, in permille."""
        found = {}
        for metal, limit in LIMITS.items():
            mines, refiners = self.mine[metal], self.refiner[metal]
            permille = splitting_limit_permille(
                mine=mines, buyer=refiners, limit=Decimal(limit), unit="points"
            )
            settled = Exchange(mines, refiners, permille).settle(self.umpire, RULE)
            assert settled.settled is not None, "an umpire is asked where they differ"
            found[metal] = settled.settled
        return found


class Settling:
    """What accountant and metallurgist write down of a shipment's melts."""

    def __init__(
        self, room: Room, melts: Sequence[Melt], divided: Sequence[Divided]
    ) -> None:
        """Take a shipment's melts and the portions that went with it."""
        self.room = room
        by_pour = {each.pour.n: each for each in divided}
        self.dealings = [
            self._dealing(melt, by_pour[melt.pour.n], apart)
            for melt, apart in zip(melts, APART, strict=True)
        ]

    def _dealing(
        self, melt: Melt, samples: Divided, apart: tuple[float, float]
    ) -> Dealing:
        chance, name = self.room.chance, melt.name
        refiner = {
            metal: Decimal(melt.said[f"{metal}_permille"])
            for metal in ("gold", "silver")
        }
        true = {metal: permille(melt.truth, metal) for metal in refiner}
        side = 1 if true["gold"] >= float(refiner["gold"]) else -1
        gold = float(refiner["gold"]) + side * chance.uniform(f"apart/{name}", *apart)
        silver = true["silver"] * (1 + 2e-3 * chance.error(f"party silver/{name}"))
        mines = {
            "gold": Decimal(shown(gold, "0.01")),
            "silver": Decimal(shown(silver, "0.01")),
        }
        return Dealing(melt, samples, mines, refiner)

    def write(self, day: datetime) -> None:
        """Write all that follows the melts, from the day they were exchanged on."""
        self._refiner_used(at(day, "13:30", days=-1))
        for n, each in enumerate(self.dealings):
            self._exchange(each, at(day, "10:20") + timedelta(minutes=15 * n))
        self._call_umpire(self.dealings[-1], day)
        for n, each in enumerate(self.dealings):
            settled_at = at(day, "11:40", days=4) + timedelta(minutes=20 * n)
            self._settle(each, settled_at)

    def _refiner_used(self, when: datetime) -> None:
        """Write what the refinery says that it used of its portions: all."""
        rows = [self._all_used(each.samples, "refiner") for each in self.dealings]
        values = {"laboratory": mine.REFINERY, "used": rows}
        self.room.diary.say(
            "refiner used", "sample.consumed", values, when,
            laboratory_hands(self.room),
        )  # fmt: skip

    def _all_used(self, samples: Divided, whose: str) -> dict[str, Any]:
        name = samples.portions[whose]
        return {
            "sample": name,
            "seal_cut": {**seen(samples.seals[whose]), "remains_kept": True},
            "used_g": shown(self.room.truth[name].dry_g, "0.01"),
        }

    def _exchange(self, each: Dealing, when: datetime) -> None:
        name = each.melt.name
        values = {
            "melt": name,
            "laboratory": "laboratory",
            "sampler": "dip-1",
            "unit": "permille",
            **{
                party: {
                    **{metal: str(figure) for metal, figure in found.items()},
                    "sample": each.samples.portions[party],
                    "method": "fire_assay",
                    "report": report,
                }
                for party, found, report in (
                    ("mine", each.mine, f"exchange letter {name} (invented)"),
                    ("refiner", each.refiner, f"outturn {name} (invented)"),
                )
            },
        }
        self.room.diary.say(
            f"exchanged/{name}", "assay.exchanged", values, when, ACCOUNTS
        )

    def _call_umpire(self, each: Dealing, day: datetime) -> None:
        """Write the sealed portion going to the umpire, used there, and the result."""
        room, name = self.room, each.melt.name
        portion = each.samples.portions["umpire"]
        seal_seen = seen(each.samples.seals["umpire"])
        values: dict[str, Any] = {
            "samples": [{"item": portion, "seal_seen": seal_seen}],
            "to": mine.UMPIRE,
            "received_by_outsider": "Corwin Ashby (invented), Thornmere Assay",
        }
        room.diary.say(
            f"to the umpire/{name}", "sample.moved", values,
            at(day, "09:10", days=1), room.crew(3),
        )  # fmt: skip
        values = {
            "laboratory": mine.UMPIRE,
            "umpire": f"for the gold of {name}, by both parties' letter of"
            f" {day:%d %B} (invented)",
            "used": [self._all_used(each.samples, "umpire")],
        }
        room.diary.say(
            f"umpire used/{name}", "sample.consumed", values,
            at(day, "14:30", days=2), laboratory_hands(room),
        )  # fmt: skip
        error = UMPIRE_U * room.chance.error(f"umpire/{name}")
        gold = permille(each.melt.truth, "gold") * (1 + error)
        each.umpire = Decimal(shown(gold, "0.01"))
        values = {
            "melt": name,
            "laboratory": mine.UMPIRE,
            "sample": portion,
            "method": "fire_assay",
            "unit": "permille",
            "gold": str(each.umpire),
            "report": f"umpire's certificate U-{each.melt.pour.n:03d} (invented)",
        }
        room.diary.say(
            f"umpired/{name}", "umpire.reported", values,
            at(day, "15:50", days=3), ACCOUNTS,
        )  # fmt: skip

    def _settle(self, each: Dealing, when: datetime) -> None:
        said, name = each.melt.said, each.melt.name
        mass_g, decided = Decimal(said["after_melt_g"]), each.decided()
        fine = {
            metal: fine_mass_g(mass_g=mass_g, fineness_permille=figure)
            for metal, figure in decided.items()
        }
        lot = Lot(
            received_g=Decimal(said["as_received_g"]),
            melted_g=mass_g,
            gold_g=fine["gold"],
            silver_g=fine["silver"],
        )
        credited = {
            metal: payable_g(
                mass_g=mass_g,
                fineness_permille=figure,
                payable_percent=Decimal(PAYABLE[metal]),
            )
            for metal, figure in decided.items()
        }
        values = {
            "melt": name,
            "statement": f"settlement {name} (invented)",
            "settlement_mass_g": said["after_melt_g"],
            **{f"{metal}_permille": str(each) for metal, each in decided.items()},
            "credited_unit": "g",
            **{f"credited_{metal}": str(each) for metal, each in credited.items()},
            "charges": [
                {
                    "what": what,
                    "amount": str(charge_due(amount=Decimal(amount), per=per, lot=lot)),
                    "currency": CURRENCY,
                }
                for what, amount, per in CHARGES
            ],
        }
        self.room.diary.say(f"settled/{name}", "melt.settled", values, when, ACCOUNTS)


def permille(matter: Matter, metal: str) -> float:
    """Return the true fineness of metal in permille."""
    return 1000 * matter.content(metal)
