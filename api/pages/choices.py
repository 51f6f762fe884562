"""Lists to choose from: containers and kits, ready ones first."""

from collections.abc import Iterable
from datetime import datetime
from zoneinfo import ZoneInfo

from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy as later

from api.language import local_text
from api.pages.words import plain
from protocols.ruled import Protocol
from stock.queries.choices import Choice

Grouped = list[tuple[str, str | list[tuple[str, str]]]]


def equipment(found: Iterable[Choice], zone: ZoneInfo, now: datetime) -> Grouped:
    """Ready first; the rest stays to be chosen, since the door says what stands against it."""
    groups: dict[str, list[tuple[str, str]]] = {one: [] for one in GROUPS}
    for one in found:
        groups[_group(one)].append((str(one.uid), _said(one, zone, now)))
    said = ((str(GROUPS[one]), rows) for one, rows in groups.items() if rows)
    return [("", _("Choose one")), *said]


GROUPS = {"ready": later("Ready"), "not_ready": later("Not ready"), "in_use": later("In use")}


def protocols(found: Iterable[Protocol]) -> list[tuple[str, str]]:
    """Versions by key, each with what it is about where that is said."""
    return [(one.key, f"{one.key}: {one.title}" if one.title else one.key) for one in found]


def _group(one: Choice) -> str:
    if one.used_by:
        return "in_use"
    return "ready" if one.state == "ready" else "not_ready"


def _said(one: Choice, zone: ZoneInfo, now: datetime) -> str:
    if one.used_by:
        return f"{one.label}, {one.used_by}"
    if one.state == "ready":
        return one.label
    if one.ready_at and one.ready_at > now:
        return _("{label}, {state}, ready {ready_at}").format(
            label=one.label, state=plain(one.state), ready_at=local_text(one.ready_at, zone)
        )
    return f"{one.label}, {plain(one.state)}"
