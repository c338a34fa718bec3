"""What kinds of samples share: rows with a size, new ids, what a split left out.

A sample is metal. It is counted by grams, or by millilitres when it is of a solution;
its moisture is that of what it was taken from, until it is dried. Balances go by the
time an act happened, so nothing is taken off a thing before the time at which that
came to where it is.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from decimal import Decimal
from itertools import count
from typing import Protocol

from goldroom.custody import figures, moves
from goldroom.custody.act import Act
from goldroom.custody.figures import WET, Moisture, latest_mass
from goldroom.custody.moves import NewItem
from goldroom.custody.notices import notice
from goldroom.custody.numbers import check_numbers
from goldroom.custody.reading import Reading
from goldroom.custody.records import (
    HOLDERS,
    Crossing,
    Item,
    Record,
    Term,
    Volume,
)
from goldroom.custody.rules import check_new_items
from goldroom.custody.sampled import Sample
from goldroom.custody.state import State
from goldroom.custody.weighed import Weighed, check_taken, net_terms
from goldroom.errors import BeforeItsSource, OutOfRange
from goldroom.statements import fields
from goldroom.statements.envelopes import (
    SEALED,
    check_portion_sealed,
    check_sealing,
    seal_envelope,
)
from goldroom.statements.fields import BadField
from goldroom.statements.limits import limit_value

PORTIONS = ("mine", "refiner", "umpire", "reserve", "reject")
PORTION_WORDS = {
    "": "a sample",
    "mine": "the mine's portion",
    "refiner": "the refiner's portion",
    "umpire": "the umpire's portion",
    "reserve": "the reserve portion",
    "reject": "the reject",
}
ZERO, HUNDRED, THOUSAND = Decimal(0), Decimal(100), Decimal(1000)


class Sized(Protocol):
    """Something with a size: grams or millilitres, one of the two."""

    @property
    def grams(self) -> Decimal | None:
        """Return the mass in grams, None for a solution."""

    @property
    def millilitres(self) -> Decimal | None:
        """Return the volume in millilitres, None for solids."""


@dataclass(frozen=True, kw_only=True)
class Wetness:
    """Moisture said of what was weighed, and where it was dried; None if not said."""

    percent: Decimal | None = None
    oven: str | None = None


DRY_AS_SOURCE = Wetness()
"""Nothing said: as moist as what it was taken from."""


def check_new_samples(state: State, act: Act, named: Sequence[tuple[str, str]]) -> None:
    """Refuse (sample id, field) pairs used before, or with a wrong check character."""
    check_new_items(state, named)
    check_numbers(state, act, "sample", named)


def check_not_before(state: State, act: Act, item: Item, field: str) -> None:
    """Refuse an act from before the item came to the step that holds it now."""
    last = state.get(Crossing, f"{item.item}/{item.crossings}")
    since = max(item.held_from, "" if last is None else last.at)
    if act.at < since:
        raise BeforeItsSource(
            f"{field}: this is said to have happened {act.at}, but {item.item} is here"
            f" as it is only since {since}. Check the time, or name what it was"
            " taken from then.",
            field=field,
        )


def is_liquid(state: State, item: Item) -> bool:
    """Return whether an item is counted by volume."""
    return item.sort == "solution" or item.volumes > 0


def check_size(state: State, source: Item, size: Sized, field: str) -> None:
    """Refuse the wrong measure, both measures or none, and more than there is.

    Two balances differ: what a sample need not account for is not too much, either.
    """
    both = (size.grams, size.millilitres)
    if sum(each is not None for each in both) != 1:
        raise BadField(
            f"{field}: write either its mass or, for a solution, its volume.",
            field=field,
        )
    liquid = is_liquid(state, source)
    if source.sort not in HOLDERS and liquid is (size.millilitres is None):
        right = "volume in mL" if liquid else "mass"
        raise BadField(
            f"{field}: {source.item} is counted by its {right}. Write the {right} of"
            " this as well.",
            field=field,
        )
    whole = size_of(state, source)
    part = size.grams if size.grams is not None else size.millilitres
    unit = "mL" if liquid else "g"
    let_pass = limit_value(state, f"sample_loss_{unit.lower()}")
    if whole is not None and part is not None and part > whole + let_pass:
        raise OutOfRange(
            f"{field}: found {part} {unit}, but {source.item} is {whole} {unit} in"
            " all. Read it again.",
            field=field,
        )


def size_of(state: State, item: Item) -> Decimal | None:
    """Return an item's newest net mass in grams, or volume in mL; None without."""
    if is_liquid(state, item):
        last = state.get(Volume, f"{item.item}/{item.volumes:03d}")
        return None if last is None else last.litres * THOUSAND
    last_mass = latest_mass(state, item.item)
    return None if last_mass is None else last_mass.net_g


@dataclass(frozen=True, kw_only=True)
class NewSample:
    """A sample about to be made: how, for whom, sealed by what."""

    item: str
    label: str
    taken_by: str = ""
    portion: str | None = None
    seal: str | None = None


def make_sample(
    state: State, act: Act, new: NewSample, source: Item, *, is_drawn: bool
) -> Iterator[Record]:
    """Yield a sample of a source: drawn off it, or one of those that it became."""
    made = NewItem(
        item=new.item,
        sort="sample",
        step=source.step,
        from_step=source.step,
        place=source.place,
        parents=(source.item,),
        source=source.source,
        label=new.label,
    )
    yield from (moves.draw if is_drawn else moves.make)(state, act, made)
    yield Sample(
        sample=new.item,
        status="kept" if new.portion in SEALED else "open",
        taken_by=new.taken_by,
        portion=new.portion or "",
        at=act.at,
    )
    if new.seal is not None:
        yield from seal_envelope(state, act, new.item, new.seal, source.place)


def used_part(state: State, act: Act, sample: str) -> str:
    """Return the id of the part of a sample that an act's laboratory used.

    `D-1.used`; a second one, after the first was taken back, is `D-1.used-2`.
    """
    return next(
        name
        for name, item in _used_parts(state, sample)
        if item is None or item.made_by == act.measured_in
    )


def part_used(state: State, sample: str) -> Item | None:
    """Return the part of a sample that a laboratory was said to use, or None."""
    for _, item in _used_parts(state, sample):
        if item is None or item.status != "void":
            return item
    return None


def _used_parts(state: State, sample: str) -> Iterator[tuple[str, Item | None]]:
    """Yield the ids of the sample's used parts, in order, up to the first free one."""
    for n in count(1):
        name = f"{sample}.used" if n == 1 else f"{sample}.used-{n}"
        item = state.get(Item, name)
        yield name, item
        if item is None:
            return


def told_of(state: State, item: Item) -> Sample:
    """Return what is known of a sample, of one never spoken of as such as well."""
    known = state.get(Sample, item.item)
    if known is not None:
        return known
    return Sample(sample=item.item, status="open", taken_by="", portion="", at=item.at)


@dataclass(frozen=True, kw_only=True)
class Measure:
    """What a sample was found to be: the terms of its mass, or its volume in mL."""

    terms: tuple[Term, ...] = ()
    millilitres: Decimal | None = None
    wetness: Wetness = DRY_AS_SOURCE


def measured(
    state: State, act: Act, *, item: str, source: str, measure: Measure, path: str
) -> Iterator[Record]:
    """Yield a sample's mass, at its own moisture or its source's, or its volume."""
    if measure.millilitres is not None:
        yield from figures.volume(
            state,
            act,
            item=item,
            litres=measure.millilitres.scaleb(-3),
            tank="",
            path=path,
        )
        return
    known = latest_mass(state, source)
    moisture = _moisture(state, act, source, measure.wetness, path)
    is_unknown = known is not None and known.wanted_for == WET and moisture is None
    yield from figures.mass(
        state,
        act,
        item=item,
        terms=measure.terms,
        wanted_for=WET if is_unknown else "sample",
        moisture=moisture,
    )


def _moisture(
    state: State, act: Act, source: str, wetness: Wetness, path: str
) -> Moisture | None:
    """Return the moisture said, or else that of the source, with its own id."""
    if wetness.percent is not None:
        return Moisture(
            percent=wetness.percent,
            determination=f"{act.measured_in}.{path}.moisture",
            oven=wetness.oven or "",
        )
    known = latest_mass(state, source)
    if known is None or known.moisture_percent is None:
        return None
    return Moisture(
        percent=known.moisture_percent,
        determination=known.moisture_id,
        oven=known.oven,
    )


def missing_notices(
    state: State, act: Act, sample: Item, sizes: Sequence[Sized], wetness: Wetness
) -> Iterator[Record]:
    """Yield a finding if what a sample became does not add up to the sample, dry."""
    if is_liquid(state, sample):
        whole = size_of(state, sample)
        parts = sum((each.millilitres or ZERO for each in sizes), ZERO)
        unit, limit = "mL", limit_value(state, "sample_loss_ml")
    else:
        known = latest_mass(state, sample.item)
        whole = None if known is None else known.dry_g
        parts = sum((each.grams or ZERO for each in sizes), ZERO)
        percent = wetness.percent
        if percent is None and known is not None:
            percent = known.moisture_percent
        parts = parts * (HUNDRED - (percent or ZERO)) / HUNDRED
        unit, limit = "g", limit_value(state, "sample_loss_g")
    if whole is None or abs(whole - parts) <= limit:
        return
    short = f"{abs(whole - parts).normalize():f} {unit}"
    yield notice(
        state,
        act,
        "sample_grams_missing",
        item=sample.item,
        found=f"{parts.normalize():f} {unit}",
        expected=f"{whole.normalize():f} {unit} within {limit} {unit}",
        message=(
            f"{short} of sample {sample.item} are not accounted for"
            if parts < whole
            else f"sample {sample.item} became {short} more than it was"
        ),
    )


@dataclass(frozen=True, kw_only=True)
class SampleRow:
    """A sample or a portion of one: its id, its size, for whom it is, its seal."""

    item: str = fields.code("Sample id", help="A new id, never used before")
    mass: Reading | None = fields.reading("Mass", optional=True)
    volume_ml: Decimal | None = fields.number(
        "Volume", "mL", low="0.001", high="100000", optional=True,
        help="Of a solution, in place of a mass",
    )  # fmt: skip
    portion: str | None = fields.choice("Portion", PORTIONS, optional=True)
    seal: str | None = fields.code(
        "Seal on its envelope", table="seal", optional=True,
        help="Needed for an umpire's or reserve portion",
    )  # fmt: skip

    @property
    def grams(self) -> Decimal | None:
        """Return the mass as read."""
        return None if self.mass is None else self.mass.grams

    @property
    def millilitres(self) -> Decimal | None:
        """Return the volume."""
        return self.volume_ml

    @property
    def size_words(self) -> str:
        """Return the size as read aloud."""
        return f"{self.volume_ml} mL" if self.mass is None else str(self.mass)


def check_rows(state: State, act: Act, rows: Sequence[SampleRow], field: str) -> None:
    """Refuse new samples whose ids or seals cannot be, or that should be sealed."""
    check_new_samples(
        state, act, [(row.item, f"{field}[{n}].item") for n, row in enumerate(rows)]
    )
    for n, row in enumerate(rows):
        check_portion_sealed(row.portion, row.seal, f"{field}[{n}].seal")
    check_sealing(
        state,
        [
            (row.item, row.seal, f"{field}[{n}].seal")
            for n, row in enumerate(rows)
            if row.seal is not None
        ],
    )


def check_row_figures(
    state: State, act: Act, source: Item, rows: Sequence[SampleRow], field: str
) -> None:
    """Refuse readings that cannot be, and sizes that do not fit the source."""
    for n, row in enumerate(rows):
        if row.mass is not None:
            check_taken(state, act, row.mass, f"{field}[{n}].mass")
        check_size(state, source, row, f"{field}[{n}]")


def row_measure(
    state: State, act: Act, row: SampleRow, path: str, wetness: Wetness = DRY_AS_SOURCE
) -> Measure:
    """Return a row's reading or volume as a measure."""
    if row.mass is None:
        return Measure(millilitres=row.volume_ml)
    terms = net_terms(state, act, Weighed(gross=row.mass), path)
    return Measure(terms=terms, wetness=wetness)


def portion_words(portion: str | None) -> str:
    """Return "the umpire's portion", "the reserve portion" and so on."""
    return PORTION_WORDS[portion or ""]
