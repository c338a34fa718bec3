import base64
import hashlib

import pytest
from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.hazmat.primitives.serialization import Encoding, PublicFormat

from ledger.core.base64text import to_base64
from ledger.core.errors import MalformedBase64, MalformedStatement, UnsafeKey
from ledger.core.signing import (
    SigningKey,
    enrolled_key,
    generate_key,
    is_key_proved,
    is_signed_by,
    key_id,
    new_nonce,
    public_key,
    raw_of_spki,
    sign_statement,
    signing_text,
    spki_of_raw,
)
from tests.ledger.core.builder import ORIGIN, key_of
from tests.ledger.core.vectors import flip_bit, load

KEY = key_of("signing")
DIGEST = bytes(range(32))
NONCE = "AAECAwQFBgcICQoLDA0ODw"
GROUP_ORDER = 2**252 + 27742317777372353535851937790883648493


@pytest.mark.parametrize(
    "case",
    [
        pytest.param(
            case,
            id=f"test {case['test']}",
            marks=pytest.mark.source(f"RFC 8032 section 7.1 test {case['test']}"),
        )
        for case in load("ed25519.json")["cases"]
    ],
)
def test_published_signatures_are_made_and_accepted(case):
    key = SigningKey.from_seed(bytes.fromhex(case["seed"]))
    message = bytes.fromhex(case["message"])
    signature = bytes.fromhex(case["signature"])
    assert raw_of_spki(key.spki).hex() == case["public"]
    assert key.sign(message) == signature
    assert is_signed_by(key.spki, signature, message)
    assert not is_signed_by(key.spki, signature, message + b"\0")
    for bit in range(512):
        assert not is_signed_by(key.spki, flip_bit(signature, bit), message)


@pytest.mark.parametrize("size", [0, 1, 63, 65, 128])
def test_bytes_of_another_length_are_no_signature(size):
    assert not is_signed_by(KEY.spki, bytes(size), b"message")


def test_the_second_form_of_a_signature_is_refused():
    """S plus the group order satisfies the equation; RFC 8032 5.1.7 excludes it."""
    signature = KEY.sign(b"message")
    scalar = int.from_bytes(signature[32:], "little") + GROUP_ORDER
    other = signature[:32] + scalar.to_bytes(32, "little")
    assert not is_signed_by(KEY.spki, other, b"message")


def test_the_signed_text_is_five_lines():
    text = signing_text(origin=ORIGIN, role="officer", digest=DIGEST, nonce=NONCE)
    assert (
        text
        == (
            f"goldroom.ledger/sign/v1\n{ORIGIN}\nofficer\n{DIGEST.hex()}\n{NONCE}\n"
        ).encode()
    )


def test_the_key_id_is_the_hash_of_a_named_text():
    head = b"goldroom.ledger/key/v1\ned25519-file\n"
    digest = hashlib.sha256(head + KEY.spki).digest()
    assert base64.urlsafe_b64encode(digest).rstrip(b"=").decode() == key_id(KEY.spki)
    assert KEY.key_id == key_id(KEY.spki) != key_id(KEY.spki, "other")


@pytest.mark.parametrize(
    "change",
    [
        pytest.param({"origin": ORIGIN[:-1] + "0"}, id="other ledger"),
        pytest.param({"role": "witness"}, id="other role"),
        pytest.param({"digest": bytes(32)}, id="other statement"),
        pytest.param({"nonce": "AAECAwQFBgcICQoLDA0OEA"}, id="other nonce"),
    ],
)
def test_a_signature_serves_for_nothing_else(change):
    said = {"origin": ORIGIN, "role": "officer", "digest": DIGEST, "nonce": NONCE}
    signature = sign_statement(KEY, **said)
    assert is_signed_by(KEY.spki, signature, signing_text(**said))
    assert not is_signed_by(KEY.spki, signature, signing_text(**{**said, **change}))


def test_text_cannot_move_between_the_lines_of_a_signed_text():
    said = {"origin": ORIGIN, "role": "officer", "digest": DIGEST, "nonce": NONCE}
    fields = ("origin", "role", "nonce")
    for field in fields:
        with pytest.raises(MalformedStatement):
            signing_text(**{**said, field: said[field] + "\nmore"})
        with pytest.raises(MalformedStatement):
            signing_text(**{**said, field: ""})
    texts = {
        signing_text(
            **{**said, "origin": ORIGIN + "officer"[:k], "role": "officer"[k:]}
        )
        for k in range(6)
    }
    assert len(texts) == 6


def test_an_enrolment_proof_is_for_one_person_key_and_ledger():
    said = enrolled_key(KEY, origin=ORIGIN, person="o.varga")
    other = key_of("other")
    assert is_key_proved(said, origin=ORIGIN, person="o.varga")
    assert not is_key_proved(said, origin=ORIGIN, person="w.quill")
    assert not is_key_proved(said, origin=ORIGIN + "0", person="o.varga")
    swapped = {**said, "id": other.key_id, "spki": to_base64(other.spki)}
    assert not is_key_proved(swapped, origin=ORIGIN, person="o.varga")


def test_an_enrolment_proof_is_no_statement_signature():
    said = enrolled_key(KEY, origin=ORIGIN, person="officer", nonce=NONCE)
    text = signing_text(origin=ORIGIN, role="officer", digest=DIGEST, nonce=NONCE)
    signature = base64.b64decode(said["proof"]["signature"])
    assert not is_signed_by(KEY.spki, signature, text)


# The curve of RFC 8032 section 5.1, in plain integers: -x^2 + y^2 = 1 + d x^2 y^2.
PRIME = 2**255 - 19
CURVE_D = -121665 * pow(121666, -1, PRIME) % PRIME


def add_points(one, other):
    (x1, y1), (x2, y2) = one, other
    product = CURVE_D * x1 * x2 * y1 * y2
    x3 = (x1 * y2 + x2 * y1) * pow(1 + product, -1, PRIME)
    y3 = (y1 * y2 + x1 * x2) * pow(1 - product, -1, PRIME)
    return x3 % PRIME, y3 % PRIME


def decompress(raw: bytes):
    """RFC 8032 section 5.1.3, without the demand that y be below the prime."""
    y = int.from_bytes(raw, "little")
    sign, y = y >> 255, (y & (2**255 - 1)) % PRIME
    square = (y * y - 1) * pow(CURVE_D * y * y + 1, -1, PRIME) % PRIME
    x = pow(square, (PRIME + 3) // 8, PRIME)
    if x * x % PRIME != square:
        x = x * pow(2, (PRIME - 1) // 4, PRIME) % PRIME
    if x * x % PRIME != square:
        return None
    return (PRIME - x if x % 2 != sign else x) % PRIME, y


def times_eight(point):
    for _ in range(3):
        point = add_points(point, point)
    return point


SMALL_ORDER = [
    "0000000000000000000000000000000000000000000000000000000000000000",
    "0000000000000000000000000000000000000000000000000000000000000080",
    "0100000000000000000000000000000000000000000000000000000000000000",
    "0100000000000000000000000000000000000000000000000000000000000080",
    "26e8958fc2b227b045c3f489f2ef98f0d5dfac05d3c63339b13802886d53fc05",
    "26e8958fc2b227b045c3f489f2ef98f0d5dfac05d3c63339b13802886d53fc85",
    "c7176a703d4dd84fba3c0b760d10670f2a2053fa2c39ccc64ec7fd7792ac037a",
    "c7176a703d4dd84fba3c0b760d10670f2a2053fa2c39ccc64ec7fd7792ac03fa",
    "ecffffffffffffffffffffffffffffffffffffffffffffffffffffffffffff7f",
    "ecffffffffffffffffffffffffffffffffffffffffffffffffffffffffffffff",
    "edffffffffffffffffffffffffffffffffffffffffffffffffffffffffffff7f",
    "edffffffffffffffffffffffffffffffffffffffffffffffffffffffffffffff",
    "eeffffffffffffffffffffffffffffffffffffffffffffffffffffffffffff7f",
    "eeffffffffffffffffffffffffffffffffffffffffffffffffffffffffffffff",
]


@pytest.mark.parametrize(
    "raw",
    [
        pytest.param(
            bytes.fromhex(text),
            id=text[:6] + ".." + text[-4:],
            marks=pytest.mark.source(
                "Encodings of the points of order 1, 2, 4 and 8 (from memory, as in "
                "common blocklists), each shown to be one on the curve of RFC 8032"
            ),
        )
        for text in SMALL_ORDER
    ],
)
def test_a_public_key_of_small_order_is_refused(raw):
    assert times_eight(decompress(raw)) == (0, 1)
    with pytest.raises(UnsafeKey):
        public_key(spki_of_raw(raw))


def test_no_point_of_small_order_is_missing_from_the_list():
    """The curve has eight such points; some have more than one encoding."""
    points = {decompress(bytes.fromhex(text)) for text in SMALL_ORDER}
    assert len(points) == 8
    assert {add_points(one, other) for one in points for other in points} == points


def test_a_key_with_its_y_beyond_the_prime_is_refused():
    for excess in range(19):
        for sign in (0, 1 << 255):
            raw = (PRIME + excess | sign).to_bytes(32, "little")
            with pytest.raises(UnsafeKey):
                public_key(spki_of_raw(raw))


def test_honest_keys_are_accepted():
    for _ in range(50):
        key = generate_key()
        assert public_key(key.spki).public_bytes_raw() == raw_of_spki(key.spki)


@pytest.mark.parametrize(
    "spki",
    [
        pytest.param(b"", id="nothing"),
        pytest.param(KEY.spki[:-1], id="one byte short"),
        pytest.param(KEY.spki + b"\0", id="one byte more"),
        pytest.param(KEY.spki[12:], id="without the header"),
        pytest.param(b"\x31" + KEY.spki[1:], id="other header"),
        pytest.param(
            ec.derive_private_key(7, ec.SECP256R1())
            .public_key()
            .public_bytes(Encoding.DER, PublicFormat.SubjectPublicKeyInfo),
            id="a key of another algorithm",
        ),
    ],
)
def test_what_is_no_ed25519_key_is_refused(spki):
    with pytest.raises(UnsafeKey):
        public_key(spki)


def test_a_seed_gives_its_key_back():
    assert SigningKey.from_seed(KEY.seed).key_id == KEY.key_id


@pytest.mark.parametrize(
    "nonce", ["", "AAECAwQFBgcICQoLDA0O", NONCE + "=", NONCE[:-1] + "x"]
)
def test_a_nonce_in_another_form_is_not_signed(nonce):
    with pytest.raises(MalformedBase64):
        sign_statement(KEY, origin=ORIGIN, role="officer", digest=DIGEST, nonce=nonce)


def test_nonces_differ():
    assert len({new_nonce() for _ in range(1_000)}) == 1_000
