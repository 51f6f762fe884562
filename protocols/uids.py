"""Uids out of bodies and queries, where they are text."""

from functools import lru_cache
from uuid import UUID


@lru_cache(maxsize=1 << 16)
def as_uid(text: str | UUID) -> UUID:
    """The uid that `text` writes. Raises ValueError for any other text.

    The same few uids come again and again in a history, so parsed ones are kept.
    """
    return text if isinstance(text, UUID) else UUID(text)


def uid_or_none(text: str | None) -> UUID | None:
    """The uid that `text` writes; None for any other text, and for none."""
    try:
        return UUID(text) if text else None
    except ValueError:
        return None
