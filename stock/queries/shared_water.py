"""From a make to every container and batch it reached, and from a batch to its makes."""

from collections.abc import Iterable, Mapping, Sequence
from datetime import datetime
from typing import Any
from uuid import UUID

from django.db.models import Q

from protocols.filled import EMPTIES
from protocols.shared_water import DrawTold, Reached, StayTold, reached
from stock.models import Batch, Container, Draw, FactSubject, Kin, Make, Parked, StayRow
from stock.queries.origins import LINEAGE


def reached_by(make: UUID, at: datetime) -> dict[str, Any]:
    """Containers filled from a make up to `at`, and the batches its water was with.

    Seven queries.
    """
    draws = list(Draw.objects.filter(make=make, at__lte=at).order_by("at", "fact"))
    containers = _sharing({one.container_id for one in draws})
    found = _reached(draws, containers, _stays(Q(container__in=containers), at), at)
    codes = _codes(one.stay.batch for one in found)
    return {
        "containers": [_shown_draw(one, containers) for one in draws],
        "batches": [
            {
                "uid": str(one.stay.batch),
                "code": codes[one.stay.batch],
                "container": str(one.stay.container),
                "container_label": containers[one.stay.container].label,
                "drawn_at": one.draw.at,
                "from": max(one.draw.at, one.stay.began),
                "to": one.stay.ended,
                "by_system": one.by_system,
            }
            for one in found
        ],
    }


def makes_of_batch(batch: UUID, at: datetime) -> list[dict[str, Any]]:
    """Every make whose water was with a batch up to `at`, or with those it came out of.

    By the time of the draw. Eight queries.
    """
    kin = Kin.objects.filter(batch=batch, how__in=LINEAGE).values_list("of", flat=True)
    stays = _stays(Q(batch__in={batch, *kin}), at)
    containers = _sharing({one.container for one in stays})
    rows = Draw.objects.filter(container__in=containers, at__lte=at)
    draws = list(rows.order_by("at", "fact"))
    found = _reached(draws, containers, stays, at)
    makes = {row.uid: row for row in Make.objects.filter(uid__in={one.make for one in draws})}
    codes = _codes(one.stay.batch for one in found)
    told = {one.fact: one for one in draws}
    return [
        {
            "make": str(one.draw.make),
            "vat": makes[one.draw.make].vat if one.draw.make in makes else None,
            "made_at": makes[one.draw.make].made_at if one.draw.make in makes else None,
            **_shown_draw(told[one.draw.fact], containers),
            "batch": str(one.stay.batch),
            "code": codes[one.stay.batch],
            "by_system": one.by_system,
        }
        for one in found
    ]


def filled_now(containers: Iterable[UUID], at: datetime) -> set[UUID]:
    """Those of these containers that were filled and not let go since. Two queries."""
    wanted = list(containers)
    rows = Draw.objects.filter(container__in=wanted, what="filled", at__lte=at)
    gone = _gone(wanted, at)
    return {
        container
        for container, drawn in rows.values_list("container", "at")
        if not any(drawn < one for one in gone.get(container, ()))
    }


def _reached(
    draws: Sequence[Draw],
    containers: Mapping[UUID, Container],
    stays: Sequence[StayTold],
    at: datetime,
) -> list[Reached]:
    told = [DrawTold(one.fact, one.make, one.container_id, one.at) for one in draws]
    systems = {uid: row.system_id for uid, row in containers.items() if row.system_id}
    return list(reached(told, stays, gone=_gone(containers, at), systems=systems))


def _sharing(uids: set[UUID]) -> dict[UUID, Container]:
    """These containers and those that share water with them. One query."""
    shared = Q(uid__in=uids) | Q(system__containers__in=uids)
    return {row.uid: row for row in Container.objects.filter(shared).distinct()}


def _stays(which: Q, at: datetime) -> list[StayTold]:
    rows = StayRow.objects.filter(which, began_earliest__lte=at).order_by("began_earliest")
    return [
        StayTold(
            row.batch_id,
            row.container_id,
            row.began_earliest,
            None if row.ended_latest is None or row.ended_latest > at else row.ended_latest,
        )
        for row in rows
    ]


def _gone(containers: Iterable[UUID], at: datetime) -> dict[UUID, list[datetime]]:
    """When the water of each container was let go. One query."""
    rows = FactSubject.objects.filter(
        subject__in=list(containers), fact__kind__in=sorted(EMPTIES), fact__performed_at__lte=at
    ).exclude(fact__in=Parked.objects.values("fact"))
    found: dict[UUID, list[datetime]] = {}
    for subject, moment in rows.values_list("subject", "fact__performed_at"):
        found.setdefault(subject, []).append(moment)
    return found


def _codes(batches: Iterable[UUID]) -> dict[UUID, str]:
    return dict(Batch.objects.filter(uid__in=set(batches)).values_list("uid", "code"))


def _shown_draw(one: Draw, containers: Mapping[UUID, Container]) -> dict[str, Any]:
    return {
        "container": str(one.container_id),
        "container_label": containers[one.container_id].label,
        "what": one.what,
        "volume_l": f"{one.volume_l.normalize():f}",
        "at": one.at,
        "fact": str(one.fact),
    }
