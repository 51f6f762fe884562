"""A site's rules and hours: what is in force, and every version there was."""

from collections.abc import Iterable
from datetime import datetime
from typing import Any
from uuid import UUID

from protocols.hours import HoursHistory
from protocols.site_rules import plain_rules, read_rules
from protocols.staffing import hours_history as history_of_hours
from protocols.values import Rules, RulesHistory
from stock.models import Device, HoursVersion, RulesVersion, Shift

MODELS: dict[str, type[RulesVersion] | type[HoursVersion]] = {
    "rules_set": RulesVersion,
    "hours_set": HoursVersion,
}


def rules_history(site: UUID) -> RulesHistory:
    """Every version of a site's rules. One query."""
    return rules_of_sites([site])[site]


def rules_of_sites(
    sites: Iterable[UUID], *, known_by: int | None = None
) -> dict[UUID, RulesHistory]:
    """Every version of the rules of these sites, as known by a ledger position. One query."""
    versions: dict[UUID, list[tuple[datetime, Rules]]] = {site: [] for site in sites}
    rows = RulesVersion.objects.filter(site__in=versions).order_by("in_force_from", "seq")
    if known_by is not None:
        rows = rows.filter(seq__lte=known_by)
    for row in rows:
        read = read_rules(row.rules)
        if isinstance(read, Rules):
            versions[row.site_id].append((row.in_force_from, read))
    return {site: RulesHistory(tuple(found)) for site, found in versions.items()}


def hours_history(site: UUID) -> HoursHistory:
    """Every version of a site's staffed hours. One query."""
    rows = HoursVersion.objects.filter(site=site).order_by("seq")
    return history_of_hours(rows.values("in_force_from", "weekly", "exceptions"))


def newest_seq(kind: str, site: UUID) -> int:
    """The ledger position of the newest version, or 0: what If-Match names."""
    newest = MODELS[kind].objects.filter(site=site).order_by("-seq").first()
    return newest.seq if newest else 0


def rules_shown(site: UUID, at: datetime) -> dict[str, Any]:
    versions = RulesVersion.objects.filter(site=site).order_by("seq")
    return {
        "rules": plain_rules(rules_history(site).at(at)),
        "history": list(versions.values("seq", "in_force_from", "rules")),
    }


def rules_said(site: UUID) -> dict[str, Any]:
    """What the newest version of a site's rules says, without defaults. One query."""
    newest = RulesVersion.objects.filter(site=site).order_by("-seq").first()
    return dict(newest.rules) if newest else {}


def hours_shown(site: UUID, at: datetime) -> dict[str, Any]:
    rows = list(
        HoursVersion.objects.filter(site=site)
        .order_by("seq")
        .values("seq", "in_force_from", "weekly", "exceptions")
    )
    in_force = [row for row in rows if row["in_force_from"] <= at]
    newest = max(in_force, key=lambda row: row["in_force_from"], default=None)
    return {
        "weekly": newest["weekly"] if newest else [],
        "exceptions": newest["exceptions"] if newest else [],
        "history": rows,
    }


def device_shown(uid: UUID) -> dict[str, Any] | None:
    """One device with its columns, None where there is none. One query."""
    found: dict[str, Any] | None = _devices().filter(uid=uid).first()
    return found


def devices_listed(site: UUID) -> list[dict[str, Any]]:
    """The devices of a site by label, those that were ended among them. One query."""
    return list(_devices().filter(site=site).order_by("label"))


def shifts_listed(
    site: UUID, *, begins: datetime | None = None, ends: datetime | None = None
) -> list[dict[str, Any]]:
    """Who was or will be on shift at any time between two moments, by beginning. One query."""
    rows = Shift.objects.filter(site=site)
    if begins is not None:
        rows = rows.filter(ends__gte=begins)
    if ends is not None:
        rows = rows.filter(begins__lte=ends)
    return [
        {
            "shift": str(row.fact),
            "person": str(row.person_id),
            "name": row.person.name,
            "from": row.begins,
            "to": row.ends,
            "on_call": row.on_call,
        }
        for row in rows.select_related("person").order_by("begins", "fact")
    ]


def _devices() -> Any:
    return Device.objects.values("uid", "site", "label", "ended_at", "version")
