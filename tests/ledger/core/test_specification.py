"""The worked example in the package's docstring, computed again from its text."""

import re
import textwrap

import pytest

import ledger.core
from ledger.core.base64text import from_base64
from ledger.core.canonical import decode, encode
from ledger.core.checkpoint import Checkpoint, format_checkpoint
from ledger.core.entry import (
    Signature,
    Signed,
    assemble,
    check_form,
    parse_leaf,
    sign,
    statement_bytes,
    statement_digest,
)
from ledger.core.merkle import leaf_hash, tree_root
from ledger.core.signing import SigningKey, signing_text
from tests.ledger.core.vectors import load

TEXT = textwrap.dedent(ledger.core.__doc__).split("A worked example\n")[1]
SEEDS = [bytes.fromhex(case["seed"]) for case in load("ed25519.json")["cases"]]
OFFICER, WITNESS = SigningKey.from_seed(SEEDS[0]), SigningKey.from_seed(SEEDS[1])


def block(after: str) -> list[str]:
    """Return the indented lines that follow a sentence of the docstring."""
    rest = TEXT.split(after)[1]
    return re.search(r"\n\n((?:    .*\n)+)", rest).group(1).split("\n")[:-1]


def joined(after: str) -> str:
    return "".join(line.removeprefix("    ") for line in block(after))


STATEMENT = decode(joined("The statement:").encode())
LEAF = joined("The leaf:").encode()


def test_the_statement_is_canonical_and_in_form():
    check_form(STATEMENT)
    assert statement_bytes(STATEMENT).decode() == joined("The statement:")


def test_the_key_ids_are_those_of_the_published_keys():
    shown = [line.strip() for line in block("The key ids:")]
    assert shown == [OFFICER.key_id, WITNESS.key_id]
    assert [signer["key"] for signer in STATEMENT["signers"]] == shown


def test_the_digest_is_that_of_the_statement():
    assert statement_digest(STATEMENT).hex() == joined("Its SHA-256:")


def test_the_signed_text_is_as_shown():
    shown = "".join(f"{line.strip()}\n" for line in block("What o.varga signs"))
    text = signing_text(
        origin=STATEMENT["origin"],
        role="officer",
        digest=statement_digest(STATEMENT),
        nonce="AAAAAAAAAAAAAAAAAAAAAQ",
    )
    assert text.decode() == shown


@pytest.mark.source("keys of RFC 8032 section 7.1 tests 1 and 2")
def test_the_signatures_and_the_leaf_are_computed_again():
    signatures = (
        sign(STATEMENT, OFFICER, nonce="AAAAAAAAAAAAAAAAAAAAAQ"),
        sign(STATEMENT, WITNESS, nonce="AAAAAAAAAAAAAAAAAAAAAg"),
    )
    assert signatures[0].signature == from_base64(joined("signature of o.varga:"))
    assert signatures[1].signature == from_base64(joined("AAAAAAAAAAAAAAAAAAAAAg:"))
    leaf = assemble(
        Signed(STATEMENT, signatures),
        seq=1,
        previous=leaf_hash(b""),
        at="2026-03-02T04:11:07.250001Z",
    )
    assert leaf == LEAF
    entry = parse_leaf(leaf)
    assert entry.signatures == signatures
    assert isinstance(entry.signatures[0], Signature)
    assert encode(decode(leaf)) == leaf


def test_the_hashes_and_the_checkpoint_are_computed_again():
    first, second = leaf_hash(b""), leaf_hash(LEAF)
    assert second.hex() == joined("Its leaf hash:")
    root = tree_root([first, second])
    assert root.hex() == joined("The root over")
    shown = "".join(f"{line.strip()}\n" for line in block("The text of a checkpoint"))
    checkpoint = Checkpoint(STATEMENT["origin"], 2, root)
    assert format_checkpoint(checkpoint) == shown


def test_the_package_itself_imports_nothing():
    with open(ledger.core.__file__, encoding="utf-8") as file:
        source = file.read()
    assert "\nimport " not in source
    assert "\nfrom " not in source.split('"""')[-1]
