"""Published vectors, read from the fixtures."""

import json
from pathlib import Path
from typing import Any

FOLDER = Path(__file__).parents[3] / "fixtures" / "ledger_core"


def load(name: str) -> Any:
    """Return the content of one vector file."""
    return json.loads((FOLDER / name).read_text(encoding="utf-8"))


def flip_bit(octets: bytes, bit: int) -> bytes:
    """Return `octets` with one bit changed."""
    spoiled = bytearray(octets)
    spoiled[bit // 8] ^= 1 << (bit % 8)
    return bytes(spoiled)
