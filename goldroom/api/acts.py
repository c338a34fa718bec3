"""Acts: checking, signing first and next, taking back; with the key here or there."""

from typing import Any

from goldroom.api.bodies import (
    all_refusals,
    entry_id_in,
    only,
    opening_in,
    openings_in,
    saying_in,
    text_in,
)
from goldroom.api.operation import Answered, Asked
from goldroom.api.plainly import BASE, entry_plain, proposal_plain, words_of
from goldroom.api.problems import Several
from goldroom.errors import Refusal
from goldroom.faces import acts, files, own_key, reading
from goldroom.faces.reader import Reader
from goldroom.reports.plain import as_plain
from goldroom.reports.usual import usual_ranges
from goldroom.sayings import Saying
from goldroom.statements.cautions import cautions_of
from ledger.errors import NoSuchProposal


def check(asked: Asked) -> Answered:
    """Tell what a statement would say; keep nothing."""
    saying = saying_in(asked.reader, asked.body)
    statement = _with_all(saying, lambda: acts.check(asked.reader, saying))
    usual = usual_ranges(asked.reader.ledger_id, saying.kind, statement["data"])
    return Answered(
        value={
            **words_of(asked.reader, statement),
            "data": statement["data"],
            "usual": [as_plain(each) for _, each in sorted(usual.items())],
            "cautions": as_plain(cautions_of(saying.kind)),
        }
    )


def state(asked: Asked) -> Answered:
    """Take in a statement with the first signature, or with all of them."""
    body = dict(asked.body)
    openings = openings_in(body)
    body.pop("signatures")
    saying = saying_in(asked.reader, body)
    before = _known(asked.reader, saying.entry_id)
    first, *others = openings
    done = _with_all(
        saying, lambda: acts.sign_first(asked.request, asked.reader, saying, first)
    )
    for each in others:
        if done.appended is None and each.person not in done.signed:
            done = acts.sign_next(asked.request, asked.reader, saying.entry_id, each)
    return _came_of_it(asked.reader, before, done)


def prepare(asked: Asked) -> Answered:
    """Give what the first signer signs on a machine of their own."""
    saying = saying_in(asked.reader, asked.body)
    made = _with_all(saying, lambda: own_key.prepare(asked.reader, saying))
    return Answered(value=as_plain(made))


def state_signed(asked: Asked) -> Answered:
    """Take in a prepared statement that was signed elsewhere."""
    only(asked.body, "entry_id", "statement", "signature")
    entry_id = entry_id_in(asked.body)
    before = _known(asked.reader, entry_id)
    octets = text_in(asked.body, "statement")
    signature = asked.body.get("signature")
    done = own_key.take_first(asked.request, asked.reader, octets, signature)
    return _came_of_it(asked.reader, before, done)


def proposals(asked: Asked) -> Answered:
    """List what waits for signatures, oldest first."""
    found = acts.all_waiting(asked.reader)
    return Answered(
        value={"proposals": [proposal_plain(asked.reader, each) for each in found]}
    )


def proposal(asked: Asked) -> Answered:
    """Tell one statement that waits, or what became of it."""
    found = acts.waiting_or_entry(asked.reader, asked.path["entry_id"])
    return Answered(value=proposal_plain(asked.reader, found))


def prepare_next(asked: Asked) -> Answered:
    """Give what the reader signs of a waiting statement, elsewhere."""
    only(asked.body)
    return Answered(
        value=as_plain(own_key.prepare_next(asked.reader, asked.path["entry_id"]))
    )


def sign_next(asked: Asked) -> Answered:
    """Add a signature: by a passphrase that opens the key, or made elsewhere."""
    entry_id, body = asked.path["entry_id"], asked.body
    before = acts.waiting_or_entry(asked.reader, entry_id)
    if "signature" in body:
        only(body, "signature")
        done = own_key.add_next(
            asked.request, asked.reader, entry_id, body["signature"]
        )
    else:
        opening = opening_in(body)
        if opening.person in before.signed:
            return _came_of_it(asked.reader, before, before)
        done = acts.sign_next(asked.request, asked.reader, entry_id, opening)
    return _came_of_it(asked.reader, before, done)


def take_back(asked: Asked) -> Answered:
    """Take back a waiting statement, or refuse to sign it, with the reason."""
    only(asked.body, "detail")
    detail = text_in(asked.body, "detail")
    seq = acts.take_back(asked.reader, asked.path["entry_id"], detail=detail)
    told = reading.entry(asked.reader, seq)
    return Answered(
        value=entry_plain(told), status=201, location=f"{BASE}/entries/{seq}"
    )


def keep_file(asked: Asked) -> Answered:
    """Keep a file until a statement cites it."""
    name, media = asked.query["name"], asked.query.get("media", "")
    return Answered(value=files.keep(asked.reader, name, media, asked.body), status=201)


def _with_all(saying: Saying, act: Any) -> Any:
    """Return what an act gives; raise every refusal of the fields together."""
    try:
        return act()
    except Refusal as first:
        found = all_refusals(saying, first)
        if len(found) > 1:
            raise Several(found) from first
        raise


def _known(reader: Reader, entry_id: str) -> Any:
    try:
        return acts.waiting_or_entry(reader, entry_id)
    except NoSuchProposal:
        return None


def _came_of_it(reader: Reader, before: Any, done: Any) -> Answered:
    """Return 202 for what waits, 201 for an entry, 200 for what was so before."""
    is_same = before is not None and before.signed == done.signed
    if done.appended is None:
        return Answered(
            value=proposal_plain(reader, done),
            status=200 if is_same else 202,
            location=f"{BASE}/proposals/{done.entry_id}",
        )
    told = reading.entry(reader, done.appended.seq)
    return Answered(
        value=entry_plain(told),
        status=200 if is_same else 201,
        location=f"{BASE}/entries/{told.seq}",
    )
