"""Equipment that somebody wants to treat, as the rules see it at a moment."""

from collections.abc import Mapping, Sequence
from datetime import datetime
from uuid import UUID

from django.db.models import Q

from protocols.values import DryingRule
from protocols.worlds import Equipment, Occupant
from stock.judging.equipment import load_equipment
from stock.judging.worlds import alive_in
from stock.models import Container, Kit, Missing, Piece, SiteThing, StayRow
from stock.queries.sites import rules_history
from stock.refusals import NotFound

SORTS: tuple[type[SiteThing], ...] = (Container, Kit, Piece)


def named(subjects: Sequence[UUID]) -> dict[UUID, SiteThing]:
    """Containers, kits and pieces by uid. Three queries."""
    rows = (row for sort in SORTS for row in sort.objects.filter(uid__in=subjects))
    return {row.uid: row for row in rows}


def as_they_are(
    site: UUID, subjects: Sequence[UUID], *, drying: DryingRule, at: datetime
) -> tuple[Equipment, ...]:
    """Each subject with its readiness, who is in it, and whether it must be searched.

    Raises NotFound where one is not of this site.
    """
    rows = named(subjects)
    if any(uid not in rows or rows[uid].site_id != site for uid in subjects):
        raise NotFound
    found = load_equipment(subjects, rules=rules_history(site), at=at)
    stays = _stays(subjects, at)
    sought = _sought(site, at)
    read = {Container: found.container, Kit: found.kit, Piece: found.piece}
    return tuple(
        Equipment(
            uid=uid,
            label=rows[uid].label,
            readiness=read[type(rows[uid])](uid, drying, at),
            occupant=_occupant(uid, stays),
            where=_where(uid, stays),
            search_open=uid in sought or _kit_of(rows[uid]) in sought,
        )
        for uid in subjects
    )


def _stays(subjects: Sequence[UUID], at: datetime) -> Mapping[UUID, StayRow]:
    """The stay in each container or with each kit at a moment. One query."""
    rows = StayRow.objects.filter(
        Q(container__in=subjects) | Q(kit__in=subjects),
        Q(ended_latest=None) | Q(ended_latest__gt=at),
        began_earliest__lte=at,
    ).select_related("batch", "container")
    return {uid: row for row in rows for uid in (row.container_id, row.kit_id) if uid}


def _occupant(uid: UUID, stays: Mapping[UUID, StayRow]) -> Occupant | None:
    stay = stays.get(uid)
    if stay is None or stay.container_id != uid:
        return None
    return Occupant(
        batch=stay.batch_id,
        code=stay.batch.code,
        alive=alive_in(stay.batch_id),
        since=stay.began_latest,
    )


def _where(uid: UUID, stays: Mapping[UUID, StayRow]) -> str | None:
    stay = stays.get(uid)
    return stay.container.label if stay is not None and stay.kit_id == uid else None


def _sought(site: UUID, at: datetime) -> set[UUID]:
    """Containers in which somebody is looked for, and kits that stood in them. Two queries."""
    open_ = Missing.objects.filter(
        container__site=site, open__gt=0, searched_at=None, at__lte=at
    )
    pairs = set(open_.values_list("container", "batch"))
    if not pairs:
        return set()
    places = {container for container, _ in pairs}
    stays = StayRow.objects.filter(container__in=places, kit__isnull=False)
    kits = {
        kit
        for container, batch, kit in stays.values_list("container", "batch", "kit")
        if (container, batch) in pairs
    }
    return places | kits


def _kit_of(row: SiteThing) -> UUID | None:
    return row.kit_id if isinstance(row, Piece) else None
