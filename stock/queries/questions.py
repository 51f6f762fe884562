"""Open questions for the person who decides: what lapses first comes first."""

from datetime import datetime
from typing import Any
from uuid import UUID
from zoneinfo import ZoneInfo

from protocols.clocks import local_text
from protocols.deviations import grown
from protocols.uids import uid_or_none
from stock.access import Site
from stock.judging.load import judged_many
from stock.models import DeviationRow, Person
from stock.queries.as_of import AsOf, batches_then
from stock.queries.batches import shown_deviation

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


def deviations_then(
    site: Site, *, open_only: bool | None, at: datetime, then: AsOf
) -> list[dict[str, Any]]:
    """What was in question at a site at another moment, or by what was known at a position.

    Every batch that was placed by then is judged as of then: rows that are kept say only what
    is in question now. A fixed number of queries.
    """
    codes = {row.uid: row.code for row in batches_then(site, then)}
    judgements = judged_many(codes, at, known_by=then.known_by)
    zone = ZoneInfo(site.zone)
    found = [
        {
            **shown_deviation(one),
            "site": str(site.uid),
            "batch_code": codes[batch],
            "at_local": local_text(one.at, zone),
        }
        for batch, judgement in judgements.items()
        for one in judgement.deviations
        if open_only is None or one.is_open is open_only
    ]
    return sorted(found, key=lambda one: (one["at"], UUID(one["uid"])))[:MOST]


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
