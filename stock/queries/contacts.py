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
from stock.models import Batch, FactSubject, StayRow
from stock.queries.sites import rules_history

TOLD_OF_PLACES = ("contact_seen", "incident_recorded", "dose_given", "water_changed")


def batches_there(named: Iterable[UUID], at: datetime) -> list[UUID]:
    """Batches named, and those in a container or with a kit that is named. Two queries.

    Both ends of a stay count: at the second of a move nobody knows which came first.
    """
    uids = list(named)
    there = StayRow.objects.filter(
        Q(container__in=uids) | Q(kit__in=uids),
        Q(ended_latest=None) | Q(ended_latest__gte=at),
        began_earliest__lte=at,
    )
    found = {*there.values_list("batch", flat=True)}
    found |= {*Batch.objects.filter(uid__in=uids).values_list("uid", flat=True)}
    return sorted(found)


def container_of(batches: Iterable[UUID], at: datetime) -> UUID | None:
    """Where the first of these batches stood at a moment. One query."""
    stays = StayRow.objects.filter(
        Q(ended_latest=None) | Q(ended_latest__gt=at),
        batch__in=list(batches),
        began_earliest__lte=at,
    )
    return stays.order_by("batch").values_list("container", flat=True).first()


def told_where_it_was(batch: UUID) -> list[UUID]:
    """Contacts, incidents, doses and changes of water, told of where a batch was then.

    At either end of a contact: what went out from it belongs to its history as well. Two
    queries.
    """
    stays = list(StayRow.objects.filter(batch=batch))
    places = {uid for stay in stays for uid in (stay.container_id, stay.kit_id) if uid}
    rows = FactSubject.objects.filter(subject__in=places, fact__kind__in=TOLD_OF_PLACES)
    told = rows.values_list("fact", "subject", "fact__performed_at")
    return [
        fact
        for fact, place, at in told
        if any(
            place in (stay.container_id, stay.kit_id)
            and stay.began_earliest <= at
            and (stay.ended_latest is None or stay.ended_latest >= at)
            for stay in stays
        )
    ]


def exposures_shown(site: UUID, batches: Iterable[UUID], at: datetime) -> list[dict[str, Any]]:
    """By which contacts something could have reached these batches up to `at`, by batch."""
    stays = list(StayRow.objects.filter(batch__in=list(batches)).order_by("began_earliest"))
    contacts = _contacts(site, stays, at)
    found: dict[tuple[UUID, UUID], dict[str, Any]] = {}
    for stay in stays:
        span = When(stay.began_earliest, max(stay.began_earliest, stay.ended_latest or at))
        for one in exposures(_names(stay), contacts, span=span):
            found.setdefault((stay.batch_id, one.by), _shown(stay.batch_id, one))
    return list(found.values())


def _names(stay: StayRow) -> tuple[UUID, ...]:
    """By which something that reached a batch may be told: its own name, or where it stood."""
    kit = () if stay.kit_id is None else (stay.kit_id,)
    return (stay.batch_id, stay.container_id, *kit)


def _contacts(site: UUID, stays: Iterable[StayRow], at: datetime) -> tuple[Happening, ...]:
    """Contacts with these batches, their containers or kits. Four queries at most."""
    touched = {uid for stay in stays for uid in _names(stay)}
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
