"""Readings and instruments as they are shown: as typed, and what they are worth."""

from collections.abc import Sequence
from datetime import datetime, timedelta
from typing import Any
from uuid import UUID

from protocols.matching import in_check
from protocols.values import RulesHistory
from stock.judging.ammonia import MEASURED, assessed
from stock.judging.water import Checks, checks_of
from stock.models import Instrument, WaterReading
from stock.queries.readings_then import readings_then
from stock.queries.sites import rules_history, rules_of_sites
from stock.queries.things import shown


def readings_taken(uids: Sequence[UUID]) -> list[dict[str, Any]]:
    """These readings, in this order, each with whether its instrument could be trusted.

    One of ammonia with what it means in NH3, and what that is worth.
    """
    rows = {row.uid: row for row in WaterReading.objects.filter(uid__in=uids)}
    found = [rows[uid] for uid in uids if uid in rows]
    if not found:
        return []
    checks = checks_of({row.instrument_id for row in found if row.instrument_id})
    rules = rules_history(found[0].site_id)
    means = {
        one.sample.uid: one for one in assessed(r for r in found if r.quantity in MEASURED)
    }
    return [
        {**_shown(row, checks, rules), "ammonia": means[row.uid].numbers()}
        if row.uid in means
        else _shown(row, checks, rules)
        for row in found
    ]


def container_readings(
    container: UUID,
    *,
    site: UUID,
    quantity: str | None,
    at: datetime,
    known_by: int | None = None,
    most: int = 200,
) -> list[dict[str, Any]]:
    """The newest readings in a container up to a moment, newest first."""
    if known_by is not None:
        return readings_then(
            site, container, quantity=quantity, at=at, known_by=known_by, most=most
        )
    rows = WaterReading.objects.filter(container=container, performed_at__lte=at)
    if quantity is not None:
        rows = rows.filter(quantity=quantity)
    newest = rows.order_by("-performed_at", "uid").values_list("uid", flat=True)[:most]
    return readings_taken(list(newest))


def instrument_now(uid: UUID, at: datetime, *, known_by: int | None = None) -> dict[str, Any]:
    """An instrument, its last check up to `at`, and whether a value could be trusted then."""
    found = shown(Instrument, uid)
    rules = rules_of_sites([found["site"]], known_by=known_by)[found["site"]]
    checks = checks_of([uid], known_by=known_by)
    last = next((one for one in reversed(checks.get(uid, ())) if one.at <= at), None)
    return {
        **found,
        "checked_at": last and last.at,
        "passed": last and last.passed,
        "in_check": _in_check(checks, uid, at, rules),
    }


def _shown(row: WaterReading, checks: Checks, rules: RulesHistory) -> dict[str, Any]:
    return {
        "uid": str(row.uid),
        "container": str(row.container_id),
        "quantity": row.quantity,
        "value": row.value,
        "unit": row.unit,
        "instrument": str(row.instrument_id) if row.instrument_id else None,
        "performed_at": row.performed_at,
        "in_doubt": row.in_doubt,
        "in_check": _in_check(checks, row.instrument_id, row.performed_at, rules),
    }


def _in_check(
    checks: Checks, instrument: UUID | None, at: datetime, rules: RulesHistory
) -> str | None:
    """Good, doubted or unknown; None for what was measured with no instrument."""
    if instrument is None:
        return None
    every = timedelta(seconds=rules.at(at).instrument_check_every_s)
    return str(in_check(checks.get(instrument, ()), at, every=every))
