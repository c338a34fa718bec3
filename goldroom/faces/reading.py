"""Reports as a reader may see them: the one place where reading is by role.

Pages, API, papers and search ask here and nowhere else for what some may not read.
What somebody signed, they may always read.
"""

from collections.abc import Iterable
from dataclasses import dataclass, replace
from datetime import datetime
from typing import ClassVar

from goldroom.errors import Refusal
from goldroom.faces.reader import Reader
from goldroom.reports import attention as attention_report
from goldroom.reports import holdings as holdings_report
from goldroom.reports import journal as journal_report
from goldroom.reports import trail as trail_report
from goldroom.reports.at_entry import holdings_at
from goldroom.reports.attention import Concern
from goldroom.reports.entry import Cited, EntryTold, entries_told, entry_told
from goldroom.reports.holdings import Holdings
from goldroom.reports.journal import EVERYTHING, JournalPage, Wanted
from goldroom.reports.shipments import undispatched
from goldroom.reports.steps import StepNow, every_step
from goldroom.reports.trail import Trail
from goldroom.roles import READING_OF_KINDS, hidden_kinds
from ledger import attachments
from ledger.errors import NoSuchEntry

ADVISED = "dispatch.advised"
VAULT = "vault"


class NotForYou(Refusal):
    """Somebody asked for what their roles may not read."""

    code: ClassVar[str] = "not_for_you"


def journal(
    reader: Reader,
    wanted: Wanted = EVERYTHING,
    *,
    before: int | None = None,
    after: int | None = None,
    most: int = 50,
) -> JournalPage:
    """Return a page of the journal without what the reader may not read."""
    return journal_report.journal(
        reader.ledger_id,
        as_seen(reader, wanted),
        before=before,
        after=after,
        most=most,
    )


def as_seen(reader: Reader, wanted: Wanted) -> Wanted:
    """Return what is wanted, less the entries hidden from the reader."""
    hidden = hidden_kinds(reader.roles)
    unsent: tuple[str, ...] = ()
    if ADVISED in hidden:
        hidden -= {ADVISED}
        unsent = undispatched(reader.ledger_id)
    return replace(
        wanted,
        hidden_kinds=tuple(sorted(hidden)),
        hidden_entries=unsent,
        signed_by=reader.person,
    )


def entry(reader: Reader, seq: int) -> EntryTold:
    """Return an entry told whole. Raises NotForYou and NoSuchEntry."""
    found = entry_told(reader.ledger_id, seq)
    signers = [each.person for each in found.signers]
    check_entry(reader, found.kind, found.entry_id, signers)
    return found


def entries(reader: Reader, seqs: Iterable[int]) -> tuple[EntryTold, ...]:
    """Return entries told whole, as a paper cites them, without those hidden.

    Raises NotForYou where one of them announces a shipment still to leave: a paper
    that told of it would tell the day.
    """
    found = []
    for each in entries_told(reader.ledger_id, seqs).values():
        try:
            signers = [signer.person for signer in each.signers]
            check_entry(reader, each.kind, each.entry_id, signers)
        except NotForYou:
            if each.kind == ADVISED:
                raise
        else:
            found.append(each)
    return tuple(found)


def check_entry(
    reader: Reader, kind: str, entry_id: str, signers: Iterable[str]
) -> None:
    """Refuse an entry or proposal that the reader may not read. Raises NotForYou."""
    if kind not in hidden_kinds(reader.roles) or reader.person in signers:
        return
    if kind == ADVISED and entry_id not in undispatched(reader.ledger_id):
        return
    raise NotForYou(
        f"This entry is about {READING_OF_KINDS[kind]}, which only some roles read,"
        " and you did not sign it. Ask the security manager if you need it."
    )


def trail(reader: Reader, item: str) -> Trail:
    """Return an item's trail; a shipment that has not left only for those who may."""
    found = trail_report.trail(reader.ledger_id, item)
    if reader.may_read("shipments"):
        return found
    left = tuple(each for each in found.shipments if each.status != "advised")
    return replace(found, shipments=left)


@dataclass(frozen=True, kw_only=True)
class SeenHoldings:
    """Holdings as a reader sees them; `withheld` names the steps left out."""

    holdings: Holdings
    withheld: tuple[str, ...]


def holdings(reader: Reader, *, at_entry: int | None = None) -> SeenHoldings:
    """Return what is held, the vault's total only for those who may read it.

    With `at_entry`, what was held when that entry was taken down.
    """
    if at_entry is None:
        found = holdings_report.holdings(reader.ledger_id)
    else:
        found = holdings_at(reader.ledger_id, at_entry)
    if reader.may_read("vault"):
        return SeenHoldings(holdings=found, withheld=())
    open_steps = tuple(each for each in found.steps if each.step != VAULT)
    return SeenHoldings(holdings=replace(found, steps=open_steps), withheld=(VAULT,))


def steps(reader: Reader) -> tuple[StepNow, ...]:
    """Return the steps of the work without what the reader may not read."""
    return every_step(reader.ledger_id, hidden=hidden_kinds(reader.roles))


def noticed(reader: Reader, told: EntryTold) -> tuple[Concern, ...]:
    """Return what was noticed in an entry, for those who may read it or signed."""
    signed = reader.person in (each.person for each in told.signers)
    if not (signed or reader.may_read("findings")):
        return ()
    return attention_report.noticed_in(reader.ledger_id, (told.entry_id,))


def cited_file(reader: Reader, seq: int, sha256: str) -> tuple[Cited, bytes]:
    """Return a file that an entry cites. Raises NotForYou and NoSuchEntry."""
    for cited in entry(reader, seq).attachments:
        if cited.sha256 == sha256:
            return cited, attachments.content(reader.ledger_id, sha256)
    raise NoSuchEntry(
        f"Entry {seq} cites no file with this SHA-256. Open the entry and choose one"
        " of its files.",
        field="sha256",
    )


def attention(
    reader: Reader,
    *,
    now: datetime,
    level: str = "",
    since: str = "",
    only_open: bool = False,
) -> tuple[Concern, ...]:
    """Return what wants attention; others see what was noticed in what they signed.

    Those are told once more what they were told as they signed, and nothing else.
    """
    if reader.may_read("findings"):
        return attention_report.attention(
            reader.ledger_id, now=now, level=level, since=since, only_open=only_open
        )
    signed = journal_report.journal(
        reader.ledger_id,
        Wanted(person=reader.person, from_at=since),
        most=journal_report.LINES_AT_MOST,
    )
    own = {line.entry_id for line in signed.lines if reader.person in line.people}
    return tuple(
        each
        for each in attention_report.noticed_in(reader.ledger_id, own)
        if level in ("", each.level)
    )
