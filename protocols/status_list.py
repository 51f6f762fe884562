"""Bitstring status lists (W3C): one bit for each certificate, revoked or suspended.

Bits are bytes; index 0 is the left-most bit of the first byte.
"""

import base64
import binascii
import gzip
import zlib
from datetime import datetime
from typing import Any

from protocols.clocks import utc_text
from protocols.credential import VC_CONTEXT, Issuer

# So many that one entry tells nobody which certificate was looked up.
ENTRIES_LEAST = 131_072
BYTES_MOST = 2**20
PURPOSES = ("revocation", "suspension")


def empty_bits(entries: int = ENTRIES_LEAST) -> bytes:
    """A list in which nothing is set; `entries` is a multiple of 8 and at least 131,072."""
    if entries % 8:
        raise ValueError("a list has a multiple of 8 entries")
    bits = bytes(entries // 8)
    _refuse_length(bits)
    return bits


def bit(bits: bytes, index: int) -> bool:
    """Whether entry `index` is set; raises ValueError beyond the list."""
    _refuse_index(bits, index)
    return bool(bits[index // 8] >> (7 - index % 8) & 1)


def with_bit(bits: bytes, index: int, value: bool = True) -> bytes:
    """The list with entry `index` set or, for a suspension that is lifted, cleared."""
    _refuse_index(bits, index)
    mask = 0x80 >> index % 8
    changed = bytearray(bits)
    changed[index // 8] = changed[index // 8] | mask if value else changed[index // 8] & ~mask
    return bytes(changed)


def encoded_list(bits: bytes) -> str:
    """`u` and base64url without padding of the gzipped bits; the same bits, the same text."""
    _refuse_length(bits)
    packed = gzip.compress(bits, mtime=0)
    return f"u{base64.urlsafe_b64encode(packed).decode().rstrip('=')}"


def decoded_list(text: str) -> bytes:
    """Back from `encoded_list`, whoever wrote it; raises ValueError, also beyond 1 MiB."""
    if not text.startswith("u"):
        raise ValueError("a list begins with u")
    packed = text[1:]
    reader = zlib.decompressobj(wbits=zlib.MAX_WBITS | 16)
    try:
        raw = base64.b64decode(packed + "=" * (-len(packed) % 4), altchars=b"-_", validate=True)
        bits = reader.decompress(raw, BYTES_MOST + 1)
    except (binascii.Error, zlib.error) as error:
        raise ValueError("no list in gzip and base64url") from error
    if not reader.eof:
        raise ValueError("the list is cut off or too long")
    _refuse_length(bits)
    return bits


def status_list_payload(
    url: str, issuer: Issuer, purpose: str, bits: bytes, valid_from: datetime
) -> dict[str, Any]:
    """The credential of a list, to be signed and served at `url`. Purpose as in `PURPOSES`."""
    if purpose not in PURPOSES:
        raise ValueError(f"{purpose} is not one of {', '.join(PURPOSES)}")
    return {
        "@context": [VC_CONTEXT],
        "id": url,
        "type": ["VerifiableCredential", "BitstringStatusListCredential"],
        "issuer": {"id": issuer.id, "name": issuer.name},
        "validFrom": utc_text(valid_from),
        "credentialSubject": {
            "id": f"{url}#list",
            "type": "BitstringStatusList",
            "statusPurpose": purpose,
            "encodedList": encoded_list(bits),
        },
    }


def _refuse_length(bits: bytes) -> None:
    if not ENTRIES_LEAST <= len(bits) * 8 <= BYTES_MOST * 8:
        raise ValueError(f"a list has at least {ENTRIES_LEAST} entries and at most 1 MiB")


def _refuse_index(bits: bytes, index: int) -> None:
    if not 0 <= index < len(bits) * 8:
        raise ValueError(f"the list has no entry {index}")
