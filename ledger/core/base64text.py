"""Base64 with one spelling only.

RFC 4648 leaves room for several texts that decode to the same bytes: spare
bits at the end, line breaks, missing padding. A record must have one form, so
decoding re-encodes and compares. Two alphabets are used:

- `to_base64` / `from_base64`: the standard alphabet with padding (hashes,
  signatures, keys);
- `to_base64url` / `from_base64url`: the URL alphabet without padding (key ids
  and nonces, which people may have to type or put into an address).
"""

from __future__ import annotations

import base64
import binascii

from ledger.core.errors import MalformedBase64


def to_base64(octets: bytes) -> str:
    """Return the standard base64 text of `octets`, padded."""
    return base64.b64encode(octets).decode("ascii")


def from_base64(text: str, *, size: int | None = None, field: str = "") -> bytes:
    """Return the bytes of strict standard base64; `size` is their exact number."""
    return _decode(text, url=False, size=size, field=field)


def to_base64url(octets: bytes) -> str:
    """Return the URL-safe base64 text of `octets`, without padding."""
    return base64.urlsafe_b64encode(octets).rstrip(b"=").decode("ascii")


def from_base64url(text: str, *, size: int | None = None, field: str = "") -> bytes:
    """Return the bytes of strict unpadded URL-safe base64."""
    return _decode(text, url=True, size=size, field=field)


def _decode(text: str, *, url: bool, size: int | None, field: str) -> bytes:
    where = field or "base64 text"
    if not isinstance(text, str) or not text.isascii():
        raise MalformedBase64(f"{where}: expected base64 text.", field=field)
    padded = text + "=" * (-len(text) % 4) if url else text
    try:
        octets = base64.b64decode(
            padded, altchars=b"-_" if url else None, validate=True
        )
    except (binascii.Error, ValueError) as error:
        raise MalformedBase64(
            f"{where}: {text[:60]!r} is not base64 ({error}).", field=field
        ) from error
    if (to_base64url(octets) if url else to_base64(octets)) != text:
        raise MalformedBase64(
            f"{where}: {text[:60]!r} is not the one base64 spelling of its bytes.",
            field=field,
        )
    if size is not None and len(octets) != size:
        raise MalformedBase64(
            f"{where}: expected {size} bytes, found {len(octets)}.", field=field
        )
    return octets
