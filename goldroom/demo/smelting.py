"""The weekly smelt: a charge, its pour, bars, slag, and what the laboratory says."""

from dataclasses import dataclass, field
from datetime import datetime, timedelta
from typing import Any

from goldroom.demo import mine
from goldroom.demo.looking import BARS
from goldroom.demo.room import Room, at, hands
from goldroom.demo.shifts import report_assay
from goldroom.demo.truth import Matter, pour, together

BAR_G = 2600.0
"""A usual bar; a melt is shared among as many moulds as it takes."""
SLAG_POT_TARE_G = 3400.0
SLAG_GUESS_U = 0.25
FLUXES = (("borax", 0.45), ("soda ash", 0.20), ("silica", 0.15), ("nitre", 0.05))
FIRST_STAMP = 412


@dataclass
class Pour:
    """A pour, and the items it gave."""

    n: int
    day: datetime
    bars: list[str] = field(default_factory=list)
    stamps: dict[str, str] = field(default_factory=dict)
    samples: list[str] = field(default_factory=list)

    def item(self, what: str) -> str:
        """Return the id of the charge or of something it gave."""
        return f"{what}-{self.n:02d}"


def smelt(room: Room, day: datetime, turn: int) -> Pour:
    """Write a whole smelt day; return the pour."""
    made = Pour(room.number("charge"), day)
    check_weigh(room, mine.BULLION, "5000", f"smelt/{made.n}", at(day, "07:10"), turn)
    charged = _charge(room, made, turn)
    slag = _pour(room, made, charged, turn)
    _number_bars(room, made, turn)
    _weigh_slag(room, made, slag, turn + 1)
    _quick_assay(room, made)
    _place(room, made, turn)
    return made


def check_weigh(
    room: Room,
    scale: mine.Scale,
    nominal_g: str,
    name: str,
    when: datetime,
    turn: int,
    **more: Any,
) -> str:
    """Write a check weight on a scale; return what it read.

    `off_g` makes it read wrong.
    """
    off_g = float(more.get("off_g", 0.0))
    reading = room.look.reading(scale, float(nominal_g) + off_g, f"check/{name}")
    values = {
        "reading": reading,
        "nominal_g": nominal_g,
        "weight_class": "F1" if scale is mine.BULLION else "M1",
        "weight": f"CW-{scale.instrument}",
    }
    room.diary.say(
        f"check/{name}", "instrument.check_weighed", values, when, room.crew(turn)
    )
    return str(reading["reading"])


def _charge(room: Room, made: Pour, turn: int) -> Matter:
    sources = list(room.in_concentrate_safe)
    room.in_concentrate_safe.clear()
    whole = together(room.truth[each] for each in sources)
    values = {
        "charge": made.item("CH"),
        "furnace": mine.FURNACE,
        "crucible": f"A{1 + (made.n - 1) // 6}",
        "crucible_uses": (made.n - 1) % 6,
        "opened": room.seals.open(mine.CONCENTRATE_SAFE),
        "sources": [{"item": each} for each in sources],
        "fluxes": [
            {"flux": flux, "mass_kg": f"{whole.dry_g * share / 1000:.1f}"}
            for flux, share in FLUXES
        ],
        "closed": room.seals.close((mine.CONCENTRATE_SAFE, "door")),
    }
    room.diary.say(
        f"charge/{made.n}", "charge.made_up", values, at(made.day, "07:45"),
        room.crew(turn),
    )  # fmt: skip
    return whole


def _pour(room: Room, made: Pour, charged: Matter, turn: int) -> Matter:
    name = made.item("CH")
    count = max(2, round(charged.gold_g * 1.17 / BAR_G))
    products = pour(room.chance, name, charged, count)
    made.bars += [f"{name}-{n}" for n in range(1, count + 1)]
    made.samples += [room.sample(f"{made.item('DIP')}-{n}") for n in (1, 2)]
    truths = zip(
        (*made.bars, *made.samples), (*products.bars, *products.samples), strict=True
    )
    room.truth.update(truths)
    values = {
        "charge": name,
        "place": "gold_room",
        "tapped_at": at(made.day, "11:20").isoformat(),
        "temperature_c": f"{room.chance.whole(f'heat/{name}', 1180, 1240)}",
        "castings": [
            {"item": bar, "mould": f"M{n}"} for n, bar in enumerate(made.bars, start=1)
        ],
        "slag": made.item("SLG"),
        "samples": [
            {
                "item": sample,
                "taken_by": "dip",
                "mass": room.look.reading(
                    mine.SMALL, room.truth[sample].dry_g, f"mass/{sample}"
                ),
            }
            for sample in made.samples
        ],
    }
    room.diary.say(
        f"pour/{made.n}", "charge.poured", values, at(made.day, "11:25"),
        room.crew(turn),
    )  # fmt: skip
    return products.slag


def _number_bars(room: Room, made: Pour, turn: int) -> None:
    when = at(made.day, "14:20")
    for bar in made.bars:
        made.stamps[bar] = f"OF-{FIRST_STAMP + room.number('stamp') - 1:04d}"
        mass_g = room.truth[bar].dry_g
        values = {
            "item": bar,
            "stamped": made.stamps[bar],
            "first": room.look.reading(mine.BULLION, mass_g, f"first/{bar}"),
            "second": room.look.reading(mine.BULLION, mass_g, f"second/{bar}"),
        }
        room.diary.say(f"bar/{bar}", "bar.numbered", values, when, room.crew(turn + 1))
        when += timedelta(minutes=8)


def _weigh_slag(room: Room, made: Pour, slag: Matter, turn: int) -> None:
    item = made.item("SLG")
    room.truth[item] = slag
    gold_g = room.look.guess_g(slag.gold_g, SLAG_GUESS_U, f"gold/{item}")
    silver_g = room.look.guess_g(slag.silver_g, SLAG_GUESS_U, f"silver/{item}")
    values = {
        "item": item,
        "gross": room.look.reading(
            mine.PLATFORM, slag.dry_g + SLAG_POT_TARE_G, f"gross/{item}"
        ),
        "tare": room.look.reading(mine.PLATFORM, SLAG_POT_TARE_G, f"tare/{item}"),
        "gold_g": gold_g,
        "gold_u_g": f"{SLAG_GUESS_U * float(gold_g):.1f}",
        "silver_g": silver_g,
        "silver_u_g": f"{SLAG_GUESS_U * float(silver_g):.1f}",
        "method": "panned assay of the last ten slags, prills taken out",
    }
    room.diary.say(
        f"slag/{item}", "slag.weighed", values, at(made.day, "15:10"), room.crew(turn)
    )


def release_slag(room: Room, made: Pour, turn: int, *, after_d: int) -> None:
    """Write the slag's going back to the mill, some days after the pour."""
    values = {"item": made.item("SLG"), "goes_to": "mill"}
    when = at(made.day, "10:30", days=after_d)
    room.diary.say(f"release/{made.n}", "slag.released", values, when, room.crew(turn))


def _quick_assay(room: Room, made: Pour) -> None:
    """Write the spectrometer's figures of the same day, bar by bar."""
    rows = [
        {
            "items": [bar],
            "sample": f"K-{bar}",
            "unit": "permille",
            **{
                metal: room.look.spectrometer(room.truth[bar], metal, bar)
                for metal in ("gold", "silver")
            },
        }
        for bar in made.bars
    ]
    values = {
        "laboratory": "laboratory",
        "method": "spectrometer",
        "standing": "provisional",
        "sampler": BARS.sampler,
        "results": rows,
    }
    room.diary.say(
        f"quick assay/{made.n}", "assay.reported", values, at(made.day, "15:40"),
        (*hands(mine.LABORATORY), room.crew(made.n)[0]),
    )  # fmt: skip


def assay_bars(room: Room, made: Pour, *, after_d: int) -> None:
    """Write the fire assay of the dip samples, which speaks for the whole melt."""
    sample = made.item("K-DIP")
    melt = together(room.truth[bar] for bar in made.bars)
    row = {
        "items": [*made.bars, *made.samples],
        "sample": sample,
        "unit": "permille",
        **room.look.contents(BARS, melt, sample=sample, assay=sample),
    }
    when = at(made.day, "16:30", days=after_d)
    report_assay(room, f"fire assay/{made.n}", BARS, [row], when)


def _place(room: Room, made: Pour, turn: int) -> None:
    values = {
        "safe": mine.BAR_SAFE,
        "opened": room.seals.open(mine.BAR_SAFE),
        "items": list(made.bars),
        "closed": room.seals.close((mine.BAR_SAFE, "door")),
    }
    room.in_bar_safe += [made.stamps[bar] for bar in made.bars]
    officer = room.crew(turn)[0][0]
    room.diary.say(
        f"vault/{made.n}", "vault.placed", values, at(made.day, "16:10"),
        hands(officer, mine.SECURITY[made.n % 2]),
    )  # fmt: skip
