"""Sealed key files: what opens them, what does not, and what the bytes are."""

import hashlib
import json
import stat
from base64 import b64decode

import pytest
from cryptography.hazmat.primitives.ciphers.aead import ChaCha20Poly1305

from ledger import sealed_keys
from ledger.core.signing import SigningKey
from ledger.errors import KeyFileRefused, WrongPassphrase

PASSPHRASE = "seven tired mules"
SMALL_N = 2**4


@pytest.fixture
def key():
    return SigningKey.from_seed(bytes(range(32)))


@pytest.fixture
def sealed(key):
    return sealed_keys.seal(key, PASSPHRASE, person="a.officer", n=SMALL_N)


def test_the_right_passphrase_gives_the_key_back(sealed, key):
    opened = sealed_keys.unseal(sealed, PASSPHRASE)
    assert opened.person == "a.officer"
    assert opened.signing.seed == key.seed


@pytest.mark.source("RFC 7914 scrypt through hashlib; RFC 8439 ChaCha20-Poly1305")
def test_the_file_opens_with_the_standards_alone(sealed, key):
    said = json.loads(sealed)
    kdf = said["kdf"]
    stretched = hashlib.scrypt(
        PASSPHRASE.encode(),
        salt=b64decode(kdf["salt"]),
        n=kdf["n"],
        r=kdf["r"],
        p=kdf["p"],
        dklen=32,
    )
    seed = ChaCha20Poly1305(stretched).decrypt(
        b64decode(said["nonce"]), b64decode(said["sealed"]), b64decode(said["spki"])
    )
    assert seed == key.seed


def test_the_cost_is_the_agreed_one_unless_a_test_asks_for_less(key):
    assert sealed_keys.SCRYPT_N == 2**17
    said = json.loads(sealed_keys.seal(key, PASSPHRASE, person="a.officer"))
    assert (said["kdf"]["n"], said["kdf"]["r"], said["kdf"]["p"]) == (2**17, 8, 1)


def test_the_same_letters_typed_decomposed_open_it_too(key):
    sealed = sealed_keys.seal(key, "caf\u00e9 at dawn", person="a.officer", n=SMALL_N)
    opened = sealed_keys.unseal(sealed, "cafe\u0301 at dawn")
    assert opened.signing.seed == key.seed


def test_a_wrong_passphrase_is_refused(sealed):
    with pytest.raises(WrongPassphrase, match=r"a\.officer"):
        sealed_keys.unseal(sealed, "seven tired mule")


def test_an_empty_passphrase_is_refused(key):
    with pytest.raises(KeyFileRefused):
        sealed_keys.seal(key, "", person="a.officer", n=SMALL_N)


def test_an_exchanged_public_key_is_refused(sealed):
    said = json.loads(sealed)
    other = SigningKey.from_seed(bytes(32))
    mine = sealed_keys.seal(other, PASSPHRASE, person="a.officer", n=SMALL_N)
    said["spki"] = json.loads(mine)["spki"]
    with pytest.raises(WrongPassphrase):
        sealed_keys.unseal(json.dumps(said).encode(), PASSPHRASE)


@pytest.mark.parametrize(
    "change",
    [
        {"format": 2},
        {"alg": "rsa"},
        {"cipher": "none"},
        {"spare": 1},
        {"person": 7},
        {"nonce": "AAAA"},
        {"sealed": "%%%"},
        {"kdf": {"name": "scrypt", "n": 2**30, "r": 8, "p": 1, "salt": "AA=="}},
        {"kdf": {"name": "scrypt", "n": 1000, "r": 8, "p": 1, "salt": "AA=="}},
        {"kdf": {"name": "scrypt", "n": 16, "r": 800, "p": 1, "salt": "AA=="}},
        {"kdf": {"name": "plain"}},
    ],
)
def test_a_file_of_another_shape_or_cost_is_refused(sealed, change):
    spoiled = json.dumps({**json.loads(sealed), **change}).encode()
    with pytest.raises(Exception, match=r".") as refused:
        sealed_keys.unseal(spoiled, PASSPHRASE)
    assert refused.value.code in ("key_file_refused", "malformed_base64")


@pytest.mark.parametrize("data", [b"", b"[]", b"\xff", b"null", b"{}"])
def test_bytes_that_are_no_key_file_are_refused(data):
    with pytest.raises(KeyFileRefused):
        sealed_keys.unseal(data, PASSPHRASE)


def test_the_file_belongs_to_its_owner_alone_and_is_never_overwritten(tmp_path, sealed):
    path = tmp_path / "a.key.json"
    sealed_keys.write(path, sealed)
    assert stat.S_IMODE(path.stat().st_mode) == 0o600
    with pytest.raises(KeyFileRefused, match="exists"):
        sealed_keys.write(path, sealed)
    assert sealed_keys.read(path, PASSPHRASE).person == "a.officer"


def test_a_missing_file_is_refused_with_its_name(tmp_path):
    with pytest.raises(KeyFileRefused, match=r"none\.key\.json"):
        sealed_keys.read(tmp_path / "none.key.json", PASSPHRASE)


def test_a_folder_opens_with_one_passphrase(tmp_path):
    for number, person in enumerate(("a.officer", "b.witness")):
        key = SigningKey.from_seed(bytes([number]) * 32)
        data = sealed_keys.seal(key, PASSPHRASE, person=person, n=SMALL_N)
        sealed_keys.write(tmp_path / f"{person}.key.json", data)
    keys = sealed_keys.read_folder(tmp_path, PASSPHRASE)
    assert sorted(keys) == ["a.officer", "b.witness"]


def test_an_empty_folder_and_two_keys_of_one_person_are_refused(tmp_path, sealed):
    with pytest.raises(KeyFileRefused, match="no file"):
        sealed_keys.read_folder(tmp_path, PASSPHRASE)
    sealed_keys.write(tmp_path / "one.key.json", sealed)
    sealed_keys.write(tmp_path / "two.key.json", sealed)
    with pytest.raises(KeyFileRefused, match="two keys"):
        sealed_keys.read_folder(tmp_path, PASSPHRASE)


def test_a_file_nested_beyond_measure_is_no_key_file():
    with pytest.raises(KeyFileRefused, match="no key file"):
        sealed_keys.unseal(b"[" * 100_000, "seven tired mules")
