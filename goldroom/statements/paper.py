"""Numbered paper forms: handed out beforehand, written up afterwards, or void.

When the server is down the work goes on, with ink, on a numbered form. What it tells
of is entered later in its own kinds, each with the event's own time; the form then
says which entries were written up from it, and who signed in ink. Its scan is
attached. A spoiled form is kept and said to be void, so that no number is missing.
"""

from collections.abc import Iterator
from dataclasses import dataclass, replace
from datetime import datetime

from goldroom.custody.act import Act, utc_text
from goldroom.custody.lookups import the
from goldroom.custody.notices import notice
from goldroom.custody.paper import PaperForm
from goldroom.custody.records import Person, Place, Record, Said
from goldroom.custody.rules import check_attached
from goldroom.custody.state import State
from goldroom.errors import (
    AlreadyRegistered,
    FormAlreadyUsed,
    FormIssuedLater,
    FormNeverIssued,
    NotInThisState,
    OccurredInFuture,
)
from goldroom.statements import fields
from goldroom.statements.kind import Statement, kind
from goldroom.statements.numbering import check_range, numbers_of
from goldroom.statements.wording import listed, wall_clock

INK = 2
"""Signatures that a paper form should bear: as many as the screen would ask for."""


@kind("paper_forms.issued", group="guard", title="Paper forms issued", can_void=True)
@dataclass(frozen=True, kw_only=True)
class PaperFormsIssued(Statement):
    """A range of numbered paper forms handed to a person for a place."""

    series: str = fields.code("Series", help="What stands before the number, such as F")
    first: int = fields.whole("First number", low=1)
    last: int = fields.whole("Last number", low=1)
    digits: int | None = fields.whole(
        "Digits", low=1, high=10, optional=True, help="4 if left out, with zeros"
    )
    issued_to: str = fields.code("Issued to", table="person")
    place: str = fields.code("Kept at", table="place")

    def check(self, act: Act, state: State) -> None:
        """Refuse a range upside down, too long, or holding a form issued before."""
        check_range(self.first, self.last, "forms")
        the(state, Person, self.issued_to, "issued_to")
        the(state, Place, self.place, "place")
        for number in self.numbers():
            if state.get(PaperForm, number) is not None:
                raise AlreadyRegistered(
                    f"first: form {number} was issued before. Read the range off the"
                    " pad again.",
                    field="first",
                )

    def numbers(self) -> list[str]:
        """Return every form number of the range."""
        return numbers_of(self.series, self.first, self.last, self.digits)

    def apply(self, act: Act, state: State) -> Iterator[Record]:
        """Yield the forms, unused."""
        for n, form in enumerate(self.numbers(), start=self.first):
            yield PaperForm(
                form=form,
                status="issued",
                series=self.series,
                number=n,
                issued_to=self.issued_to,
                place=self.place,
                at=act.at,
                issued_entry=act.entry,
                known_at=act.known_at,
            )

    def sentence(self) -> str:
        """Return what the journal reads aloud."""
        numbers = self.numbers()
        return (
            f"Paper forms {numbers[0]} to {numbers[-1]} ({len(numbers)} forms) were"
            f" issued to {self.issued_to}, kept at {self.place}."
        )


@dataclass(frozen=True, kw_only=True)
class InkRow:
    """A signature in ink: the name as written, and whose it is if enrolled here."""

    name: str = fields.text("Name as signed")
    person: str | None = fields.code(
        "Person", table="person", optional=True, help="If enrolled here"
    )


@kind(
    "paper_form.written_up", group="record", title="Paper form written up",
    can_void=True,
)  # fmt: skip
@dataclass(frozen=True, kw_only=True)
class PaperFormWrittenUp(Statement):
    """A paper form's acts entered afterwards: which entries, and who signed in ink."""

    form: str = fields.code("Form number", table="paper_form")
    happened_at: datetime = fields.moment(
        "Time on the paper", help="When it happened, not when it is written up"
    )
    entries: tuple[str, ...] = fields.codes(
        "Entries written up from it", table="said", help="Ids, as the journal has them"
    )
    signed_in_ink: tuple[InkRow, ...] = fields.rows(
        "Signed in ink", InkRow, most=10, help="Everybody who signed the paper"
    )
    scan: str = fields.text(
        "Scan",
        help="Name of the picture of the form, as the line cites it: beside data,"
        ' "attachments": [{"name", "media", "sha256", "size"}]',
    )
    reason: str | None = fields.text(
        "Why on paper", optional=True, help="Power, server, network"
    )

    def check(self, act: Act, state: State) -> None:
        """Refuse a form not at hand or issued later, and entries not in the record."""
        form = form_at_hand(state, self.form, "form")
        happened_at = utc_text(self.happened_at)
        if happened_at > act.at:
            raise OccurredInFuture(
                f"happened_at: {happened_at} comes after the writing up at {act.at}."
                " Write the time that stands on the paper.",
                field="happened_at",
            )
        _check_issued_before(form, happened_at, "happened_at")
        for n, row in enumerate(self.signed_in_ink):
            if row.person is not None:
                the(state, Person, row.person, f"signed_in_ink[{n}].person")
        for n, entry in enumerate(self.entries):
            said = the(state, Said, entry, f"entries[{n}]")
            if said.voided_by:
                raise NotInThisState(
                    f"entries[{n}]: {entry} was taken back by {said.voided_by}. Name"
                    " the entry that says it now.",
                    field=f"entries[{n}]",
                )
            _check_issued_before(form, said.at, f"entries[{n}]")
        check_attached(act, f"form {self.form}")

    def apply(self, act: Act, state: State) -> Iterator[Record]:
        """Yield the form, used, and what should be noticed about the paper."""
        form = state.get(PaperForm, self.form)
        assert form is not None
        happened_at = utc_text(self.happened_at)
        yield _ended(act, form, "used", happened_at)
        if len(self.signed_in_ink) < INK:
            yield notice(
                state,
                act,
                "paper_signed_by_one",
                item=self.form,
                found=f"signed in ink by {self.signed_in_ink[0].name} alone",
                expected=f"at least {INK} signatures in ink",
                message=f"form {self.form} bears one signature",
            )
        said_at = {said.at for each in self.entries if (said := state.get(Said, each))}
        if happened_at not in said_at:
            yield notice(
                state,
                act,
                "paper_time_differs",
                item=self.form,
                found=f"entries of {listed(sorted(said_at))}",
                expected=f"{happened_at}, as on the paper",
                message=f"no entry written up from form {self.form} has its time",
            )

    def sentence(self) -> str:
        """Return what the journal reads aloud."""
        names = [
            row.name + (f" ({row.person})" if row.person else "")
            for row in self.signed_in_ink
        ]
        why = f" On paper because: {self.reason}." if self.reason else ""
        return (
            f"Paper form {self.form} of {wall_clock(self.happened_at)}, signed in ink"
            f" by {listed(names)}, was written up as {_entries(self.entries)}. Scan:"
            f" {self.scan}.{why}"
        )


@kind("paper_form.voided", group="guard", title="Paper form void", can_void=True)
@dataclass(frozen=True, kw_only=True)
class PaperFormVoided(Statement):
    """A spoiled paper form, kept and never to be used."""

    form: str = fields.code("Form number", table="paper_form")
    reason: str = fields.text("Reason")
    form_kept: bool = fields.flag("Form kept", help="Whether the spoiled form is there")

    def check(self, act: Act, state: State) -> None:
        """Refuse a form that is not at hand."""
        form_at_hand(state, self.form, "form")

    def apply(self, act: Act, state: State) -> Iterator[Record]:
        """Yield the form, void, and that it was not kept."""
        form = state.get(PaperForm, self.form)
        assert form is not None
        yield _ended(act, form, "void", act.at)
        if not self.form_kept:
            yield notice(
                state,
                act,
                "form_not_kept",
                item=self.form,
                found="the form is not there",
                expected="the spoiled form kept",
                message=f"form {self.form} was made void and cannot be shown",
            )

    def sentence(self) -> str:
        """Return what the journal reads aloud."""
        kept = "kept" if self.form_kept else "not kept"
        return f"Paper form {self.form} was made void ({kept}): {self.reason}."


def form_at_hand(state: State, form_id: str, field: str) -> PaperForm:
    """Return a form that was issued and is neither written up nor void.

    Raises FormNeverIssued and FormAlreadyUsed.
    """
    form = state.get(PaperForm, form_id)
    if form is None:
        raise FormNeverIssued(
            f"{field}: form {form_id} was never issued. Read its number again; a form"
            " that was not handed out beforehand cannot be relied on.",
            field=field,
        )
    if form.status != "issued":
        how = "made void" if form.status == "void" else "written up"
        raise FormAlreadyUsed(
            f"{field}: form {form_id} was {how} by entry {form.ended_entry} already. A"
            " form is used once: read its number again.",
            field=field,
        )
    return form


def _check_issued_before(form: PaperForm, at: str, field: str) -> None:
    if at < form.at:
        raise FormIssuedLater(
            f"{field}: {at} was before form {form.form} was handed out, at {form.at}."
            " Check the number and the times on the paper.",
            field=field,
        )


def _ended(act: Act, form: PaperForm, status: str, ended_at: str) -> PaperForm:
    return replace(
        form,
        status=status,
        ended_at=ended_at,
        ended_entry=act.entry,
        ended_known_at=act.known_at,
    )


def _entries(entries: tuple[str, ...]) -> str:
    return f"entr{'y' if len(entries) == 1 else 'ies'} {listed(entries)}"
