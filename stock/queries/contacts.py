"""Who was touched by what: the batches where something happened, and their exposures."""

from collections.abc import Iterable
from datetime import datetime
from typing import Any
from uuid import UUID

from django.db.models import Q

from protocols.exposure import Exposure, exposures
from protocols.order import happenings
from protocols.values import Happening, When
from stock.judging.facts import facts_about
from stock.judging.words import words_about
from stock.models import Batch, StayRow
from stock.queries.sites import rules_history


def batches_there(named: Iterable[UUID], at: datetime) -> list[UUID]:
    """Batches named, and those in a container or with a kit that is named. Two queries."""
    uids = list(named)
    there = StayRow.objects.filter(
        Q(container__in=uids) | Q(kit__in=uids),
        Q(ended_latest=None) | Q(ended_latest__gt=at),
        began_earliest__lte=at,
    )
    found = {*there.values_list("batch", flat=True)}
    found |= {*Batch.objects.filter(uid__in=uids).values_list("uid", flat=True)}
    return sorted(found)


def exposures_shown(site: UUID, batches: Iterable[UUID], at: datetime) -> list[dict[str, Any]]:
    """By which contacts something could have reached these batches up to `at`, by batch."""
    stays = list(StayRow.objects.filter(batch__in=list(batches)).order_by("began_earliest"))
    contacts = _contacts(site, stays, at)
    found: dict[tuple[UUID, UUID], dict[str, Any]] = {}
    for stay in stays:
        span = When(stay.began_earliest, max(stay.began_earliest, stay.ended_latest or at))
        for one in exposures((stay.batch_id, stay.container_id), contacts, span=span):
            found.setdefault((stay.batch_id, one.by), _shown(stay.batch_id, one))
    return list(found.values())


def _contacts(site: UUID, stays: Iterable[StayRow], at: datetime) -> tuple[Happening, ...]:
    """Contacts with the batches of these stays or their containers. Four queries at most."""
    touched = {uid for stay in stays for uid in (stay.batch_id, stay.container_id)}
    by_subject = facts_about(touched, kinds=("contact_seen",))
    told = {fact.uid: fact for facts in by_subject.values() for fact in facts}
    words = words_about(told)
    return happenings([*told.values(), *words], at=at, rules=rules_history(site))


def _shown(batch: UUID, one: Exposure) -> dict[str, Any]:
    return {
        "batch": str(batch),
        "subject": str(one.subject),
        "source": str(one.source),
        "way": one.way,
        "grade": str(one.grade),
        "at": one.at,
        "by": str(one.by),
        "thing": None if one.thing is None else str(one.thing),
    }
