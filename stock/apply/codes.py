"""Short codes of what bears a label."""

from typing import Any
from uuid import UUID

from protocols import codes
from stock.models import Batch, SiteThing

CODE_ATTEMPTS = 20


def free_code(sort: type[SiteThing] | type[Batch], site: UUID, uid: str) -> str:
    """The thing's short code; a later attempt where the first is another's of its sort here."""
    rows: Any = sort._default_manager
    others = rows.filter(site=site).exclude(uid=uid)
    tried = (codes.short_code(uid, attempt) for attempt in range(CODE_ATTEMPTS))
    return next(code for code in tried if not others.filter(code=code).exists())
