"""What whoever checks the record should trust: the log's key and the first entry."""

from ledger import read
from ledger.core.base64text import to_base64
from ledger.core.note import VerifierKey, format_vkey


def policy_text(ledger_id: int) -> str:
    """Return a ledger's policy file: the log's verifier key and the first entry."""
    ring = read.keyring(ledger_id)
    assert ring.log_key is not None
    vkey = format_vkey(VerifierKey(ring.origin, ring.log_key))
    genesis = to_base64(read.entry(ledger_id, 0).leaf_hash)
    return f"log {vkey}\ngenesis {genesis}\nquorum none\n"
