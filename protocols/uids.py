"""Uids out of bodies, where they are text."""

from functools import lru_cache
from uuid import UUID


@lru_cache(maxsize=1 << 16)
def as_uid(text: str | UUID) -> UUID:
    """The uid that `text` writes. Raises ValueError for any other text.

    The same few uids come again and again in a history, so parsed ones are kept.
    """
    return text if isinstance(text, UUID) else UUID(text)
