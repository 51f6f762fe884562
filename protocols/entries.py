"""The canonical bytes of a ledger entry: RFC 8785 JSON, below 64 KiB."""

import hmac
import json
import unicodedata
from collections.abc import Mapping
from typing import Any

import rfc8785

from protocols.bodies import Shape, check, plain
from protocols.kinds import check_body
from protocols.values import Standing

# Tiles of public logs count the bytes of an entry in 16 bits.
SIZE_MAX = 65_535
SALT_SIZE_MIN = 16

ENVELOPE: Mapping[str, Shape] = {
    "v": (1,),
    "log": "uid",
    "seq": "count",
    "uid": "uid",
    "kind": "word",
    "performed_at": "time",
    "offset_min": "whole",
    "recorded_at": "time",
    "doer": "uid",
    "messenger": "uid",
    "device?": "uid",
    "entry_no?": "count",
    "raw_at?": "time",
    "clock_offset_ms?": "whole",
    "delivered?": "flag",
    "standing": tuple(one.value for one in Standing),
    "insist?": [{"rule": "text", "reason": "text"}],
    "reason?": "text",
    "group?": "uid",
    "about?": "uid",
    "texts": "object",
    "files": ["sha256"],
    "body": "object",
}


class TooLong(ValueError):
    """What was to be entered has more bytes than an entry may have."""


class EntryUnreadable(ValueError):
    """The bytes are not an entry in its canonical form."""


def entry_bytes(members: Mapping[str, Any]) -> bytes:
    """The bytes of one entry from the members of its envelope.

    The form is frozen: one different byte would disown every leaf, root, proof and certificate
    already given away. Uids and moments may be given as such; members that are None are
    left out, as is an empty `insist`; text is kept in NFC. Raises BodyRefused (a ValueError)
    with a pointer for what has not the form, and ValueError for an entry of 64 KiB or more.
    """
    said = {name: value for name, value in members.items() if name != "body"}
    if not said.get("insist"):
        said.pop("insist", None)
    body = check_body(str(said.get("kind")), members.get("body", {}))
    entry = {**plain(said), "body": body}
    _check_envelope(entry)
    data = rfc8785.dumps(entry)
    if len(data) > SIZE_MAX:
        raise TooLong(f"an entry has at most {SIZE_MAX} bytes, this one {len(data)}")
    return data


def read_entry(data: bytes) -> dict[str, Any]:
    """The members of an entry, back from its bytes; EntryUnreadable for any other bytes.

    The body is not held against today's table of kinds: what once was entered stays readable.
    """
    if len(data) > SIZE_MAX:
        raise EntryUnreadable("too long for an entry")
    try:
        entry = json.loads(data)
        _check_envelope(entry)
        canonical = rfc8785.dumps(plain(entry))
    except (ValueError, RecursionError) as error:
        raise EntryUnreadable(str(error)) from error
    # Doubled names, spaces, another order, text not in NFC: all of it shows here.
    if canonical != data:
        raise EntryUnreadable("not in canonical form")
    read: dict[str, Any] = entry
    return read


def salted_digest(salt: bytes, text: str) -> str:
    """What an entry keeps of an erasable text: HMAC-SHA-256 in hex of its NFC form.

    With the salt gone, not even a guessed text can be held against it. Raises ValueError
    for a salt of less than 16 bytes.
    """
    if len(salt) < SALT_SIZE_MIN:
        raise ValueError(f"a salt has at least {SALT_SIZE_MIN} bytes")
    return hmac.digest(salt, unicodedata.normalize("NFC", text).encode(), "sha256").hex()


def _check_envelope(entry: Any) -> None:
    check(ENVELOPE, entry)
    check(dict.fromkeys(entry["texts"], "sha256"), entry["texts"], "/texts")
