"""The audit bags of a site, as whoever asked for one sees them."""

from datetime import timedelta
from pathlib import Path
from typing import Any
from uuid import UUID

from django.conf import settings

from stock import access
from stock.models import Export, Person
from stock.refusals import NotFound

KEPT = timedelta(days=7)
SHOWN_MOST = 50


def path_of(uid: UUID) -> Path:
    """Where the zip of an export lies."""
    return Path(settings.DATA) / "exports" / f"{uid}.zip"


def exports_of(site: UUID) -> list[Export]:
    """Those asked for last. One query."""
    rows = Export.objects.filter(site=site).select_related("asked_by")
    return list(rows.order_by("-asked_at", "-uid")[:SHOWN_MOST])


def export_for(person: Person, uid: UUID) -> Export:
    """One of a site from which this person may take records away. Raises NotFound."""
    row = Export.objects.filter(uid=uid).select_related("site", "asked_by").first()
    if row is None:
        raise NotFound
    access.export_from(person, row.site_id)
    return row


def is_there(row: Export) -> bool:
    """Whether its file can be fetched."""
    return row.state == Export.State.READY and path_of(row.uid).exists()


def shown_export(row: Export) -> dict[str, Any]:
    """As REST says it."""
    return {
        "uid": str(row.uid),
        "site": str(row.site_id),
        "from": row.begins,
        "to": row.ends,
        "asked_at": row.asked_at,
        "state": row.state,
        "entries_done": row.entries_done,
        "entries_all": row.entries_all,
        "ready_at": row.ready_at,
        "ends_at": row.ready_at + KEPT if row.ready_at else None,
        "size": row.size,
        "sha256": row.sha256 or None,
        "tree_size": row.tree_size,
        "why": row.why or None,
        "file": f"/api/v1/exports/{row.uid}/file" if is_there(row) else None,
    }
