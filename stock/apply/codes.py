"""Short codes of batches."""

from uuid import UUID

from protocols import codes
from stock.models import Batch

CODE_ATTEMPTS = 20


def free_code(site: UUID, uid: str) -> str:
    """The batch's short code; a later attempt where the first is another batch's here."""
    tried = (codes.short_code(uid, attempt) for attempt in range(CODE_ATTEMPTS))
    return next(
        code for code in tried if not Batch.objects.filter(site=site, code=code).exists()
    )
