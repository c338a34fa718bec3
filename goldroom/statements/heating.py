"""Weighed before heat and after it: what drying, calcining and retorting share."""

from collections.abc import Iterator
from dataclasses import dataclass
from decimal import Decimal

from goldroom.custody.act import Act
from goldroom.custody.driven_off import DrivenOff
from goldroom.custody.figures import WET, in_order, mass
from goldroom.custody.lookups import the, wrong_sort
from goldroom.custody.notices import notice
from goldroom.custody.reading import Reading
from goldroom.custody.records import Instrument, Item, Mass, Record
from goldroom.custody.state import State
from goldroom.custody.weighed import Weighed, check_weighed, net_g, net_terms
from goldroom.errors import DryHeavierThanWet
from goldroom.statements.fields import BadField
from goldroom.statements.limits import limit_value

DRIED = (
    "sludge", "concentrate", "lot", "middlings", "tails", "magnetics", "residue",
    "other", "sweepings", "calcine",
)  # fmt: skip
"""Sorts that are dried."""

CALCINED = ("sludge", "concentrate", "magnetics", "other", "sweepings")
"""Sorts that are calcined or retorted."""


@dataclass(frozen=True, kw_only=True)
class Heated:
    """An item weighed before heat, where it was, and after it, in its vessel."""

    item: str
    vessel: str
    before: Reading | None
    before_tare: Reading | None
    after: Reading
    after_tare: Reading | None

    @property
    def weighed_before(self) -> Weighed | None:
        """Return the weighing before, if there was one."""
        if self.before is None:
            return None
        return Weighed(gross=self.before, tare=self.before_tare, vessel=self.vessel)

    @property
    def weighed_after(self) -> Weighed:
        """Return the weighing after."""
        return Weighed(gross=self.after, tare=self.after_tare, vessel=self.vessel)

    @property
    def readings(self) -> tuple[Reading | None, ...]:
        """Return all that was read."""
        return (self.before, self.before_tare, self.after, self.after_tare)


def check_heat(state: State, oven_id: str, field: str) -> None:
    """Refuse an instrument that is no oven."""
    oven = the(state, Instrument, oven_id, field)
    if oven.sort != "oven":
        raise wrong_sort(field, oven_id, oven.sort, "an oven")


def check_heated(state: State, act: Act, heated: Heated, *, cannot_gain: bool) -> None:
    """Refuse readings that cannot be and, where heat only takes, a gain by it.

    Raises DryHeavierThanWet, BadField and what weighing raises.
    """
    check_weighed(state, act, heated.weighed_after, "gross", "tare")
    if heated.weighed_before is not None:
        check_weighed(state, act, heated.weighed_before, "wet_gross", "wet_tare")
    elif heated.before_tare is not None:
        raise BadField(
            "wet_gross: there is a tare before but no gross. Write both, or neither.",
            field="wet_gross",
        )
    before_g, after_g = (
        mass_before_g(state, act, heated),
        net_g(state, heated.weighed_after),
    )
    if cannot_gain and before_g is not None and after_g > before_g:
        raise DryHeavierThanWet(
            f"gross: {heated.item} weighs {after_g} g after and weighed {before_g} g"
            " before; heat adds no mass here. Weigh it again, with the same vessel's"
            " tare.",
            field="gross",
        )


def mass_before_g(state: State, act: Act, heated: Heated) -> Decimal | None:
    """Return the net mass before heat: as said, else as last weighed wet; or None.

    An item that was weighed dry before has no wet mass any more: a second drying is
    compared with the first, and noticed.
    """
    if heated.weighed_before is not None:
        return net_g(state, heated.weighed_before)
    masses = _masses_before(state, act, heated.item)
    if not masses or is_dry(masses[-1]):
        return None
    return masses[-1].net_g


def is_dry(weighed: Mass) -> bool:
    """Tell whether a mass was weighed dry: neither wet nor reckoned by moisture."""
    return weighed.wanted_for != WET and not weighed.moisture_percent


def driven_off(
    state: State,
    act: Act,
    heated: Heated,
    *,
    becomes: str = "",
    mercury_g: Decimal | None = None,
) -> DrivenOff:
    """Return the next version of what heat drove off."""
    version = 1
    while state.get(DrivenOff, f"{act.measured_in}/{version:03d}") is not None:
        version += 1
    return DrivenOff(
        heated=act.measured_in,
        version=version,
        item=heated.item,
        becomes=becomes,
        before_g=mass_before_g(state, act, heated),
        after_g=net_g(state, heated.weighed_after),
        mercury_g=mercury_g,
        at=act.at,
        entry=act.entry,
        known_at=act.known_at,
    )


def heated_mass(
    state: State, act: Act, heated: Heated, *, item: str, wanted_for: str
) -> Iterator[Record]:
    """Yield the mass after heat, as the item's dry mass."""
    yield from mass(
        state,
        act,
        item=item,
        terms=net_terms(state, act, heated.weighed_after, "after"),
        wanted_for=wanted_for,
    )


def moisture_notices(state: State, act: Act, heated: Heated) -> Iterator[Record]:
    """Yield what a dry mass shows beside the one before it.

    One by moisture that it does not bear out; one weighed dry that it exceeds. Less
    than before is water, and never read as metal missing.
    """
    masses = _masses_before(state, act, heated.item)
    if not masses:
        return
    before, after_g = masses[-1], net_g(state, heated.weighed_after)
    if before.moisture_percent:
        limit = limit_value(state, "transfer_dry_drop_percent")
        if abs(after_g - before.dry_g) * 100 > limit * before.dry_g:
            yield notice(
                state,
                act,
                "dry_mass_differs",
                item=heated.item,
                found=f"{after_g} g, weighed dry",
                expected=f"{before.dry_g} g by {before.moisture_percent} % moisture,"
                f" within {limit} %",
                message=f"{heated.item} dried to another mass than its moisture said",
            )
    elif is_dry(before) and after_g > before.dry_g:
        yield _gained(state, act, heated.item, after_g, before.dry_g)


def gained_notices(
    state: State, act: Act, heated: Heated, item: str
) -> Iterator[Record]:
    """Yield a finding if something weighed dry came out of the heat heavier."""
    masses = _masses_before(state, act, heated.item)
    before_g = mass_before_g(state, act, heated)
    if before_g is None and masses:
        before_g = masses[-1].dry_g
    after_g = net_g(state, heated.weighed_after)
    if before_g is not None and after_g > before_g:
        yield _gained(state, act, item, after_g, before_g)


def _gained(
    state: State, act: Act, item: str, after_g: Decimal, before_g: Decimal
) -> Record:
    return notice(
        state,
        act,
        "item_gained_mass",
        item=item,
        found=f"{after_g} g after heat",
        expected=f"at most {before_g} g, as before",
        message=f"{item} is heavier than before it was heated",
    )


def _masses_before(state: State, act: Act, item_id: str) -> list[Mass]:
    """Return the item's masses of earlier entries, the newest last."""
    item = state.get(Item, item_id)
    count = 0 if item is None else item.masses
    found = [state.get(Mass, f"{item_id}/{n:03d}") for n in range(1, count + 1)]
    earlier = [
        each
        for each in found
        if each is not None
        and each.measured_in != act.measured_in
        and each.at <= act.at
    ]
    return in_order(earlier)
