"""What the outbox holds for a site: told once for each effect."""

from typing import Any
from uuid import UUID

from stock.models import Notice

PAGE = 200


def notices_page(site: UUID, *, after: int) -> dict[str, Any]:
    """Notices after a number, oldest first. One query."""
    rows = Notice.objects.filter(site=site, pk__gt=after).order_by("pk")
    names = ("id", "effect", "kind", "body", "made_at", "sent_at")
    return {"notices": list(rows.values(*names)[:PAGE])}
