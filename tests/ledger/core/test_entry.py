import hashlib

import pytest

from ledger.core.canonical import decode, encode
from ledger.core.entry import (
    STATEMENT_SIZE_BYTES_MAX,
    Signature,
    Signed,
    assemble,
    build_statement,
    check_form,
    format_at,
    nonces_of,
    parse_leaf,
    sign,
    statement_bytes,
    statement_digest,
)
from ledger.core.errors import (
    LedgerRefusal,
    MalformedEntry,
    MalformedStatement,
    NotCanonical,
    UnknownFormat,
)
from tests.ledger.core.builder import (
    OFFICER,
    SCAN,
    SECURITY,
    START,
    WITNESS,
    attachment,
    key_of,
    lapse,
    opened_book,
    twelve_entries,
)

BOOK = opened_book()
SAID = BOOK.statement(attachments=[attachment(SCAN)])
SIGNED = BOOK.sign(SAID)
ROOT = SAID["basis"]["root"]
SIGNER = SAID["signers"][0]


def test_every_entry_of_a_ledger_goes_both_ways_byte_for_byte():
    book = twelve_entries()
    previous = b""
    for seq, leaf in enumerate(book.leaves):
        entry = parse_leaf(leaf)
        again = assemble(
            entry.signed,
            seq=entry.seq,
            previous=entry.previous,
            at=entry.at,
            clock_held=entry.clock_held,
        )
        assert again == leaf
        assert (entry.seq, entry.previous) == (seq, previous)
        previous = entry.leaf_hash


def test_the_statement_is_found_within_the_leaf_whatever_the_text_says():
    """The digest is of the bytes in the leaf; they are the statement's own."""
    lure = ',"statement":{"class":"two"},"signatures":[]}'
    book = opened_book()
    for entry in (
        book.say(data={"note": lure, "inner": {"statement": {"statement": lure}}}),
        book.say("record.lapsed", lapse(book), signers=(), sign_class="server"),
        *(parse_leaf(leaf) for leaf in twelve_entries().leaves),
    ):
        octets = statement_bytes(entry.statement)
        assert entry.digest == hashlib.sha256(octets).digest()
        assert entry.digest == statement_digest(entry.statement)


BAD_STATEMENTS = {
    "format is text": {"format": "1"},
    "format is true": {"format": True},
    "version zero": {"v": 0},
    "version is true": {"v": True},
    "version is text": {"v": "1"},
    "kind without family": {"kind": "weighed"},
    "kind in capitals": {"kind": "Hopper.weighed"},
    "kind with three parts": {"kind": "a.b.c"},
    "kind with a line feed": {"kind": "a.b\n"},
    "origin without its random part": {"origin": "goldroom.example/larkfield"},
    "origin with a plus sign": {"origin": "a+b.example/x/" + "0" * 32},
    "origin with a space": {"origin": "a b.example/x/" + "0" * 32},
    "origin in capitals": {"origin": "A.example/x/" + "0" * 32},
    "origin with a line feed": {"origin": "a.example/x/" + "0" * 32 + "\n"},
    "entry id in capitals": {"entry_id": "0192F0C4-7A10-7C3E-9B5A-5D1F0A2B3C4D"},
    "entry id without hyphens": {"entry_id": "0" * 32},
    "entry id is null": {"entry_id": None},
    "time without offset": {"occurred_at": "2026-03-02T06:00:00"},
    "time in Zulu": {"occurred_at": "2026-03-02T06:00:00Z"},
    "time with a fraction": {"occurred_at": "2026-03-02T06:00:00.5+02:00"},
    "time with a space": {"occurred_at": "2026-03-02 06:00:00+02:00"},
    "time on no day": {"occurred_at": "2026-02-30T06:00:00+02:00"},
    "time at no hour": {"occurred_at": "2026-03-02T24:00:00+02:00"},
    "leap second": {"occurred_at": "2026-06-30T23:59:60+00:00"},
    "unknown offset": {"occurred_at": "2026-03-02T06:00:00-00:00"},
    "offset of fifteen hours": {"occurred_at": "2026-03-02T06:00:00+15:00"},
    "time in other digits": {"occurred_at": "٢٠٢٦-03-02T06:00:00+02:00"},
    "data is a list": {"data": []},
    "basis without root": {"basis": {"size": 1}},
    "basis with a spare field": {"basis": {"size": 1, "root": ROOT, "at": "x"}},
    "basis of negative size": {"basis": {"size": -1, "root": ROOT}},
    "basis root too short": {"basis": {"size": 1, "root": "AAAA"}},
    "basis root respelled": {"basis": {"size": 1, "root": ROOT.replace("=", "")}},
    "corrects without leaf": {"corrects": {"entry": SAID["entry_id"]}},
    "corrects is text": {"corrects": SAID["entry_id"]},
    "attachments is null": {"attachments": None},
    "attachment twice": {"attachments": [attachment(SCAN), attachment(SCAN, "b")]},
    "attachment with a path": {"attachments": [attachment(SCAN, "../scan.png")]},
    "attachment hidden": {"attachments": [attachment(SCAN, ".scan")]},
    "attachment in backslashes": {"attachments": [attachment(SCAN, "a\\b")]},
    "attachment digest in capitals": {
        "attachments": [{**attachment(SCAN), "sha256": "AB" * 32}]
    },
    "attachment of no size": {"attachments": [{**attachment(SCAN), "size": "12"}]},
    "attachment of no media type": {
        "attachments": [{**attachment(SCAN), "media": "x"}]
    },
    "sixty-five attachments": {
        "attachments": [attachment(bytes([n])) for n in range(65)]
    },
    "class unknown": {"class": "three"},
    "class is a list": {"class": ["two"]},
    "one signer": {"signers": [SIGNER]},
    "no signers": {"signers": []},
    "five signers": {
        "signers": [
            {**SIGNER, "person": f"p{n}", "key": key_of(str(n)).key_id}
            for n in range(5)
        ]
    },
    "signers is an object": {"signers": {}},
    "the same person twice": {
        "signers": [SIGNER, {**SIGNER, "key": key_of("second").key_id}]
    },
    "the same key twice": {"signers": [SIGNER, {**SIGNER, "person": "other"}]},
    "signer without meaning": {
        "signers": [{**SIGNER, "meaning": " "}, SAID["signers"][1]]
    },
    "signer's meaning in two lines": {
        "signers": [{**SIGNER, "meaning": "seen\nand more"}, SAID["signers"][1]]
    },
    "signer's meaning too long": {
        "signers": [{**SIGNER, "meaning": "x" * 501}, SAID["signers"][1]]
    },
    "signer's role in two lines": {
        "signers": [{**SIGNER, "role": "officer\nx"}, SAID["signers"][1]]
    },
    "signer's key cut": {"signers": [{**SIGNER, "key": "abc"}, SAID["signers"][1]]},
    "signer's person with a space": {
        "signers": [{**SIGNER, "person": "o varga"}, SAID["signers"][1]]
    },
    "spare field": {"comment": "x"},
}


@pytest.mark.parametrize("change", BAD_STATEMENTS.values(), ids=BAD_STATEMENTS.keys())
def test_a_malformed_envelope_is_refused_with_its_field(change):
    with pytest.raises(LedgerRefusal) as refused:
        check_form({**SAID, **change})
    name = next(iter(change))
    assert refused.value.field.startswith(name) or name == "comment"
    assert len(refused.value.message) > 20


@pytest.mark.parametrize("field", sorted(SAID))
def test_a_missing_field_is_refused(field):
    rest = {name: value for name, value in SAID.items() if name != field}
    with pytest.raises(MalformedStatement):
        check_form(rest)


@pytest.mark.parametrize("value", [None, [], "x", 1, True])
def test_what_is_no_object_is_no_statement(value):
    with pytest.raises(MalformedStatement):
        check_form(value)


@pytest.mark.parametrize(
    ("sign_class", "signers", "accepted"),
    [
        ("two", 1, False),
        ("two", 2, True),
        ("two", 4, True),
        ("two", 5, False),
        ("machine", 0, False),
        ("machine", 1, True),
        ("machine", 2, False),
        ("single", 1, True),
        ("single", 2, False),
        ("server", 0, True),
        ("server", 1, False),
        ("genesis", 1, False),
        ("genesis", 2, True),
        ("genesis", 30, True),
        ("genesis", 65, False),
    ],
)
def test_each_class_has_its_number_of_signers(sign_class, signers, accepted):
    said = {
        **SAID,
        "class": sign_class,
        "signers": [
            {**SIGNER, "person": f"p{n}", "key": key_of(str(n)).key_id}
            for n in range(signers)
        ],
    }
    if accepted:
        check_form(said)
    else:
        with pytest.raises(MalformedStatement) as refused:
            check_form(said)
        assert refused.value.code == "number_of_signers"


def test_one_person_under_two_keys_is_the_same_signer():
    second = {**SIGNER, "key": key_of("second").key_id, "role": "witness"}
    with pytest.raises(MalformedStatement) as refused:
        check_form({**SAID, "signers": [SIGNER, second]})
    assert refused.value.code == "same_signer"


def test_building_needs_the_main_fields():
    with pytest.raises(MalformedStatement, match="basis"):
        build_statement(kind="hopper.weighed", data={})


def test_a_float_in_the_data_is_refused_where_it_stands():
    with pytest.raises(NotCanonical) as refused:
        check_form({**SAID, "data": {"net_g": 12.34}})
    assert refused.value.field == "data.net_g"


def test_a_statement_leaves_room_for_being_quoted_when_it_lapses():
    text = "x" * (STATEMENT_SIZE_BYTES_MAX - len(encode(SAID)) - 20)
    said = {**SAID, "data": {"note": text}}
    check_form(said)
    with pytest.raises(MalformedStatement, match="Split it"):
        check_form({**SAID, "data": {"note": text + "x" * 100}})
    lapsed = lapse(BOOK)
    first = sign(said, OFFICER.key, nonce=BOOK.nonce()).to_json()
    lapsed |= {"statement": said, "signatures": [first] * 4}
    quoting = BOOK.statement("record.lapsed", lapsed, signers=(), sign_class="server")
    leaf = assemble(Signed(quoting, ()), seq=9, previous=bytes(32), at=START)
    assert parse_leaf(leaf).data["statement"] == said


def test_three_hundred_cycles_fit_into_one_statement():
    cycle = {
        "abort_reason": None,
        "ended_at": "2026-03-02T06:25:00+02:00",
        "feed_t": "12.34",
        "flush": 140_999,
        "started_at": "2026-03-02T06:00:00+02:00",
        "unit": "unit-2",
    }
    said = {**SAID, "data": {"cycles": [cycle] * 300, "counter_epoch": 3}}
    check_form(said)


def test_an_unknown_format_is_no_refusal():
    with pytest.raises(UnknownFormat):
        check_form({**SAID, "format": 2})
    value = decode(assemble(SIGNED, seq=1, previous=bytes(32), at=START))
    value["statement"] = {"format": 7, "something": "new"}
    with pytest.raises(UnknownFormat):
        parse_leaf(encode(value))


BAD_SERVERS = {
    "seq is text": {"seq": "1"},
    "seq is true": {"seq": True},
    "seq is negative": {"seq": -1},
    "previous is null": {"previous": None},
    "previous too short": {"previous": "AAAA"},
    "previous respelled": {"previous": "A" * 42 + "B="},
    "clock without fraction": {"at": "2026-03-02T04:00:00Z"},
    "clock with three decimals": {"at": "2026-03-02T04:00:00.123Z"},
    "clock with an offset": {"at": "2026-03-02T04:00:00.123456+00:00"},
    "clock on no day": {"at": "2026-02-30T04:00:00.123456Z"},
    "clock held is false": {"clock_held": False},
    "clock held is text": {"clock_held": "true"},
    "spare field": {"host": "x"},
}


def leaf_value():
    return decode(assemble(SIGNED, seq=1, previous=bytes(32), at=START))


@pytest.mark.parametrize("change", BAD_SERVERS.values(), ids=BAD_SERVERS.keys())
def test_a_malformed_server_part_is_refused(change):
    value = leaf_value()
    value["server"] |= change
    with pytest.raises(LedgerRefusal):
        parse_leaf(encode(value))


BAD_SIGNATURES = {
    "signature too short": {"signature": "AAAA"},
    "signature respelled": {"signature": "A" * 85 + "B=="},
    "nonce too short": {"nonce": "AAAA"},
    "nonce padded": {"nonce": "AAAAAAAAAAAAAAAAAAAAAA=="},
    "nonce respelled": {"nonce": "AAAAAAAAAAAAAAAAAAAAAB"},
    "algorithm is null": {"alg": None},
    "algorithm is empty": {"alg": ""},
    "key is a number": {"key": 7},
    "spare field": {"at": "x"},
}


@pytest.mark.parametrize("change", BAD_SIGNATURES.values(), ids=BAD_SIGNATURES.keys())
def test_a_malformed_signature_is_refused(change):
    value = leaf_value()
    value["signatures"][0] |= change
    with pytest.raises(LedgerRefusal):
        parse_leaf(encode(value))


@pytest.mark.parametrize(
    "leaf",
    [
        pytest.param(b"[]", id="a list"),
        pytest.param(b"null", id="null"),
        pytest.param(b'"x"', id="text"),
        pytest.param(b"{}", id="empty"),
        pytest.param(b'{"server":{},"signatures":[],"statement":{}}', id="empty parts"),
        pytest.param(
            b'{"server":null,"signatures":null,"statement":null}', id="null parts"
        ),
        pytest.param(
            b'{"extra":1,"server":{},"signatures":[],"statement":{}}', id="spare part"
        ),
    ],
)
def test_what_is_no_entry_is_refused(leaf):
    with pytest.raises(LedgerRefusal):
        parse_leaf(leaf)


@pytest.mark.parametrize("value", [None, {}, "x", [1], [None], [[]]])
def test_signatures_that_are_no_list_of_signatures_are_refused(value):
    whole = leaf_value()
    whole["signatures"] = value
    with pytest.raises(LedgerRefusal):
        parse_leaf(encode(whole))


def test_what_is_written_must_be_what_is_read():
    with pytest.raises(LedgerRefusal):
        assemble(SIGNED, seq=1, previous=bytes(31), at=START)
    with pytest.raises(LedgerRefusal):
        assemble(SIGNED, seq=-1, previous=b"", at=START)


def test_the_server_clock_is_written_in_utc_with_six_decimals():
    assert format_at(START) == "2026-03-02T04:00:00.250001Z"
    assert format_at(START.replace(microsecond=0)) == "2026-03-02T04:00:00.000000Z"
    with pytest.raises(MalformedEntry):
        format_at(START.replace(tzinfo=None))


def test_only_a_named_signer_can_sign():
    with pytest.raises(MalformedStatement) as refused:
        sign(SAID, SECURITY.key, nonce=BOOK.nonce())
    assert refused.value.field == "signers"


def test_a_signature_goes_both_ways():
    for signature in SIGNED.signatures:
        assert Signature.from_json(signature.to_json()) == signature


def test_a_lapsed_statement_uses_up_the_nonces_it_quotes():
    data = lapse(BOOK)
    said = BOOK.statement("record.lapsed", data, signers=(), sign_class="server")
    assert nonces_of(Signed(said, ())) == [data["signatures"][0]["nonce"]]
    assert len(nonces_of(SIGNED)) == 2
    assert WITNESS.key.key_id == SIGNED.signatures[1].key
