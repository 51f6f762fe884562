"""Names for new things, where no device made one."""

import secrets
from datetime import datetime
from uuid import UUID

from protocols import codes


def new_uid(at: datetime) -> UUID:
    """A UUIDv7: a name that sorts by making, never read as a time."""
    return codes.uuid7(at, secrets.token_bytes(10))
