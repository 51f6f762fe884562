"""Probes of a site as they are seen: where they send from, what came last, what is wrong."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any
from uuid import UUID

from django.db.models import Count, Max, OuterRef, Subquery

from protocols.probes import STUCK_LEAST, is_silent, stuck_since
from protocols.values import Rules
from stock.models import DeviceToken, Person, ProbeSeen, Role, StayRow, WaterReading
from stock.queries.people import token_digest
from stock.queries.sites import rules_history


@dataclass(frozen=True, slots=True)
class ProbeNow:
    """What a probe sent last from a container; `state` is a word."""

    probe: UUID
    label: str
    container: UUID
    container_label: str
    quantity: str
    value: str
    unit: str
    last_at: datetime
    state: str  # probe_sends, probe_silent, probe_stuck, probe_idle

    def shown(self) -> dict[str, Any]:
        return {
            "probe": str(self.probe),
            "label": self.label,
            "container": str(self.container),
            "container_label": self.container_label,
            "quantity": self.quantity,
            "value": self.value,
            "unit": self.unit,
            "last_at": self.last_at,
            "state": self.state,
        }


def probes_seen(site: UUID, at: datetime) -> list[ProbeNow]:
    """Every probe by label and container. Eight queries, and two for each that may be stuck."""
    newest = WaterReading.objects.filter(
        instrument=OuterRef("probe"),
        container=OuterRef("container"),
        quantity=OuterRef("quantity"),
        performed_at=OuterRef("last_at"),
    )
    rows = list(
        ProbeSeen.objects.filter(site=site)
        .select_related("probe", "container")
        .annotate(
            value=Subquery(newest.values("value")[:1]), unit=Subquery(newest.values("unit")[:1])
        )
        .order_by("probe__label", "container__label", "quantity")
    )
    wrong = {row.pk: kind for kind, row, _ in failing(site, at)}
    beside = {row.pk for row in _with_animals(site)}
    return [
        ProbeNow(
            row.probe_id,
            row.probe.label,
            row.container_id,
            row.container.label,
            row.quantity,
            str(row.value or ""),
            str(row.unit or ""),
            row.last_at,
            wrong.get(row.pk, "probe_sends" if row.pk in beside else "probe_idle"),
        )
        for row in rows
    ]


def probe_sender(text: str, at: datetime) -> tuple[Person, UUID] | None:
    """Who answers for what this device sends, and its site; None where it may not send.

    Its device is not ended and its maker works there still. Two queries.
    """
    found = (
        DeviceToken.objects.filter(digest=token_digest(text), person__is_active=True)
        .select_related("person", "device")
        .first()
    )
    if found is None:
        return None
    ended, site = found.device.ended_at, found.device.site_id
    works = Role.objects.filter(person=found.person, site=site).exists()
    return None if not works or (ended and ended <= at) else (found.person, site)


def failing(site: UUID, at: datetime) -> list[tuple[str, ProbeSeen, datetime]]:
    """Each probe beside animals that sends nothing or the same again and again, since when.

    Two queries where there are probes, three where there are animals beside them, and two
    more for each that may be stuck.
    """
    seen = _with_animals(site)
    if not seen:
        return []
    rules = rules_history(site).at(at)
    return [*_silent(seen, rules, at), *_stuck(seen, rules, at)]


def _with_animals(site: UUID) -> list[ProbeSeen]:
    """Where probes hang beside animals. Two queries."""
    rows = list(ProbeSeen.objects.filter(site=site).select_related("probe"))
    if not rows:
        return []
    places = [one.container_id for one in rows]
    there = StayRow.objects.filter(container__in=places, ended_latest=None)
    occupied = set(there.values_list("container", flat=True))
    return [one for one in rows if one.container_id in occupied and not _left(one, rows)]


def _left(row: ProbeSeen, rows: list[ProbeSeen]) -> bool:
    """Whether the probe was taken elsewhere: it began to send there after it ended here."""
    return any(
        other.first_at > row.last_at
        for other in rows
        if (other.probe_id, other.quantity) == (row.probe_id, row.quantity)
    )


def _silent(
    seen: list[ProbeSeen], rules: Rules, at: datetime
) -> Iterator[tuple[str, ProbeSeen, datetime]]:
    for row in seen:
        if is_silent(row.last_at, at, after_s=rules.probe_silent_after_s):
            yield "probe_silent", row, row.last_at


def _stuck(
    seen: list[ProbeSeen], rules: Rules, at: datetime
) -> Iterator[tuple[str, ProbeSeen, datetime]]:
    """One query to find who may be, two more for each of those."""
    after = timedelta(seconds=rules.probe_stuck_after_s)
    taken = WaterReading.objects.filter(
        instrument__in=[one.probe_id for one in seen],
        container__in=[one.container_id for one in seen],
        performed_at__gte=at - after,
    )
    same = taken.values("instrument", "container", "quantity").annotate(
        n=Count("uid"), values=Count("value", distinct=True)
    )
    may_be = {
        (one["instrument"], one["container"], one["quantity"])
        for one in same.filter(values=1, n__gte=STUCK_LEAST)
    }
    for row in seen:
        if (row.probe_id, row.container_id, row.quantity) in may_be:
            since = stuck_since(_equal(row), after_s=rules.probe_stuck_after_s)
            if since is not None:
                yield "probe_stuck", row, since


def _equal(row: ProbeSeen) -> list[tuple[datetime, str]]:
    """The newest values of a probe that are all the same, by time."""
    each = WaterReading.objects.filter(
        instrument=row.probe_id, container=row.container_id, quantity=row.quantity
    )
    last = each.filter(performed_at=row.last_at).values_list("value", flat=True)[0]
    other = each.exclude(value=last).aggregate(at=Max("performed_at"))["at"]
    same = each.filter(value=last)
    if other is not None:
        same = same.filter(performed_at__gt=other)
    return list(same.order_by("performed_at").values_list("performed_at", "value"))
