"""Which containers stand near one, and what a sign was to those who stood there."""

from collections.abc import Iterable
from datetime import datetime
from typing import Any
from uuid import UUID

from django.db.models import Q

from protocols.exposure import Grade
from protocols.incidents import WithinReach
from stock.judging.neighbours import floor_plan
from stock.models import DeviationRow, FactSubject, StayRow
from stock.queries.sites import rules_history, rules_of_sites


def neighbours_shown(
    site: UUID, container: UUID, at: datetime, *, known_by: int | None = None
) -> list[dict[str, Any]]:
    """Containers of the same room within the site's distance as they stood at `at`.

    The nearest first. Two queries.
    """
    within_m = rules_of_sites([site], known_by=known_by)[site].at(at).neighbour_m
    plan = floor_plan(site, known_by=known_by)
    near, spots = plan.near(container, at, within_m), plan.at(at)
    return [
        {
            "uid": str(uid),
            "label": spots[uid].label,
            "metres": str(metres),
            "lid": spots[uid].lid,
            "air_stone": spots[uid].air_stone,
        }
        for uid, metres in near
    ]


def within_reach(site: UUID, container: UUID, at: datetime) -> list[WithinReach]:
    """Containers with animals from which one that lay near `container` may have come.

    Each with whether its animals were counted since. Five queries.
    """
    within_m = rules_history(site).at(at).neighbour_m
    near = floor_plan(site).near(container, at, within_m)
    there = StayRow.objects.filter(
        Q(ended_latest=None) | Q(ended_latest__gt=at),
        container__in=[container, *(uid for uid, _ in near)],
        began_earliest__lte=at,
    ).values_list("container", "container__label", "batch")
    rows = list(there.order_by("container__label"))
    counted = FactSubject.objects.filter(
        subject__in=[batch for _, _, batch in rows],
        fact__kind="counted",
        fact__parked=None,
        fact__performed_at__gte=at,
    )
    known = set(counted.values_list("subject", flat=True))
    return [WithinReach(uid, label, batch in known) for uid, label, batch in rows]


def proximities_shown(
    *, batches: Iterable[UUID] = (), signs: Iterable[UUID] = ()
) -> list[dict[str, Any]]:
    """Exposures by standing near: of these batches, and those that these signs made.

    In the form of exposures by contact. One query.
    """
    rows = DeviationRow.objects.filter(
        Q(batch__in=list(batches)) | Q(cause__in=list(signs)), rule="proximity"
    )
    return [_shown(row) for row in rows.order_by("at", "batch__code")]


def _shown(row: DeviationRow) -> dict[str, Any]:
    known = row.numbers
    return {
        "batch": str(row.batch_id),
        "subject": str(row.batch_id),
        "source": known["from"],
        "way": "proximity",
        "grade": str(Grade.POSSIBLE),
        "at": row.at,
        "by": str(row.cause),
        "thing": None,
        **{name: known[name] for name in KNOWN},
    }


# What is known of a proximity, for the person who looks at it.
KNOWN = (
    "metres",
    "container",
    "lid",
    "air_stone",
    "own_lid",
    "together_from",
    "together_until",
)
