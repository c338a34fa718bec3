from dataclasses import replace

from ledger.core.entry import sign
from ledger.core.files import StoredAttachment
from tests.ledger.core.builder import OFFICER, SCAN, attachment, lapse, opened_book
from tests.ledger.core.verdicts import BOOK, FILES, codes, verify


def test_every_cited_file_is_there_and_no_other():
    good = FILES[0]
    other = StoredAttachment("ab" * 32, 3, "ab" * 32)
    cases = [
        ((good,), set()),
        ((), {"attachment_missing"}),
        ((good, other), {"attachment_unsigned"}),
        ((replace(good, actual_sha256="cd" * 32),), {"attachment_digest"}),
        ((replace(good, size=7),), {"attachment_size"}),
    ]
    for files, expected in cases:
        assert codes(verify(BOOK.leaves, files=files)) == expected


def test_files_that_nobody_looked_at_could_not_be_checked():
    assert verify(BOOK.leaves, files=None).exit_code == 1
    assert verify(BOOK.leaves[:2], files=None).exit_code == 3


def test_one_file_cited_with_two_sizes_is_found():
    book = opened_book()
    for size in (len(SCAN), 4):
        book.say(attachments=[{**attachment(SCAN), "size": size}])
    (finding,) = verify(book.leaves, files=FILES).findings
    assert (finding.code, finding.seq) == ("attachment_size", 2)


def test_a_file_of_a_lapsed_statement_may_be_there():
    book = opened_book()
    quoted = book.statement(attachments=[attachment(SCAN)], entry_id=book.entry_id(77))
    first = sign(quoted, OFFICER.key, nonce=book.nonce())
    data = {**lapse(book), "statement": quoted, "signatures": [first.to_json()]}
    book.say("record.lapsed", data, signers=(), sign_class="server")
    assert verify(book.leaves, files=FILES).findings == ()
    assert verify(book.leaves, files=()).findings == ()
