"""What a failed check of an instrument throws doubt on: readings, and moves by them."""

from collections.abc import Iterable, Mapping, Sequence
from datetime import datetime
from uuid import UUID

from django.db.models import Q

from stock.judging.water import checks_of
from stock.models import Fact, FactSubject, StayRow, WaterReading

# Waters are compared by these; a specific gravity is read as a salinity.
COMPARED: Mapping[str, str] = {
    "salinity": "salinity",
    "specific_gravity": "salinity",
    "temperature": "temperature",
}


def doubted_since(instrument: UUID, at: datetime) -> dict[str, list[str]]:
    """Readings up to `at` that its failed checks throw doubt on, and moves that used them.

    Only those since the last good check before `at`: older doubts were told before. A fixed
    number of queries, and whether or not the batches are judged again yet.
    """
    rows = WaterReading.objects.filter(
        instrument=instrument, in_doubt=True, performed_at__lte=at
    )
    good = [one.at for one in checks_of([instrument]).get(instrument, ()) if one.passed]
    since = max((one for one in good if one < at), default=None)
    if since is not None:
        rows = rows.filter(performed_at__gte=since)
    readings = list(rows.order_by("performed_at", "uid"))
    return {
        "readings": [str(one.uid) for one in readings],
        "moves": sorted(str(uid) for uid in _moves_with(readings)),
    }


def _moves_with(readings: Sequence[WaterReading]) -> set[UUID]:
    """Moves that named one of the readings, or for which one of them was the newest."""
    doubted = {one.uid for one in readings}
    if not doubted:
        return set()
    containers = {one.container_id for one in readings}
    water = _water(containers, readings[0].performed_at)
    used = {
        by
        for by, container, moment in _turns(containers, readings[0].performed_at)
        if doubted & _newest(water.get(container, ()), moment)
    }
    named = FactSubject.objects.filter(subject__in=doubted).values("fact")
    moves = Fact.objects.filter(Q(uid__in=named) | Q(uid__in=used), kind="batch_moved")
    return set(moves.values_list("uid", flat=True))


def _water(containers: Iterable[UUID], since: datetime) -> dict[UUID, list[WaterReading]]:
    """What was read there since, by time. One query."""
    rows = WaterReading.objects.filter(
        container__in=containers, quantity__in=COMPARED, performed_at__gte=since
    )
    found: dict[UUID, list[WaterReading]] = {}
    for row in rows.order_by("performed_at", "uid"):
        found.setdefault(row.container_id, []).append(row)
    return found


def _turns(containers: Iterable[UUID], since: datetime) -> list[tuple[UUID, UUID, datetime]]:
    """Which fact brought a batch into such a container or out of it, and when. One query."""
    stays = StayRow.objects.filter(
        Q(ended_latest=None) | Q(ended_latest__gte=since), container__in=containers
    )
    found = []
    for row in stays:
        found.append((row.began_by, row.container_id, row.began_latest))
        if row.ended_by is not None and row.ended_latest is not None:
            found.append((row.ended_by, row.container_id, row.ended_latest))
    return found


def _newest(water: Sequence[WaterReading], moment: datetime) -> set[UUID]:
    """The newest reading of each quantity up to a moment."""
    newest = {COMPARED[one.quantity]: one.uid for one in water if one.performed_at <= moment}
    return set(newest.values())
