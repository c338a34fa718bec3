"""A random but legal walk through a gold room whose true metal is known exactly.

A `Walk` says acts one after the other from a seed and keeps, beside the book, what
every item truly holds in whole milligrams. Its instruments read exactly and its
assays are exact, so that every balance must close to the last digit. What the walk
may say is in the modules beside this one, in the order the work goes. All invented.
"""

import random
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import UTC, datetime, timedelta
from typing import Any

from goldroom.custody import moves
from goldroom.custody.act import Act, Hand
from goldroom.custody.records import Item, Record, Said, Seal, Vessel
from goldroom.errors import Refusal
from goldroom.statements import fold
from goldroom.statements.kind import Statement
from tests.goldroom.room import fitted, removed
from tests.goldroom.simulated.invariants import check_changes
from tests.goldroom.simulated.metal import PORTION, Metal, Theft, Wrong
from tests.goldroom.simulated.room import mine

START = datetime(2026, 10, 1, 4, tzinfo=UTC)
PEOPLE = {
    "room": (("p-amara", "officer"), ("p-leith", "witness")),
    "shipping": (("p-jonas", "officer"), ("p-sefu", "security")),
    "assay": (("p-noor", "laboratory"), ("p-ines", "metallurgist")),
    "record": (("p-odile", "accountant"), ("p-brandt", "manager")),
    "standing": (("p-sefu", "security"), ("p-brandt", "manager")),
    "opening": (
        ("p-sefu", "security"), ("p-odile", "accountant"), ("p-amara", "officer"),
    ),
    "plant": (("g-plant", "gateway"),),
    "month": (("p-odile", "accountant"), ("p-ines", "metallurgist")),
    "count": (("p-odile", "accountant"), ("p-sefu", "security")),
}  # fmt: skip


@dataclass(frozen=True)
class Memory:
    """What the walk held before its last act, should that be taken back."""

    act: Act
    can_void: bool
    held: Mapping[tuple[str, str], Record]
    truth: dict[str, Metal]
    wrong: tuple[Wrong, ...]
    thefts: tuple[Theft, ...]
    even: dict[str, tuple[int, int]]
    later: tuple[Mapping[str, Any], ...]
    weighed: dict[str, tuple[str, ...]]


class Walk:
    """The book, the truth beside it, and the next thing to say."""

    def __init__(self, seed: int, *, thieves: Sequence[str] = ()) -> None:
        self.random = random.Random(seed)
        self.state = mine()
        self.thieves = set(thieves)
        self.truth: dict[str, Metal] = {}
        self.litres: dict[str, str] = {}
        self.said: list[tuple[str, Mapping[str, Any], Act]] = []
        self.live: dict[str, None] = {}
        self.wrong: list[Wrong] = []
        self.thefts: list[Theft] = []
        self.even: dict[str, tuple[int, int]] = {}
        self.later: list[Mapping[str, Any]] = []
        self.weighed: dict[str, tuple[str, ...]] = {}
        self.last: Memory | None = None
        self.clock = START
        self.numbered = 0
        self._last_at: dict[str, datetime] = {}
        self._held = self.state.all_held()
        self._vessels = self._keys("vessel")
        self._seals = self._keys("seal")

    def _keys(self, table: str) -> list[str]:
        return [key for name, key in self._held if name == table]

    # --- looking ---------------------------------------------------------------

    def new(self, prefix: str) -> str:
        """Return an id never used."""
        self.numbered += 1
        return f"{prefix}-{self.numbered}"

    def item(self, name: str) -> Item:
        """Return an item of the book."""
        found = self.state.get(Item, name)
        assert found is not None, name
        return found

    def held(self, *sorts: str, status: str = "held", step: str = "") -> list[str]:
        """Return the held items of these sorts, in the order they were made."""
        found = [self.item(name) for name in self.live]
        return [
            each.item
            for each in found
            if each.status == status
            and each.sort in sorts
            and (not step or each.step == step)
        ]

    def truth_of(self, sort: str) -> list[str]:
        """Return the items of a sort ever made, in the order they were made."""
        held = self.state.all_held().values()
        return [e.item for e in held if isinstance(e, Item) and e.sort == sort]

    def vessel(self, name: str) -> Vessel:
        """Return a vessel of the book."""
        found = self.state.get(Vessel, name)
        assert found is not None, name
        return found

    def some(self, names: Sequence[str], most: int = 4) -> list[str]:
        """Return a few of these names, at least one, in any order."""
        count = self.random.randint(1, min(most, len(names)))
        return self.random.sample(names, count)

    def chance(self, share: float) -> bool:
        """Return True that often."""
        return self.random.random() < share

    def total(self, names: Iterable[str]) -> Metal:
        """Return the true metal of several items."""
        return sum((self.truth[each] for each in names), Metal())

    def theft_of(self, step: str, what: Metal) -> Metal:
        """Return what a thief takes here: nothing, unless one waits for this step."""
        has_dry = step in ("hopper", "table", "leach")
        if step not in self.thieves or what.gold < 4000:
            return Metal()
        if has_dry and what.dry < 20 * PORTION:
            return Metal()
        self.thieves.discard(step)
        taken = self.random.randint(500, what.gold // 4)
        dry = PORTION * self.random.randint(0, 9) if has_dry else 0
        return Metal(dry, taken, min(taken // 9, what.silver // 4))

    # --- seals -----------------------------------------------------------------

    def fit(
        self, name: str, *, bare: Sequence[str] | None = None, taken: Sequence[str] = ()
    ) -> list[dict[str, str]]:
        """Return rows that seal every bare point, with seals not yet used."""
        points = [each.point for each in self.vessel(name).points if not each.seal]
        if bare is not None:
            points = list(bare)
        unused = [each for each in self.unused_seals() if each not in taken]
        return [
            fitted(point, seal) for point, seal in zip(points, unused, strict=False)
        ]

    def unused_seals(self) -> list[str]:
        """Return the seals issued and not fitted yet."""
        found = [self.state.get(Seal, number) for number in self._seals]
        return [each.seal for each in found if each and each.status == "issued"]

    def unseal(self, name: str) -> list[dict[str, Any]]:
        """Return rows that take every seal off a vessel."""
        points = self.vessel(name).points
        return [removed(each.point, each.seal) for each in points if each.seal]

    def opened(self, names: Iterable[str]) -> list[dict[str, Any]]:
        """Return the opening of those vessels that are wholly sealed."""
        rows = []
        for name in dict.fromkeys(names):
            points = self.vessel(name).points
            if points and all(each.seal for each in points):
                rows.append({"vessel": name, "seals_removed": self.unseal(name)})
        return rows

    def closed(
        self, names: Iterable[str], opened: Sequence[Mapping[str, Any]] = ()
    ) -> list[dict[str, Any]]:
        """Return the sealing of some of these vessels."""
        rows: list[dict[str, Any]] = []
        taken: list[str] = []
        unsealed = [row["vessel"] for row in opened]
        for name in dict.fromkeys(names):
            points = self.vessel(name).points
            bare = [p.point for p in points if name in unsealed or not p.seal]
            if not bare or not self.chance(0.5):
                continue
            seals = self.fit(name, bare=bare, taken=taken)
            if len(seals) == len(bare):
                rows.append({"vessel": name, "seals_fitted": seals})
                taken += [each["seal"] for each in seals]
        return rows

    def where(self, names: Iterable[str]) -> list[str]:
        """Return the vessels that these items are in."""
        found = [moves.last_vessel(self.state, self.item(name)) for name in names]
        return [each for each in found if each]

    # --- saying ----------------------------------------------------------------

    def say(
        self,
        kind: type[Statement],
        values: Mapping[str, Any],
        *,
        truth: Mapping[str, Metal] | None = None,
        wrong: Mapping[str, Any] | None = None,
        corrects: str = "",
        theft: tuple[str, Metal] | None = None,
    ) -> Act:
        """Check and fold an act; `wrong` is said first, to be put right later."""
        said_values = values if wrong is None else wrong
        done = self._act(kind, said_values, corrects)
        said = fold.read_values(kind.kind_name, said_values)
        before = self._held
        self._refused(said, done)
        fold.check(said, done, self.state)
        assert self.state.all_held() == before, f"{done.kind} moved before it was said"
        memory = Memory(
            done, kind.can_void, before, dict(self.truth), tuple(self.wrong),
            tuple(self.thefts), dict(self.even), tuple(self.later), dict(self.weighed),
        )  # fmt: skip
        fold.fold(said, done, self.state)
        vessels = self._known_vessels()
        is_void = values.get("mode") == "void"
        check_changes(self.state, before, vessels, is_void=is_void)
        self._follow()
        self.truth.update(truth or {})
        if wrong is not None:
            self.wrong.append(Wrong(done.entry, kind.kind_name, values))
        if theft is not None:
            self.thefts.append(Theft(theft[0], done.at, theft[1]))
        self.said.append((kind.kind_name, said_values, done))
        self.last = memory
        assert said.sentence()
        return done

    def _act(
        self, kind: type[Statement], values: Mapping[str, Any], corrects: str
    ) -> Act:
        """Return an act at a time that its things allow; some are taken down late."""
        self.clock += timedelta(seconds=self.random.choice((1, 60, 600, 7200, 40000)))
        things = [each for each in _texts(values) if each in self._last_at]
        lag = timedelta(hours=self.random.choice((0, 0, 0, 1, 9)))
        earliest = max((self._last_at[each] for each in things), default=START)
        known = [each.occurred_at for _, _, each in self.said if each.entry == corrects]
        at = max(earliest, self.clock - lag, *known)
        for each in _texts(values):
            self._last_at[each] = at
        hands = PEOPLE[kind.group]
        return Act(
            entry=f"entry-{len(self.said) + 1:05d}",
            kind=kind.kind_name,
            klass=kind.klass,
            occurred_at=at,
            received_at=self.clock,
            hands=tuple(Hand(person=person, role=role) for person, role in hands),
            corrects_entry=corrects,
        )

    def _refused(self, said: Statement, done: Act) -> None:
        """Try acts that must be refused; whether something moved is seen after."""
        future = replace(done, occurred_at=done.received_at + timedelta(hours=1))
        tried: list[tuple[Statement, Act]] = [(said, future)]
        if self.said and done.klass == "two":
            name, values, earlier = self.random.choice(self.said)
            again = fold.read_values(name, values)
            known = self.state.get(Said, earlier.entry)
            is_void = known is not None and bool(known.voided_by)
            if earlier.klass == "two" and name not in REPEATABLE and not is_void:
                late = replace(
                    earlier, entry="entry-again", received_at=done.received_at
                )
                tried.append((again, late))
        for each, act in tried:
            assert self._is_refused(each, act), f"{act.kind} was not refused: {each}"

    def _is_refused(self, said: Statement, act: Act) -> bool:
        try:
            fold.check(said, act, self.state)
        except Refusal as refusal:
            return bool(refusal.code)
        return False

    def _known_vessels(self) -> list[Vessel]:
        """Return the vessels there are, the envelopes of samples among them."""
        changed = [key for table, key in self.state.changed() if table == "vessel"]
        self._vessels = list(dict.fromkeys((*self._vessels, *changed)))
        found = [self.state.get(Vessel, name) for name in self._vessels]
        return [each for each in found if each is not None]

    def _follow(self) -> None:
        """Keep the names of items that a balance or a vessel may hold."""
        for table, key in self.state.changed():
            item = self.state.get(Item, key) if table == "item" else None
            if item is not None and item.status in (*moves.HELD, "expected"):
                self.live[key] = None
            elif item is not None:
                self.live.pop(key, None)
            if table == "seal" and key not in self._seals:
                self._seals.append(key)
        self._held = self.state.all_held()
        self.state.settle()

    # --- the record about itself -------------------------------------------------

    def correct(self, correction: type[Statement], wrong: Wrong) -> None:
        """Put an earlier wrong figure right."""
        self.wrong.remove(wrong)
        values = {
            "entry": wrong.entry, "mode": "figures", "kind": wrong.kind,
            "values": dict(wrong.values), "reason": "read again",
        }  # fmt: skip
        self.say(correction, values, corrects=wrong.entry)

    def void(self, correction: type[Statement]) -> None:
        """Take the last act back: all must be as it was, but for what stays."""
        memory = self.last
        assert memory is not None
        entry = memory.act.entry
        values = {
            "entry": entry, "mode": "void", "kind": memory.act.kind,
            "reason": "said of the wrong thing",
        }  # fmt: skip
        self.say(correction, values, corrects=entry)
        self.truth, self.even = dict(memory.truth), dict(memory.even)
        self.wrong, self.thefts = list(memory.wrong), list(memory.thefts)
        self.later, self.last = list(memory.later), None
        self.weighed = dict(memory.weighed)
        _check_put_back(memory.held, self.state.all_held())


REPEATABLE = frozenset(
    {
        "assay.reported", "fire_assay.reported",
        "slag.weighed", "hopper.drawn_off", "seal.inspected",
        "vault.counted", "vault.placed", "vault.taken", "bar.reweighed",
        "seal.removed", "hopper.opened", "slag.released", "record.corrected",
        "leach.sampled", "leach.dosed", "material.dried", "stock.estimated",
        "refining_contract.set", "cells.opened",
        "sample.moved",
    }
)  # fmt: skip
"""Kinds that may be said again in the same words: nothing in them is used up."""

STAY_AFTER_A_VOID = ("finding", "said")


def _check_put_back(
    before: Mapping[tuple[str, str], Record], after: Mapping[tuple[str, str], Record]
) -> None:
    """Assert that a void left nothing but void items, findings and the account."""
    for at, record in after.items():
        if at[0] in STAY_AFTER_A_VOID or before.get(at) == record:
            continue
        assert isinstance(record, Item), record
        assert record.status == "void", record
        known = before.get(at)
        assert known is None or (isinstance(known, Item) and known.status == "void")
    gone = [at for at in before if at not in after]
    assert not gone, gone


def _texts(values: Any) -> Iterable[str]:
    """Yield every id-like text in the values."""
    if isinstance(values, str):
        yield values
    elif isinstance(values, Mapping):
        for each in values.values():
            yield from _texts(each)
    elif isinstance(values, list | tuple):
        for each in values:
            yield from _texts(each)


Move = Callable[[Walk], bool]
"""Something to say, if it can be said now: returns whether it was."""
