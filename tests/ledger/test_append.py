"""The one way into a ledger: what is accepted, what is answered twice, what is not."""

import uuid

import pytest
from django.db import connection, transaction

from ledger import chain, nonces, read
from ledger.append import open_ledger
from ledger.core.base64text import to_base64
from ledger.core.entry import Signed
from ledger.core.merkle import tree_root
from ledger.models import Entry, Head, WorkNonce


class Refused(Exception):
    """A rule of the caller's."""


def refuse(*given):
    raise Refused


def counts():
    return Entry.objects.count(), WorkNonce.objects.count(), Head.objects.get().size


def test_an_entry_follows_the_one_before_it(site):
    first, second = site.append(), site.append()
    assert (first.seq, second.seq) == (1, 2)
    assert second.entry.previous == first.leaf_hash
    assert not first.replayed


def test_the_leaf_is_kept_byte_for_byte_and_the_root_is_the_tree_of_all(site):
    appended = [site.append() for _ in range(6)]
    leaves = [bytes(row.leaf) for row in Entry.objects.order_by("seq")]
    assert leaves[1:] == [item.entry.leaf for item in appended]
    hashes = [bytes(row.leaf_hash) for row in Entry.objects.order_by("seq")]
    for item in appended:
        assert item.root == tree_root(hashes[: item.seq + 1])
    assert read.head(site.id).root == appended[-1].root


def test_the_same_statement_again_is_answered_with_its_entry(site):
    signed = site.signed()
    first = site.append(signed)
    site.append()
    again = site.append(signed)
    assert again.replayed
    assert (again.entry, again.root) == (first.entry, first.root)
    assert counts()[0] == 3


def test_the_same_statement_signed_again_is_still_the_first_entry(site):
    statement = site.statement()
    first = site.append(site.signed(statement))
    again = site.append(site.signed(statement))
    assert again.replayed
    assert again.entry.signatures == first.entry.signatures


def test_a_replay_calls_neither_check_nor_projection(site):
    signed = site.signed()
    site.append(signed)
    assert site.append(signed, check=refuse, project=refuse).replayed


def test_the_same_id_with_another_statement_is_refused(site):
    entry_id = str(uuid.uuid4())
    site.append(site.signed(entry_id=entry_id))
    with pytest.raises(Exception, match="another statement") as refused:
        site.append(site.signed(entry_id=entry_id, mass_g="812.50"))
    assert refused.value.code == "entry_id_used"


def spoil_role(site):
    statement = site.statement()
    statement["signers"][0]["role"] = "security"
    return site.signed(statement)


def spoil_order(site):
    signed = site.signed()
    return Signed(signed.statement, signed.signatures[::-1])


def spoil_body(site):
    signed = site.signed()
    data = {**signed.statement["data"], "gross_mass_g": "912.40"}
    return Signed({**signed.statement, "data": data}, signed.signatures)


def one_signature(site):
    signed = site.signed()
    return Signed(signed.statement, signed.signatures[:1])


def same_line(site):
    return site.signed(site.statement("sol", "wim"))


def unknown_kind(site):
    return site.signed(kind="bar.polished")


def other_ledger(site):
    return site.signed(origin=site.ledger.origin.replace("7f3a", "0000"))


def wrong_class(site):
    return site.signed(site.statement("ana", sign_class="single"))


def person_as_machine(site):
    statement = site.statement("ana", sign_class="machine", kind="cycle.recorded")
    return site.signed(statement)


def false_root(site):
    return site.signed(basis={"root": "A" * 43 + "=", "size": 1})


def basis_of_the_future(site):
    return site.signed(basis={**read.basis(site.id), "size": 2})


def unknown_correction(site):
    leaf = "A" * 43 + "="
    return site.signed(corrects={"entry": str(uuid.uuid4()), "leaf": leaf})


def foreign_nonce(site):
    statement = site.statement()
    nonce = "A" * 22
    signatures = (
        site.signature(statement, "ana"),
        site.signature(statement, "wim", nonce=nonce),
    )
    return Signed(statement, signatures)


def one_nonce_twice(site):
    statement, nonce = site.statement(), nonces.issue(site.id, site.now)
    signatures = [site.signature(statement, name, nonce) for name in ("ana", "wim")]
    return Signed(statement, tuple(signatures))


def burnt_nonce(site):
    statement = site.statement()
    used = site.append().entry.signatures[0].nonce
    statement["basis"] = read.basis(site.id)
    signatures = (
        site.signature(statement, "ana", used),
        site.signature(statement, "wim"),
    )
    return Signed(statement, signatures)


def late_nonce(site):
    signed = site.signed()
    site.tick(minutes=10, seconds=1)
    return signed


def revoked_key(site):
    data = {
        "person": "wim",
        "key": site.statement()["signers"][1]["key"],
        "reason": "token lost",
        "suspect_from_seq": None,
    }
    statement = site.statement("sol", "ana", kind="key.revoked", data=data)
    signed = site.signed()
    site.append(site.signed(statement))
    return signed


def old_basis(site):
    signed = site.signed()
    site.append_many([site.signed() for _ in range(51)])
    return signed


CASES = [
    (spoil_role, "role_not_held"),
    (spoil_order, "signature_order"),
    (spoil_body, "signature_bad"),
    (one_signature, "signature_count"),
    (same_line, "slots_not_filled"),
    (unknown_kind, "kind_without_rule"),
    (other_ledger, "wrong_origin"),
    (wrong_class, "class_not_allowed"),
    (person_as_machine, "wrong_sort"),
    (false_root, "basis_root"),
    (basis_of_the_future, "basis_size"),
    (old_basis, "basis_lag"),
    (unknown_correction, "corrects_unknown"),
    (foreign_nonce, "nonce_refused"),
    (one_nonce_twice, "nonce_refused"),
    (burnt_nonce, "nonce_refused"),
    (late_nonce, "nonce_refused"),
    (revoked_key, "key_not_valid"),
]


@pytest.mark.parametrize(
    ("make", "code"), CASES, ids=[make.__name__ for make, _ in CASES]
)
def test_what_breaks_a_rule_of_the_record_leaves_no_trace(site, make, code):
    signed = make(site)
    before = counts()
    with pytest.raises(Exception, match=r".") as refused:
        site.append(signed)
    assert refused.value.code == code
    assert counts() == before
    goes_on = site.append(site.signed(site.statement("ana", "sol")))
    assert goes_on.seq == before[0]


def test_a_nonce_good_until_the_second_is_taken(site):
    signed = site.signed()
    site.tick(minutes=10)
    assert site.append(signed).seq == 1


def test_a_machine_signs_alone_what_it_may(site):
    statement = site.statement(
        "mill-gateway", sign_class="machine", kind="cycle.recorded", data={"flush": 7}
    )
    assert site.append(site.signed(statement)).seq == 1


def test_somebody_enrolled_may_sign_from_the_next_entry_on(site):
    site.append(site.enrolment("tam"))
    statement = site.statement("ana", "tam")
    assert site.append(site.signed(statement)).seq == 2


def test_a_correction_cites_the_entry_it_corrects(site):
    first = site.append()
    cited = {
        "entry": first.entry.entry_id,
        "leaf": to_base64(first.entry.leaf_hash),
    }
    assert site.append(site.signed(corrects=cited)).seq == 2


def test_the_place_is_known_to_check_and_projection(site):
    seen = []
    site.append(
        check=lambda context: seen.append((context.seq, context.keyring.size)),
        project=lambda context, entry: seen.append((context.at, entry.at, entry.seq)),
    )
    assert seen == [(1, 1), ("2026-09-24T12:00:00.123456Z",) * 2 + (1,)]


@pytest.mark.parametrize("step", ["check", "project"])
def test_a_refusal_by_the_caller_leaves_neither_entry_nor_state(site, step):
    signed = site.signed()
    before = counts()
    with pytest.raises(Refused):
        site.append(signed, **{step: refuse})
    assert counts() == before
    assert site.append(signed).seq == 1


def test_what_a_projection_wrote_goes_with_the_entry_it_belonged_to(site):
    def write_and_fail(context, entry):
        nonces.issue(site.id, site.now)
        raise Refused

    signed = site.signed()
    before = counts()
    with pytest.raises(Refused):
        site.append(signed, project=write_and_fail)
    assert counts() == before


def test_state_of_an_undone_append_is_never_kept(site):
    """The undone entry enrols a person; nobody may believe in her afterwards."""
    with pytest.raises(Refused):
        site.append(site.enrolment("tam"), project=refuse)
    assert read.keyring(site.id).person("tam") is None
    assert read.head(site.id).size == 1
    assert site.append().entry.previous == site.genesis.leaf_hash


def test_inside_somebody_elses_transaction_nothing_is_appended(site):
    signed = site.signed()
    with transaction.atomic(), pytest.raises(RuntimeError, match="durable"):
        site.append(signed)
    assert counts()[0] == 1


def test_a_clock_gone_back_is_held_and_marked(site):
    ahead = site.append()
    site.tick(days=-1)
    held = site.append()
    assert (held.entry.at, held.entry.clock_held) == (ahead.entry.at, True)
    site.tick(days=1, seconds=1)
    after = site.append()
    assert after.entry.at > held.entry.at
    assert not after.entry.clock_held


def test_a_file_of_statements_is_taken_whole(site):
    appended = site.append_many([site.signed() for _ in range(5)])
    assert [item.seq for item in appended] == [1, 2, 3, 4, 5]


def test_a_file_with_one_bad_statement_is_not_taken_at_all(site):
    statements = [site.signed(), spoil_body(site), site.signed()]
    before = counts()
    with pytest.raises(Exception, match="not a signature"):
        site.append_many(statements)
    assert counts() == before


def test_a_file_half_taken_before_is_completed(site):
    statements = [site.signed() for _ in range(4)]
    site.append_many(statements[:2])
    appended = site.append_many(statements)
    assert [item.replayed for item in appended] == [True, True, False, False]
    assert [item.seq for item in appended] == [1, 2, 3, 4]


def test_a_person_enrolled_in_a_file_signs_later_in_the_same_file(site):
    enrolment = site.enrolment("tam")
    statement = site.statement("ana", "tam")
    appended = site.append_many([enrolment, site.signed(statement)])
    assert [item.seq for item in appended] == [1, 2]


def test_another_process_that_appended_meanwhile_is_noticed(site):
    """What this process believes is checked against the head, not trusted."""
    site.append()
    stale = chain.current(site.id)
    site.append(site.enrolment("tam"))
    chain.publish(stale)
    assert site.append().seq == 3
    assert read.keyring(site.id).person("tam").line == "security"


def test_a_history_put_back_from_a_copy_is_not_mixed_with_the_old_one(site):
    """As after a restore: the process still believes in entries that are gone."""
    site.append()
    believed = chain.current(site.id).copy()
    believed.keyring = believed.keyring.empty()
    believed.size, believed.last_hash = 9, b"x" * 32
    chain.publish(believed)
    assert site.append().seq == 2
    assert read.head(site.id).size == 3


def test_a_head_that_disagrees_with_the_entries_stops_all_appending(site):
    site.append()
    trigger = "ledger_head_update"
    with connection.cursor() as cursor:
        on = "" if connection.vendor == "sqlite" else " ON ledger_head"
        cursor.execute(f"DROP TRIGGER {trigger}{on}")
        cursor.execute("UPDATE ledger_head SET frontier = %s", ["ab" * 32])
    with pytest.raises(Exception, match="verify_ledger") as refused:
        site.append()
    assert refused.value.code == "ledger_damaged"


def test_ledgers_in_one_database_are_chains_of_their_own(site, new_site, given):
    other = new_site(given.origin.replace("7f3a", "0000"))
    assert other.ledger.slug == "kestrel-ridge-000091c2"
    assert [site.append().seq, other.append().seq, site.append().seq] == [1, 1, 2]


def test_opening_the_same_ledger_again_is_a_replay(site, given):
    again = open_ledger(
        Signed(site.genesis.statement, site.genesis.signatures),
        now=site.now,
        **site.calls,
    )
    assert again.replayed
    assert again.entry == site.genesis


def test_another_opening_of_the_same_ledger_is_refused(site, given):
    other = given.genesis()
    other.statement["data"]["site"] = "Another"
    with pytest.raises(Exception, match="another statement") as refused:
        open_ledger(other, now=site.now, **site.calls)
    assert refused.value.code == "entry_id_used"
    assert counts()[0] == 1


def test_a_ledger_whose_opening_is_refused_does_not_exist(fresh_db, given):
    signed = given.genesis()
    spoiled = Signed(signed.statement, signed.signatures[::-1])
    calls = {"check": given.accept, "project": given.keep_nothing}
    with pytest.raises(Exception, match="signers' order"):
        open_ledger(spoiled, now=given.now, **calls)
    assert read.ledgers() == []
