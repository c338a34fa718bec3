"""A small book of a gold room for tests, written with custody's own moves. Invented.

    book = Book()
    book.load("L1", grams="20000", gold="2000", at="2026-10-01T08:00:00Z")
    report = book.reconcile()

Each method is one act: it makes the records that the statement of that act makes.
"""

from collections.abc import Iterable, Sequence
from datetime import datetime, timedelta
from decimal import Decimal
from itertools import count

from goldroom.custody import figures, moves
from goldroom.custody.act import Act
from goldroom.custody.records import (
    Calibration,
    Flush,
    GravityModel,
    Instrument,
    Item,
    MillDay,
    Record,
    Term,
)
from goldroom.custody.state import State
from goldroom.metal.starting_uncertainties import WELL_RUN
from goldroom.reconcile.budget import Budget
from goldroom.reconcile.ledger_records import LedgerRecords
from goldroom.reconcile.period import Period, PeriodReport, reconcile

ZONE = "Africa/Johannesburg"
OCTOBER = ("2026-10-01T04:00:00Z", "2026-11-01T04:00:00Z")
LATER = "2027-06-01T00:00:00Z"
WELL = Budget(WELL_RUN)


def instrument(
    name: str, sort: str, *, reading_u_g: str = "0", slope_u: str = "0"
) -> Instrument:
    """Return an instrument with one calibration in force."""
    calibration = Calibration(
        calibration_id=f"{name}-c1",
        from_at="2026-01-01T00:00:00Z",
        due_at="2028-01-01T00:00:00Z",
        slope_u_relative=Decimal(slope_u),
        reading_u_g=Decimal(reading_u_g),
        place="gold_room",
    )
    return Instrument(
        instrument=name,
        name=name,
        sort=sort,
        unit="kg",
        interval=Decimal("0.1"),
        capacity=Decimal(600),
        place="gold_room",
        blocked="",
        calibrations=(calibration,),
    )


class Book:
    """A state with two scales and whatever the test writes into it."""

    def __init__(self) -> None:
        self.state = State()
        self.numbers = count(1)
        self.put(
            instrument("PS1", "platform_scale", reading_u_g="300", slope_u="0.001"),
            instrument("BU1", "bullion_balance", reading_u_g="0.2", slope_u="0.00002"),
        )

    def put(self, *records: Record) -> None:
        for record in records:
            self.state.put(record)

    def _hold(self, records: Iterable[Record]) -> None:
        for record in records:
            self.state.put(record)

    def act(self, at: str, known: str = "") -> Act:
        occurred = datetime.fromisoformat(at)
        learned = datetime.fromisoformat(known) if known else occurred
        return Act(
            entry=f"e{next(self.numbers):05d}",
            kind="test.done",
            klass="two",
            occurred_at=occurred,
            received_at=learned + timedelta(0),
            hands=(),
        )

    def data(self) -> LedgerRecords:
        return LedgerRecords.from_held(self.state.all_held())

    def reconcile(
        self,
        from_at: str = OCTOBER[0],
        to_at: str = OCTOBER[1],
        *,
        as_known_at: str = LATER,
        budget: Budget = WELL,
    ) -> PeriodReport:
        period = Period(from_at, to_at, as_known_at, ZONE, "06:00")
        return reconcile(self.data(), period, budget)

    # --- acts ---------------------------------------------------------------

    def make(
        self,
        item: str,
        sort: str,
        *,
        step: str,
        at: str,
        from_step: str = "",
        parents: Sequence[str] = (),
        source: str = "gravity",
        is_opening: bool = False,
        act: Act | None = None,
        known: str = "",
    ) -> Act:
        done = act or self.act(at, known)
        self._hold(
            moves.make(
                self.state,
                done,
                moves.NewItem(
                    item=item,
                    sort=sort,
                    step=step,
                    from_step=from_step,
                    parents=tuple(parents),
                    source=source,
                    is_opening=is_opening,
                ),
            )
        )
        return done

    def weigh(
        self,
        item: str,
        grams: str,
        act: Act,
        *,
        scale: str = "PS1",
        wanted_for: str = "lot",
        moisture: str | None = None,
        terms: tuple[Term, ...] | None = None,
    ) -> None:
        read = terms or (
            figures.term(
                self.state,
                act,
                path=f"{item}.gross",
                instrument=scale,
                grams=Decimal(grams),
            ),
        )
        determined = None
        if moisture is not None:
            determined = figures.Moisture(
                percent=Decimal(moisture),
                determination=f"{act.entry}.{item}.wet",
                oven="OV1",
            )
        self._hold(
            figures.mass(
                self.state,
                act,
                item=item,
                terms=read,
                wanted_for=wanted_for,
                moisture=determined,
            )
        )

    def assay(
        self,
        item: str,
        gold: str,
        silver: str = "0",
        *,
        at: str,
        unit: str = "gpt",
        wanted_for: str = "lot",
        standing: str = "final",
        known: str = "",
        sample: str = "",
        method: str = "fire_assay",
    ) -> None:
        done = self.act(at, known)
        name = sample or f"{done.entry}.{item}"
        self._hold(
            figures.assay(
                self.state,
                done,
                item=item,
                content=figures.Content(
                    unit=unit, gold=Decimal(gold), silver=Decimal(silver)
                ),
                origin=figures.Origin(
                    assay_id=name,
                    sample=name,
                    standing=standing,
                    laboratory="LAB",
                    method=method,
                    sampler="spear",
                    wanted_for=wanted_for,
                ),
            )
        )

    def estimate(
        self, item: str, gold: str, u: str, *, at: str, known: str = ""
    ) -> None:
        metal = figures.Metal(
            gold_g=Decimal(gold),
            gold_u_g=Decimal(u),
            silver_g=Decimal(gold) / 8,
            silver_u_g=Decimal(u) / 8,
        )
        done = self.act(at, known)
        self._hold(
            figures.estimate(self.state, done, item=item, metal=metal, method="judged")
        )

    def use_up(self, items: Sequence[str], act: Act) -> None:
        self._hold(moves.use_up(self.state, act, items))

    def leave(self, item: str, *, at: str, where_to: str = "mill") -> None:
        self._hold(moves.leave(self.state, self.act(at), [item], where_to=where_to))

    def cross(self, item: str, to_step: str, *, at: str, known: str = "") -> Act:
        from dataclasses import replace

        done = self.act(at, known)
        self._hold(moves.cross(self.state, done, item, to_step, where_to=to_step))
        held = self.state.get(Item, item)
        assert held is not None
        self.put(replace(held, step=to_step))
        return done

    def load(
        self,
        item: str,
        *,
        at: str,
        grams: str = "20000",
        gold: str | None = "2000",
        silver: str = "250",
        parents: Sequence[str] = (),
        known: str = "",
    ) -> None:
        done = self.make(
            item, "load", step="hopper", at=at, parents=parents, known=known
        )
        self.weigh(item, grams, done, wanted_for="hopper_rise")
        if gold is not None:
            self.assay(item, gold, silver, at=at, wanted_for="load", known=known)

    def lot(
        self,
        item: str,
        loads: Sequence[str],
        *,
        at: str,
        grams: str,
        gold: str | None = "2000",
        silver: str = "250",
    ) -> None:
        done = self.act(at)
        self.use_up(loads, done)
        self.make(
            item,
            "lot",
            step="table",
            from_step="hopper",
            at=at,
            parents=loads,
            act=done,
        )
        self.weigh(item, grams, done, wanted_for="lot")
        if gold is not None:
            self.assay(item, gold, silver, at=at, wanted_for="lot")

    def table_run(
        self,
        lots: Sequence[str],
        concentrate: str,
        tails: str,
        *,
        at: str,
        concentrate_g: str = "100",
        concentrate_gpt: str | None = "340000",
        tails_g: str = "19900",
        tails_gpt: str | None = "800",
    ) -> None:
        done = self.act(at)
        self.use_up(lots, done)
        self.make(
            concentrate,
            "concentrate",
            step="smelt",
            from_step="table",
            at=at,
            parents=lots,
            act=done,
        )
        self.weigh(
            concentrate, concentrate_g, done, scale="BU1", wanted_for="table_product"
        )
        self.make(
            tails,
            "tails",
            step="table",
            from_step="table",
            at=at,
            parents=lots,
            act=done,
        )
        self.weigh(tails, tails_g, done, wanted_for="table_product")
        self._hold(moves.leave(self.state, done, [tails], where_to="mill"))
        if concentrate_gpt is not None:
            self.assay(
                concentrate,
                concentrate_gpt,
                "47500",
                at=at,
                wanted_for="table_concentrate",
            )
        if tails_gpt is not None:
            self.assay(tails, tails_gpt, "132", at=at, wanted_for="table_tails")

    def pour(
        self,
        charge: str,
        sources: Sequence[str],
        bars: Sequence[str],
        *,
        at: str,
        source: str = "gravity",
    ) -> None:
        self.make(charge, "charge", step="", at=at, parents=sources, source=source)
        done = self.act(at)
        self.use_up([*sources, charge], done)
        for bar in bars:
            self.make(
                bar,
                "bar",
                step="smelt",
                from_step="smelt",
                at=at,
                parents=(charge,),
                act=done,
                source=source,
            )

    def number(
        self,
        bar: str,
        grams: str,
        gold: str | None,
        *,
        at: str,
        silver: str = "120",
        standing: str = "final",
    ) -> None:
        done = self.cross(bar, "vault", at=at)
        self.weigh(bar, grams, done, scale="BU1", wanted_for="bar")
        if gold is not None:
            self.assay(
                bar,
                gold,
                silver,
                at=at,
                unit="permille",
                wanted_for="bar",
                standing=standing,
            )

    def melt(
        self, melt: str, bars: Sequence[str], grams: str, gold: str, *, at: str
    ) -> None:
        done = self.act(at)
        self.use_up(bars, done)
        self.make(
            melt, "melt", step="vault", from_step="vault", at=at, parents=bars, act=done
        )
        read = Term(
            reading_id=f"{done.entry}.after",
            instrument="refinery",
            calibration="",
            coefficient=Decimal(1),
            grams=Decimal(grams),
            reading_u_g=Decimal(0),
            slope_u_relative=Decimal(0),
        )
        self.weigh(melt, grams, done, wanted_for="melt", terms=(read,))
        self.assay(
            melt,
            gold,
            "120",
            at=at,
            unit="permille",
            wanted_for="melt",
            standing="refiner",
        )
        self._hold(moves.leave(self.state, done, [melt], where_to="refinery"))

    # --- the plant ----------------------------------------------------------

    def flush(
        self,
        number: int,
        *,
        at: str,
        started_at: str = "",
        feed_t: str | None = "37.5",
        unit: str = "U1",
        is_counted: bool = True,
        is_listed: bool = True,
    ) -> str:
        name = f"{unit}-1-{number}"
        self.put(
            Flush(
                flush=name,
                unit=unit,
                counter_epoch=1,
                number=number,
                started_at=started_at,
                at=at,
                feed_t=None if feed_t is None else Decimal(feed_t),
                cycle_status="complete" if is_counted else "",
                reason="",
                answer="",
                sheet="sheet" if is_listed else "",
                hopper="H1",
                load="",
            )
        )
        return name

    def mill_day(
        self,
        day: str,
        *,
        feed_t: str = "1800",
        gold: str = "4.0",
        version: int = 1,
        known: str = "2026-10-01T00:00:00Z",
    ) -> None:
        self.put(
            MillDay(
                day=day,
                feed_t=Decimal(feed_t),
                gold_gpt=Decimal(gold),
                silver_gpt=Decimal("0.5"),
                version=version,
                at=known,
                entry=f"mill-{day}-{version}",
                known_at=known,
            )
        )

    def model(
        self,
        *,
        at: str = "2026-01-01T00:00:00Z",
        grg: str = "0.45",
        b: str = "0.98",
        c: str = "0.98",
        p: str = "0.25",
        rho: str = "0.35",
        tau: str = "10000",
    ) -> None:
        self.put(
            GravityModel(
                model="main",
                grg_fraction=Decimal(grg),
                survival_b=Decimal(b),
                to_underflow_c=Decimal(c),
                treated_p=Decimal(p),
                recovery_rho0=Decimal(rho),
                saturation_tau_min=Decimal(tau),
                silver_to_gold=Decimal("0.125"),
                at=at,
                entry=f"model-{at}",
            )
        )
