"""Statements that wait for signatures."""

import threading
from datetime import timedelta

import pytest
from django.db import connection

from ledger import nonces, proposals, read
from ledger.errors import (
    EntryIdUsed,
    NonceRefused,
    NoSuchProposal,
    ProposalExpired,
    ProposalLapsed,
    ProposalRefused,
)
from ledger.models import WorkNonce, WorkProposal
from ledger.proposal import Lapse


def propose(site, statement=None, person="ana", **given):
    statement = statement or site.statement()
    signature = site.signature(statement, person)
    return proposals.propose(site.id, statement, signature, now=site.now, **given)


def countersign(site, proposal, person="wim", **calls):
    signature = site.signature(proposal.statement, person)
    return proposals.add_signature(
        site.id,
        proposal.entry_id,
        signature,
        now=site.now,
        **{**site.calls, **calls},
    )


def refuse(site, proposal, reason="refused", detail="the seal number was misread"):
    return proposals.refuse(
        site.id, proposal.entry_id, Lapse(reason, detail), now=site.now, **site.calls
    )


def test_a_proposal_tells_who_has_signed_and_who_has_not(site):
    proposal = propose(site)
    assert (proposal.signed, proposal.missing) == (("ana",), ("wim",))
    assert proposals.waiting(site.id) == [proposal]


def test_the_second_signature_makes_the_entry(site):
    proposal = countersign(site, propose(site))
    assert proposal.appended.seq == 1
    assert (proposal.signed, proposal.missing) == (("ana", "wim"), ())
    assert proposals.waiting(site.id) == []
    assert read.entry(site.id, 1).statement == proposal.statement


def test_the_second_named_may_sign_first(site):
    proposal = propose(site, person="wim")
    assert proposal.missing == ("ana",)
    entry = countersign(site, proposal, "ana").appended.entry
    assert [item.key for item in entry.signatures] == [
        signer["key"] for signer in entry.statement["signers"]
    ]


def test_three_may_sign_one_after_the_other(site):
    proposal = propose(site, site.statement("ana", "wim", "max"))
    proposal = countersign(site, proposal, "max")
    assert (proposal.appended, proposal.missing) == (None, ("wim",))
    assert countersign(site, proposal, "wim").appended.seq == 1


def test_a_first_signature_keeps_however_long_the_proposal_waits(site):
    proposal = propose(site)
    site.tick(hours=11)
    assert countersign(site, proposal).appended.seq == 1
    assert not WorkNonce.objects.exists()


def test_the_same_proposal_twice_is_one(site):
    statement = site.statement()
    first, again = propose(site, statement), propose(site, statement)
    assert first == again
    assert WorkProposal.objects.count() == 1


def test_the_same_signature_twice_is_one(site):
    proposal = propose(site, site.statement("ana", "wim", "max"))
    once = countersign(site, proposal, "max")
    assert countersign(site, proposal, "max") == once


def test_a_proposal_of_another_statement_under_the_same_id_is_refused(site):
    first = propose(site)
    other = site.statement(entry_id=first.entry_id, mass_g="812.50")
    with pytest.raises(EntryIdUsed):
        propose(site, other)


def test_after_the_last_signature_every_repetition_is_answered_with_the_entry(site):
    proposal = propose(site)
    done = countersign(site, proposal)
    again = countersign(site, proposal)
    assert again.appended.replayed
    assert again.appended.entry == done.appended.entry
    assert propose(site, proposal.statement).appended.entry == done.appended.entry
    assert read.head(site.id).size == 2


def test_what_the_callers_rules_refuse_stays_a_proposal(site):
    """Good at the first signature, bad at the second, good again later."""
    proposal = propose(site)

    def hopper_is_empty(context):
        raise ProposalRefused("The hopper was emptied meanwhile.")

    with pytest.raises(ProposalRefused, match="hopper"):
        countersign(site, proposal, check=hopper_is_empty)
    assert proposals.get(site.id, proposal.entry_id) == proposal
    assert countersign(site, proposal).appended.seq == 1


FIRST_REFUSED = [
    (lambda site: site.statement("sol", "wim"), "sol", "slots_not_filled"),
    (lambda site: site.statement(kind="bar.polished"), "ana", "kind_without_rule"),
    (
        lambda site: site.statement("ana", sign_class="single", kind="metal.secured"),
        "ana",
        "proposal_refused",
    ),
    (
        lambda site: site.statement(basis={"root": "A" * 43 + "=", "size": 1}),
        "ana",
        "basis_root",
    ),
    (
        lambda site: site.statement(origin=site.ledger.origin.replace("7f", "00")),
        "ana",
        "wrong_origin",
    ),
]


@pytest.mark.parametrize(("make", "person", "code"), FIRST_REFUSED)
def test_what_could_never_become_an_entry_is_not_waited_for(site, make, person, code):
    with pytest.raises(Exception, match=r".") as refused:
        propose(site, make(site), person)
    assert refused.value.code == code
    assert not WorkProposal.objects.exists()


def test_a_signature_that_does_not_verify_is_not_kept(site):
    statement = site.statement()
    other = site.signature({**statement, "v": 2}, "ana")
    with pytest.raises(Exception, match="not a signature") as refused:
        proposals.propose(site.id, statement, other, now=site.now)
    assert refused.value.code == "signature_bad"


def test_a_signature_by_somebody_not_named_is_refused(site):
    proposal = propose(site)
    other = site.statement("ana", "sol")
    with pytest.raises(Exception, match="no such signer"):
        proposals.add_signature(
            site.id,
            proposal.entry_id,
            site.signature(other, "sol"),
            now=site.now,
            **site.calls,
        )


def test_a_first_signature_with_a_used_nonce_leaves_no_proposal(site):
    nonce = site.append().entry.signatures[0].nonce
    statement = site.statement()
    with pytest.raises(NonceRefused):
        proposals.propose(
            site.id, statement, site.signature(statement, "ana", nonce), now=site.now
        )
    assert not WorkProposal.objects.exists()


def test_the_nonce_of_a_waiting_signature_serves_no_other_statement(site):
    proposal = propose(site)
    nonce = proposal.signatures[0].nonce
    statement = site.statement()
    with pytest.raises(NonceRefused, match="belongs to"):
        proposals.propose(
            site.id, statement, site.signature(statement, "ana", nonce), now=site.now
        )


def test_nobody_signs_a_proposal_that_never_was(site):
    statement = site.statement()
    signature = site.signature(statement, "wim")
    with pytest.raises(NoSuchProposal):
        proposals.add_signature(
            site.id, statement["entry_id"], signature, now=site.now, **site.calls
        )


def test_a_refused_proposal_becomes_a_lapsed_entry_with_its_signatures(site):
    proposal = propose(site)
    lapsed = refuse(site, proposal).entry
    assert lapsed.kind == "record.lapsed"
    assert lapsed.data["reason"] == "refused"
    assert lapsed.data["detail"] == "the seal number was misread"
    assert lapsed.data["statement"] == proposal.statement
    assert lapsed.data["signatures"] == [item.to_json() for item in proposal.signatures]
    assert lapsed.signatures == ()
    assert not WorkProposal.objects.exists()
    assert not WorkNonce.objects.filter(nonce=proposal.signatures[0].nonce).exists()


def test_what_has_lapsed_can_be_neither_signed_nor_proposed_again(site):
    proposal = propose(site)
    refuse(site, proposal)
    with pytest.raises(ProposalLapsed, match="entry 1"):
        countersign(site, proposal)
    with pytest.raises(ProposalLapsed):
        propose(site, proposal.statement)
    with pytest.raises(ProposalLapsed):
        refuse(site, proposal)
    with pytest.raises(ProposalLapsed):
        site.append(site.signed(proposal.statement))


def test_what_is_an_entry_cannot_lapse(site):
    proposal = propose(site)
    countersign(site, proposal)
    with pytest.raises(ProposalRefused, match="entry 1"):
        refuse(site, proposal)


def test_expired_proposals_lapse_and_the_others_wait_on(site):
    late = propose(site, lifetime=timedelta(minutes=30))
    waits = propose(site)
    unused = nonces.issue(site.id, site.now)
    site.tick(minutes=31)
    with pytest.raises(ProposalExpired):
        countersign(site, late)
    lapsed = proposals.expire(site.id, now=site.now, **site.calls)
    assert [item.entry.data["reason"] for item in lapsed] == ["expired"]
    assert lapsed[0].entry.data["statement"] == late.statement
    assert late.expires_at in lapsed[0].entry.data["detail"]
    assert proposals.waiting(site.id) == [waits]
    assert not WorkNonce.objects.filter(nonce=unused).exists()
    assert WorkNonce.objects.filter(held_by=waits.entry_id).exists()


def test_a_proposal_that_is_signed_while_others_expire_is_no_hindrance(
    site, monkeypatch
):
    late = propose(site, lifetime=timedelta(minutes=30))
    other = propose(site, lifetime=timedelta(minutes=30))
    refuse_now = proposals.refuse

    def refuse_late(ledger_id, entry_id, why, **given):
        if entry_id == late.entry_id:
            refuse_now(ledger_id, entry_id, Lapse("withdrawn"), **given)
        return refuse_now(ledger_id, entry_id, why, **given)

    monkeypatch.setattr(proposals, "refuse", refuse_late)
    lapsed = proposals.expire(site.id, now=site.now + timedelta(hours=1), **site.calls)
    assert [item.entry.data["statement"]["entry_id"] for item in lapsed] == [
        other.entry_id
    ]


def test_a_lapse_quotes_every_signature_or_comes_second(site):
    """Somebody signs between the moment a lapse is written and the head's lock."""
    proposal = propose(site, site.statement("ana", "wim", "sol"))
    late = proposals.get(site.id, proposal.entry_id)

    def signed_meanwhile(ledger_id, entry_id):
        countersign(site, proposal)
        return late

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(proposals, "get", signed_meanwhile)
        with pytest.raises(NoSuchProposal, match="Look at it again"):
            refuse(site, proposal)
    assert read.head(site.id).size == 1
    assert len(refuse(site, proposal).entry.data["signatures"]) == 2
    assert not WorkNonce.objects.filter(held_by=proposal.entry_id).exists()


def test_two_second_signatures_at_once_make_one_entry(site):
    proposal = propose(site)
    signatures = [site.signature(proposal.statement, "wim") for _ in range(6)]
    results, errors = [], []
    ready = threading.Barrier(len(signatures))

    def run(signature):
        try:
            ready.wait()
            done = proposals.add_signature(
                site.id, proposal.entry_id, signature, now=site.now, **site.calls
            )
            results.append(done.appended)
        except Exception as error:
            errors.append(error)
        finally:
            connection.close()

    threads = [threading.Thread(target=run, args=(item,)) for item in signatures]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert errors == []
    assert sorted(item.replayed for item in results) == [False] + [True] * 5
    assert {item.entry.leaf for item in results} == {read.entry(site.id, 1).leaf}
    assert read.head(site.id).size == 2


def test_signing_and_refusing_at_once_have_one_outcome(site):
    proposal = propose(site)
    signature = site.signature(proposal.statement, "wim")
    outcomes = []
    ready = threading.Barrier(2)

    def run(work):
        try:
            ready.wait()
            work()
            outcomes.append("done")
        except (ProposalLapsed, ProposalRefused, EntryIdUsed, NoSuchProposal):
            outcomes.append("refused")
        finally:
            connection.close()

    def sign():
        proposals.add_signature(
            site.id, proposal.entry_id, signature, now=site.now, **site.calls
        )

    threads = [
        threading.Thread(target=run, args=(work,))
        for work in (sign, lambda: refuse(site, proposal))
    ]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert sorted(outcomes) == ["done", "refused"]
    assert read.head(site.id).size == 2


def test_what_waits_is_read_with_its_kind_and_the_time_of_its_first_signature(site):
    proposal = propose(site)
    assert read.waiting(site.id) == [
        read.Waiting(
            entry_id=proposal.entry_id,
            kind=proposal.statement["kind"],
            since=proposal.created_at,
        )
    ]
    countersign(site, proposal)
    assert read.waiting(site.id) == []
