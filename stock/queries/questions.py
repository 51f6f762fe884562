"""Open questions for the person who decides: what lapses first comes first."""

from datetime import datetime
from typing import Any
from zoneinfo import ZoneInfo

from protocols.clocks import local_text
from protocols.deviations import grown
from protocols.uids import uid_or_none
from stock.models import DeviationRow, Person

MOST = 200


def deviations_page(
    person: Person, *, site: str | None, open_only: bool | None, at: datetime
) -> list[dict[str, Any]]:
    """Deviations at the person's sites, oldest first; a foreign site gives none. One query."""
    rows = DeviationRow.objects.filter(site__roles__person=person).distinct()
    if site is not None:
        rows = rows.filter(site=uid_or_none(site))
    if open_only is not None:
        rows = rows.filter(open=open_only)
    found = rows.select_related("batch", "site").order_by("at", "uid")[:MOST]
    return [shown_row(row, at) for row in found]


def shown_row(row: DeviationRow, at: datetime) -> dict[str, Any]:
    return {
        "uid": str(row.uid),
        "site": str(row.site_id),
        "batch": str(row.batch_id),
        "batch_code": row.batch.code,
        "rule": row.rule,
        "cause": str(row.cause),
        "effect": row.effect,
        "at": row.at,
        "at_local": local_text(row.at, ZoneInfo(row.site.zone)),
        "numbers": grown(row.numbers, row.at, at),
        "open": row.open,
        "decided": row.decided,
    }
