"""Places, vessels and concentrators: the standing things that metal passes through.

A hopper is a vessel with marked fill volumes and, where it stands on load cells,
the cells, its tare and the density of its dry solids. A semi-continuous
concentrator flushes into a hopper; a continuous one never flushes, and is metered.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from decimal import Decimal

from goldroom.custody.act import Act
from goldroom.custody.lookups import the, wrong_sort
from goldroom.custody.names import sort_words
from goldroom.custody.presence import with_vessel
from goldroom.custody.records import (
    Concentrator,
    Instrument,
    Mark,
    Place,
    Record,
    SealPoint,
    Vessel,
)
from goldroom.custody.state import State
from goldroom.errors import AlreadyRegistered
from goldroom.statements import fields
from goldroom.statements.fields import BadField
from goldroom.statements.kind import Statement, kind

PLACE_SORTS = ("room", "bay", "vault", "laboratory", "mill", "refinery", "store")
VESSEL_SORTS = (
    "hopper", "drum", "tray", "bucket", "mould", "furnace", "safe", "box", "table",
    "tank", "cell", "leach_vessel", "filter", "retort",
)  # fmt: skip
UNIT_SORTS = ("semi_continuous", "continuous")
STAGES = ("rougher", "cleaner")


@kind("place.registered", group="standing", title="Place registered")
@dataclass(frozen=True, kw_only=True)
class PlaceRegistered(Statement):
    """A room, bay, vault, laboratory, mill or refinery where items can be."""

    place: str = fields.code("Place", help="A new id, such as gold_room")
    name: str = fields.text("Name")
    sort: str = fields.choice("Sort", PLACE_SORTS)

    def check(self, act: Act, state: State) -> None:
        """Refuse an id that is registered already."""
        _check_new(state.get(Place, self.place), self.place, "place")

    def apply(self, act: Act, state: State) -> Iterator[Record]:
        """Yield the place."""
        yield Place(place_id=self.place, name=self.name, sort=self.sort)

    def sentence(self) -> str:
        """Return what the journal reads aloud."""
        return f"{self.name} was registered as place {self.place} ({self.sort})."


@dataclass(frozen=True, kw_only=True)
class MarkRow:
    """A level mark and the volume below it."""

    mark: str = fields.code("Mark", help="As painted on the vessel")
    volume_m3: Decimal = fields.number(
        "Volume below the mark", "m3", low="0.001", high="1000", is_figure=False
    )


@kind("vessel.registered", group="standing", title="Vessel registered")
@dataclass(frozen=True, kw_only=True)
class VesselRegistered(Statement):
    """A hopper, drum, tray, furnace, safe or box, with the points that take seals."""

    vessel: str = fields.code("Vessel", help="A new id, such as H1")
    name: str = fields.text("Name")
    sort: str = fields.choice("Sort", VESSEL_SORTS)
    place: str = fields.code("Place", table="place")
    tare_kg: Decimal | None = fields.number(
        "Tare", "kg", high="100000", optional=True, is_figure=False,
        help="Of the empty vessel; needed for a hopper on load cells",
    )  # fmt: skip
    points: tuple[str, ...] = fields.codes(
        "Seal points", optional=True, help="Lid, drain, door: every way in"
    )
    load_cells: str | None = fields.code(
        "Load cells", table="instrument", optional=True, help="Under a hopper"
    )
    marks: tuple[MarkRow, ...] = fields.rows(
        "Marked fill volumes", MarkRow, optional=True, most=20, help="Of a hopper"
    )
    solids_density_kg_m3: Decimal | None = fields.number(
        "Density of the dry solids", "kg/m3", low="1001", high="20000", optional=True,
        is_figure=False, help="Of the concentrate the hopper takes",
    )  # fmt: skip

    def check(self, act: Act, state: State) -> None:
        """Refuse an id in use, an unknown place, and a hopper that cannot be read."""
        _check_new(state.get(Vessel, self.vessel), self.vessel, "vessel")
        the(state, Place, self.place, "place")
        hopper_only = (self.load_cells, self.marks, self.solids_density_kg_m3)
        if self.sort != "hopper":
            if any(hopper_only):
                raise BadField(
                    "sort: load cells, marks and a solids density are a hopper's;"
                    f" found them on a {self.sort}. Leave them out.",
                    field="sort",
                )
            return
        if not self.marks:
            raise BadField(
                "marks: a hopper is read at a marked level. Write at least one mark"
                " with its volume.",
                field="marks",
            )
        if self.load_cells is not None:
            self._check_cells(state, self.load_cells)

    def _check_cells(self, state: State, load_cells: str) -> None:
        cells = the(state, Instrument, load_cells, "load_cells")
        if cells.sort != "hopper_cells":
            raise wrong_sort("load_cells", load_cells, cells.sort, "hopper cells")
        for field, value in (
            ("tare_kg", self.tare_kg),
            ("solids_density_kg_m3", self.solids_density_kg_m3),
        ):
            if value is None:
                raise BadField(
                    f"{field}: a hopper on load cells needs its tare and the density"
                    " of its dry solids, or a reading says nothing. Write it.",
                    field=field,
                )

    def apply(self, act: Act, state: State) -> Iterator[Record]:
        """Yield the vessel, empty, its seal points bare, and that it stands there."""
        yield Vessel(
            vessel=self.vessel,
            name=self.name,
            sort=self.sort,
            place=self.place,
            tare_kg=self.tare_kg,
            points=tuple(SealPoint(point=point, seal="") for point in self.points),
            is_open=bool(self.points),
            contents=(),
            load_cells=self.load_cells or "",
            marks=tuple(
                Mark(mark=row.mark, volume_m3=row.volume_m3) for row in self.marks
            ),
            solids_density_kg_m3=self.solids_density_kg_m3,
            pending_flushes=(),
            last_level=None,
        )
        yield with_vessel(state, self.place, self.vessel)

    def sentence(self) -> str:
        """Return what the journal reads aloud."""
        sealed = f", sealed at {', '.join(self.points)}" if self.points else ""
        cells = f", on load cells {self.load_cells}" if self.load_cells else ""
        marks = "".join(
            f", mark {row.mark} at {row.volume_m3} m3" for row in self.marks
        )
        return (
            f"{self.name} was registered as {sort_words(self.sort)} {self.vessel} in"
            f" {self.place}{sealed}{cells}{marks}."
        )


@kind("concentrator.registered", group="standing", title="Concentrator registered")
@dataclass(frozen=True, kw_only=True)
class ConcentratorRegistered(Statement):
    """A spinning-bowl concentrator that flushes into a hopper, or a continuous one."""

    unit: str = fields.code("Unit", help="A new id, such as U1")
    name: str = fields.text("Name")
    sort: str = fields.choice("Sort", UNIT_SORTS)
    hopper: str | None = fields.code(
        "Hopper", table="vessel", optional=True, help="Where a flush goes"
    )
    counter_epoch: int = fields.whole(
        "Counter epoch", low=1, help="One more each time the counter starts again"
    )
    minimum_cycle_min: int = fields.whole("Shortest cycle", high=10000, unit="min")
    usual_flush_kg_min: Decimal | None = fields.number(
        "Usual flush, at least", "kg", optional=True, is_figure=False
    )
    usual_flush_kg_max: Decimal | None = fields.number(
        "Usual flush, at most", "kg", optional=True, is_figure=False
    )
    stage: str | None = fields.choice(
        "Stage", STAGES, optional=True, help="Of a continuous unit"
    )
    feeds: str | None = fields.code(
        "Feeds", optional=True, help="The unit or place a continuous unit feeds"
    )

    def check(self, act: Act, state: State) -> None:
        """Refuse an id in use, and a unit without what its sort needs."""
        _check_new(state.get(Concentrator, self.unit), self.unit, "unit")
        for field in ("hopper", "stage", "feeds"):
            is_wanted = (field == "hopper") == (self.sort == "semi_continuous")
            if is_wanted != (getattr(self, field) is not None):
                do = "needs it. Write it" if is_wanted else "has none. Leave it out"
                raise BadField(f"{field}: a {self.sort} unit {do}.", field=field)
        if self.hopper is not None:
            hopper = the(state, Vessel, self.hopper, "hopper")
            if hopper.sort != "hopper":
                raise wrong_sort("hopper", self.hopper, hopper.sort, "a hopper")
        if self.feeds is not None and state.get(Concentrator, self.feeds) is None:
            the(state, Place, self.feeds, "feeds")

    def apply(self, act: Act, state: State) -> Iterator[Record]:
        """Yield the unit, with nothing counted yet."""
        yield Concentrator(
            unit=self.unit,
            name=self.name,
            sort=self.sort,
            hopper=self.hopper or "",
            counter_epoch=self.counter_epoch,
            last_flush=0,
            last_cycle=0,
            minimum_cycle_min=self.minimum_cycle_min,
            usual_flush_kg_min=self.usual_flush_kg_min,
            usual_flush_kg_max=self.usual_flush_kg_max,
            stage=self.stage or "",
            feeds=self.feeds or "",
        )

    def sentence(self) -> str:
        """Return what the journal reads aloud."""
        if self.sort == "continuous":
            return (
                f"{self.name} was registered as continuous {self.stage} {self.unit};"
                f" it feeds {self.feeds} and is metered, not sealed."
            )
        return (
            f"{self.name} was registered as semi-continuous unit {self.unit}, flushing"
            f" into {self.hopper}; a cycle takes at least {self.minimum_cycle_min}"
            " minutes."
        )


def _check_new(known: Record | None, ident: str, field: str) -> None:
    if known is not None:
        raise AlreadyRegistered(
            f"{field}: {ident} is registered already. Choose another id.", field=field
        )
