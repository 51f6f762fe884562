"""A sealed page of the ledger: size and root, signed as a C2SP signed note with Ed25519.

The forms are those of c2sp.org/tlog-checkpoint and c2sp.org/signed-note.
"""

import base64
import binascii
import hashlib
from collections.abc import Iterable
from dataclasses import dataclass

from cryptography.exceptions import InvalidSignature
from cryptography.hazmat.primitives.asymmetric.ed25519 import (
    Ed25519PrivateKey,
    Ed25519PublicKey,
)

from protocols.tree import Edge, root

ED25519 = b"\x01"
KEY_ID_SIZE = 4
NOTE_SIZE_MAX = 65_536


class NoteRefused(ValueError):
    """The note is not in the form of one, or not signed by the key asked for."""


def checkpoint(origin: str, edge: Edge) -> str:
    """The text of a checkpoint: origin, size, and root in base64, each on its line."""
    _refuse_unprintable(origin, allow_newline=False)
    if not origin:
        raise ValueError("a log needs an origin")
    return f"{origin}\n{edge.size}\n{_base64(root(edge))}\n"


@dataclass(frozen=True, slots=True)
class Said:
    """What a checkpoint says: of which record book, how many entries, their root."""

    origin: str
    size: int
    root: bytes


def read_checkpoint(note: str) -> Said:
    """What a checkpoint says, whoever signed it. Raises NoteRefused."""
    lines = note.split("\n")
    # One way to write a size, so that two texts are never one checkpoint.
    if len(lines) < 3 or not lines[1].isascii() or not lines[1].isdigit():
        raise NoteRefused("no checkpoint")
    return Said(lines[0], int(lines[1]), _raw(lines[2]))


def root_in(note: str) -> bytes:
    """The root that a checkpoint names, whoever signed it. Raises NoteRefused."""
    return read_checkpoint(note).root


def is_signed(note: str, vkeys: Iterable[str]) -> bool:
    """Whether any of these keys has signed the note."""
    for key in vkeys:
        try:
            verify_note(note, key)
        except NoteRefused:
            continue
        return True
    return False


def vkey(name: str, public: Ed25519PublicKey) -> str:
    """What a verifier needs to know: `name+key id+key`. Raises ValueError for a bad name."""
    _refuse_bad_name(name)
    raw = public.public_bytes_raw()
    return f"{name}+{_key_id(name, raw).hex()}+{_base64(ED25519 + raw)}"


def sign_note(text: str, name: str, key: Ed25519PrivateKey) -> str:
    """`text` with one signature line below. The text ends with a line feed.

    Raises ValueError for a text with other control characters and for a bad name.
    """
    _refuse_bad_name(name)
    _refuse_unprintable(text, allow_newline=True)
    if not text.endswith("\n"):
        raise ValueError("the text of a note ends with a line feed")
    raw = key.public_key().public_bytes_raw()
    signature = _key_id(name, raw) + key.sign(text.encode())
    return f"{text}\n\N{EM DASH} {name} {_base64(signature)}\n"


def verify_note(note: str, key: str) -> str:
    """The text of a note that the key with this vkey has signed; raises NoteRefused.

    Signatures by other keys are passed over; one in this key's name that is wrong is not.
    """
    name, public = _read_vkey(key)
    text, lines = _parts(note)
    signatures = [_signature(line, name, _key_id(name, public)) for line in lines]
    own = [one for one in signatures if one is not None]
    if not own:
        raise NoteRefused(f"not signed by {name}")
    for signature in own:
        try:
            Ed25519PublicKey.from_public_bytes(public).verify(signature, text.encode())
        except InvalidSignature as error:
            raise NoteRefused(f"the signature of {name} does not fit") from error
    return text


def _parts(note: str) -> tuple[str, list[str]]:
    if len(note) > NOTE_SIZE_MAX or not note.endswith("\n"):
        raise NoteRefused("too long or cut off")
    try:
        _refuse_unprintable(note, allow_newline=True)
    except ValueError as error:
        raise NoteRefused(str(error)) from error
    text, gap, signatures = note[:-1].rpartition("\n\n")
    if not gap:
        raise NoteRefused("no signatures")
    return f"{text}\n", signatures.split("\n")


def _signature(line: str, name: str, key_id: bytes) -> bytes | None:
    """The Ed25519 signature of a line in this key's name; None where another key signed."""
    match line.split(" "):
        case ["\N{EM DASH}", signer, data]:
            raw = _raw(data)
        case _:
            raise NoteRefused("no signature line")
    if signer != name or raw[:KEY_ID_SIZE] != key_id:
        return None
    return raw[KEY_ID_SIZE:]


def _read_vkey(text: str) -> tuple[str, bytes]:
    match text.split("+", 2):
        case [name, key_id, data]:
            raw = _raw(data)
        case _:
            raise NoteRefused("no verifier key")
    if raw[:1] != ED25519 or len(raw) != 33 or _key_id(name, raw[1:]).hex() != key_id:
        raise NoteRefused("no verifier key for Ed25519")
    return name, raw[1:]


def _key_id(name: str, public: bytes) -> bytes:
    return hashlib.sha256(name.encode() + b"\n" + ED25519 + public).digest()[:KEY_ID_SIZE]


def _base64(data: bytes) -> str:
    return base64.b64encode(data).decode()


def _raw(text: str) -> bytes:
    try:
        data = base64.b64decode(text, validate=True)
    except (binascii.Error, ValueError) as error:
        raise NoteRefused("no base64") from error
    # The last letter may carry bits that decoding drops: two texts would be one signature.
    if _base64(data) != text:
        raise NoteRefused("no base64 in its one form")
    return data


def _refuse_bad_name(name: str) -> None:
    if not name or "+" in name or any(character.isspace() for character in name):
        raise ValueError("the name of a key is not empty and has no space and no plus")
    _refuse_unprintable(name, allow_newline=False)


def _refuse_unprintable(text: str, *, allow_newline: bool) -> None:
    allowed = "\n" if allow_newline else ""
    if any(character < " " and character not in allowed for character in text):
        raise ValueError("control characters have no place in a note")
