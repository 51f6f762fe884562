"""What was told late at a site, by person and month: how late, why, who confirmed it."""

from datetime import datetime
from typing import Any
from uuid import UUID
from zoneinfo import ZoneInfo

from django.db.models import F, Q

from protocols.clocks import elapsed_text
from protocols.late import LateEntry, LateMonth, by_person_and_month, late_entries, least_late
from stock.judging.facts import value_of
from stock.judging.words import words_about
from stock.models import Fact, Person
from stock.queries.batches import timed
from stock.queries.sites import rules_of_sites

MOST = 5000


def late_months(
    site: UUID,
    zone: ZoneInfo,
    begins: datetime,
    ends: datetime,
    *,
    known_by: int | None = None,
) -> tuple[LateMonth, ...]:
    """What was recorded in a span of time and was told late. Four queries at most.

    By when it was recorded, so that a month that is over gets no more of them.
    """
    rules = rules_of_sites([site])[site]
    rows = Fact.objects.filter(
        log=site,
        recorded_at__gte=begins,
        recorded_at__lt=ends,
    ).filter(Q(recorded_at__gt=F("performed_at") + least_late(rules)) | Q(delivered=True))
    if known_by is not None:
        rows = rows.filter(seq__lte=known_by)
    told = [value_of(row) for row in rows.order_by("seq")[:MOST]]
    words = words_about((fact.uid for fact in told), known_by=known_by)
    return by_person_and_month(late_entries(told, words, rules=rules), zone)


def people_of(months: tuple[LateMonth, ...]) -> dict[UUID, str]:
    """The names of whoever told, did or confirmed any of it. One query."""
    every = [entry for month in months for entry in month.entries]
    uids = {one.fact.doer for one in every} | {one.fact.messenger for one in every}
    uids |= {said.by for one in every for said in one.confirmed}
    return dict(Person.objects.filter(uid__in=uids).values_list("uid", "name"))


def late_shown(months: tuple[LateMonth, ...], zone: ZoneInfo) -> list[dict[str, Any]]:
    """For programs. One query."""
    names = people_of(months)
    return [
        {
            "person": str(one.person),
            "name": names.get(one.person),
            "month": one.month,
            "count": len(one.entries),
            "waiting": sum(entry.waits for entry in one.entries),
            "longest_s": int(one.longest.total_seconds()),
            "longest_text": elapsed_text(one.longest),
            "entries": [_shown(entry, names, zone) for entry in one.entries],
        }
        for one in months
    ]


def _shown(one: LateEntry, names: dict[UUID, str], zone: ZoneInfo) -> dict[str, Any]:
    fact = one.fact
    return {
        "fact": str(fact.uid),
        "seq": fact.seq,
        "kind": fact.kind,
        "facts": one.facts,
        **timed("performed_at", fact.performed_at, zone),
        **timed("told_at", one.told_at, zone),
        "gap_s": int(one.gap.total_seconds()),
        "gap_text": elapsed_text(one.gap),
        "reason": fact.reason,
        "messenger": str(fact.messenger),
        "messenger_name": names.get(fact.messenger),
        "confirmed": [
            {"person": str(said.by), "name": names.get(said.by), **timed("at", said.at, zone)}
            for said in one.confirmed
        ],
        "waits": one.waits,
        "withdrawn": one.withdrawn,
    }
