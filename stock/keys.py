"""Private signing keys: files outside the database, for this user alone, one per purpose."""

import os
import secrets
from collections.abc import Mapping
from contextlib import suppress
from pathlib import Path
from typing import Any
from uuid import UUID

from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey
from django.conf import settings

from protocols.kinds.certificates import KEY_PURPOSES
from protocols.signing import key_bytes, load_key, new_key, sign


def private_key(purpose: str) -> Ed25519PrivateKey:
    """The key for a purpose; made on first use. Raises ValueError for a file that is no key."""
    file = _file(purpose)
    if not file.exists():
        _make(file)
    return load_key(file.read_bytes())


def signed(payload: Mapping[str, Any]) -> str:
    """A certificate or status list, signed by the key that signs now."""
    return sign(payload, private_key("certificate"), settings.SIGNING_ALG)


def make_missing() -> None:
    """A key for every purpose, so that its public half is known before it is used."""
    for purpose in KEY_PURPOSES:
        private_key(purpose)


def is_there(purpose: str) -> bool:
    """Whether this machine has the key, without making one."""
    return _file(purpose).exists()


def planned_key(purpose: str) -> Ed25519PrivateKey | None:
    """The key that will sign next, if there is one: it is published before it is used."""
    file = _next(purpose)
    return load_key(file.read_bytes()) if file.exists() else None


def plan_key(purpose: str) -> None:
    """Make the key that will sign next, if there is none yet."""
    if not _next(purpose).exists():
        _make(_next(purpose))


def take_next(purpose: str) -> None:
    """Let the next key sign from now on; the file of the one before is gone for good.

    What it signed is checked by its public half, which the record books keep.
    """
    plan_key(purpose)
    os.replace(_next(purpose), _file(purpose))


def drop_planned(purpose: str) -> None:
    """Take the next key away before it was ever used."""
    _next(purpose).unlink(missing_ok=True)


def origin(log: UUID) -> str:
    """The name of a record book in checkpoints and certificates. It stays when a site moves."""
    return f"fillmark/{log}"


def _file(purpose: str) -> Path:
    if purpose not in KEY_PURPOSES:
        raise ValueError(f"{purpose} is not one of {', '.join(KEY_PURPOSES)}")
    folder: Path = settings.KEYS
    return folder / f"{purpose}.pem"


def _next(purpose: str) -> Path:
    return _file(purpose).with_suffix(".planned.pem")


def _make(file: Path) -> None:
    """Write a new key; of two processes at once one wins, and both read the same key."""
    file.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
    draft = file.with_suffix(f".{secrets.token_hex(8)}")
    handle = os.open(draft, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600)
    try:
        with os.fdopen(handle, "wb") as key:
            key.write(key_bytes(new_key()))
        # Unlike a rename, a link never takes the place of a key that is there.
        with suppress(FileExistsError):
            file.hardlink_to(draft)
    finally:
        draft.unlink()
