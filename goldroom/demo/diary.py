"""The diary: what is said in the invented mine, in the order it is taken down.

The story writes sayings into the diary with the moment each is taken down; nothing
is asked of the ledger while it is written, so the same seed writes the same diary.
`play` then says it through the front door. Where a statement holds figures that only
the ledger can tell, such as a period's, the page knows whom to ask at its moment. The
diary as a JSON Lines file holds one line for each entry that people and machines made,
a statement taken back among them; one that still waits for a signature is no entry.
"""

import hashlib
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from typing import Any

from goldroom import commands
from goldroom.demo.chance import Chance
from goldroom.errors import Refusal
from goldroom.keys import Keys
from goldroom.sayings import Saying, Signer, line_of
from ledger.core.errors import LedgerRefusal

Hands = Sequence[tuple[str, str]]
SAY, PROPOSE, COUNTERSIGN, WITHDRAW = "say", "propose", "countersign", "withdraw"


@dataclass(frozen=True)
class Mark:
    """Where a ledger stands: its id, and its size and root as a chain mark has them."""

    ledger_id: int
    size: int
    root: bytes


Ask = Callable[[Mark], Mapping[str, Any]]
"""Gives a statement's values, from the ledger as it stands before the statement."""


class DiaryNotSaid(Refusal):
    """The front door refused something that the story says."""

    code = "diary_not_said"


@dataclass(frozen=True)
class Page:
    """One thing done with a saying at a moment."""

    at: datetime
    n: int
    act: str
    saying: Saying
    detail: str = ""
    ask: Ask | None = None

    @property
    def line(self) -> str:
        """Return the saying as a line of a file, taken down at this moment."""
        received_at = self.at.isoformat()
        return line_of(
            replace(self.saying, received_at=received_at, withdrawn=self.detail)
        )


class Diary:
    """Sayings with the moments they were taken down."""

    def __init__(self, chance: Chance) -> None:
        """Start an empty diary."""
        self.chance = chance
        self.papers: dict[str, bytes] = {}
        self._pages: list[Page] = []

    def say(
        self,
        name: str,
        kind: str,
        values: Mapping[str, Any],
        at: datetime,
        hands: Hands,
        **more: Any,
    ) -> str:
        """Write down a saying of that name; return its entry id.

        `taken_down` is when the last signature came (some minutes after, if left
        out), `first` when a first signature came well before it, `corrects` the
        entry it corrects, `paper` the name and text of a paper signed in ink.
        """
        saying = self._saying(name, kind, values, at, hands, more.get("corrects", ""))
        if "paper" in more:
            saying = replace(saying, attachments=(self._filed(*more["paper"]),))
        minutes = self.chance.whole(f"pen/{name}", 2, 9)
        taken_down = more.get("taken_down") or at + timedelta(minutes=minutes)
        first = more.get("first")
        if first is None:
            self._add(taken_down, SAY, saying)
        else:
            self._add(first, PROPOSE, saying)
            self._add(taken_down, COUNTERSIGN, saying)
        return saying.entry_id

    def ask_and_say(
        self, name: str, kind: str, ask: Ask, at: datetime, hands: Hands
    ) -> str:
        """Write down a saying whose values the ledger will tell; return its entry id.

        It has no line of the file before it was said.
        """
        saying = self._saying(name, kind, {}, at, hands, "")
        minutes = self.chance.whole(f"pen/{name}", 2, 9)
        page = Page(at + timedelta(minutes=minutes), len(self._pages), SAY, saying)
        self._pages.append(replace(page, ask=ask))
        return saying.entry_id

    def answered(self, page: Page, mark: Mark) -> Page:
        """Return a page with the values that the ledger tells, and keep it so."""
        if page.ask is None:
            return page
        saying = replace(page.saying, data=page.ask(mark))
        self._pages[page.n] = replace(page, saying=saying, ask=None)
        return self._pages[page.n]

    def propose(
        self,
        name: str,
        kind: str,
        values: Mapping[str, Any],
        at: datetime,
        hands: Hands,
    ) -> None:
        """Write down a statement that waits for the others when the diary ends.

        It is no entry, so the file has no line of it.
        """
        self._add(at, PROPOSE, self._saying(name, kind, values, at, hands, ""))

    def propose_and_withdraw(
        self,
        name: str,
        kind: str,
        values: Mapping[str, Any],
        at: datetime,
        hands: Hands,
        **more: Any,
    ) -> None:
        """Write down a proposal and its withdrawal at `withdrawn`, with `detail`."""
        saying = self._saying(name, kind, values, at, hands, "")
        self._add(at + timedelta(minutes=3), PROPOSE, saying)
        self._add(more["withdrawn"], WITHDRAW, saying, more["detail"])

    def pages(self) -> list[Page]:
        """Return the diary in the order things are done."""
        return sorted(self._pages, key=lambda page: (page.at, page.n))

    def lines(self) -> Iterator[str]:
        """Yield a line for every entry that people and machines made, in order."""
        for page in self.pages():
            if page.act != PROPOSE and page.ask is None:
                yield page.line

    def _saying(
        self,
        name: str,
        kind: str,
        values: Mapping[str, Any],
        at: datetime,
        hands: Hands,
        corrects: str,
    ) -> Saying:
        return Saying(
            kind=kind,
            data=values,
            occurred_at=at.isoformat(),
            signers=tuple(Signer(person=who, role=role) for who, role in hands),
            entry_id=self.chance.entry_id(name),
            corrects=corrects,
        )

    def _filed(self, name: str, text: str) -> dict[str, Any]:
        """Keep a paper and return how a statement cites it."""
        content = text.encode()
        self.papers[name] = content
        return {
            "media": "text/plain",
            "name": name,
            "sha256": hashlib.sha256(content).hexdigest(),
            "size": len(content),
        }

    def _add(self, at: datetime, act: str, saying: Saying, detail: str = "") -> None:
        self._pages.append(Page(at, len(self._pages), act, saying, detail))


def play(
    diary: Diary,
    keys: Keys,
    *,
    attach: Callable[[int, str, bytes], None],
    progress: Callable[[int, int], None] | None = None,
) -> int:
    """Say a diary into a new ledger of the database; return the ledger's id.

    The first page opens the ledger; `attach` hands it a paper before the statement
    that cites it. Raises DiaryNotSaid.
    """
    pages = diary.pages()
    opening = replace(pages[0].saying, received_at=pages[0].at.isoformat())
    opened = commands.open_ledger(opening, keys)
    ledger_id = commands.ledger_of(opened.entry)
    mark = Mark(ledger_id, opened.seq + 1, opened.root)
    for n, written in enumerate(pages[1:], start=2):
        page = diary.answered(written, mark)
        for cited in page.saying.attachments:
            attach(ledger_id, cited["name"], diary.papers[cited["name"]])
        try:
            mark = _do(mark, page, keys)
        except (Refusal, LedgerRefusal) as refusal:
            raise DiaryNotSaid(
                f"{page.act} {page.saying.kind} of {page.saying.occurred_at} was"
                f" refused: {refusal.message} [{refusal.code}] The story is wrong, or a"
                f" rule is: {page.line}"
            ) from refusal
        if progress is not None:
            progress(n, len(pages))
    return ledger_id


def _do(mark: Mark, page: Page, keys: Keys) -> Mark:
    """Do what the page says; return where the ledger stands then."""
    saying, ledger_id = page.saying, mark.ledger_id

    def clock() -> datetime:
        return page.at

    if page.act == PROPOSE:
        first = keys[saying.signers[0].person]
        commands.propose(ledger_id, saying, first, clock=clock)
        return mark
    if page.act == SAY:
        done = commands.say(ledger_id, saying, keys, clock=clock)
    elif page.act == WITHDRAW:
        done = commands.withdraw(
            ledger_id, saying.entry_id, detail=page.detail, clock=clock
        )
    else:
        assert page.act == COUNTERSIGN
        last = keys[saying.signers[-1].person]
        signed = commands.countersign(ledger_id, saying.entry_id, last, clock=clock)
        assert signed.appended is not None
        done = signed.appended
    return Mark(ledger_id, done.seq + 1, done.root)
