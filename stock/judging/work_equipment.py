"""Kits and containers as far as work follows from them, from their kept readiness."""

from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import replace
from datetime import datetime, timedelta
from typing import Any
from uuid import UUID

from django.db.models import F, OuterRef, Q, Subquery, UUIDField
from django.db.models.functions import Coalesce

from protocols.order import happenings
from protocols.tasks import Equipment, Unconfirmed
from protocols.values import Rules, RulesHistory
from stock.judging.facts import value_of
from stock.judging.upkeep import state_of
from stock.judging.words import words_about
from stock.models import Container, Fact, Kit, Piece, StayRow, Upkeep

# A dry-sighting told late changes nothing any more once the thing was used many times since.
SIGHTINGS_FOR = timedelta(days=30)


def equipment_known(
    site: UUID, at: datetime, *, only: Collection[UUID] | None = None
) -> tuple[Equipment, ...]:
    """Kits and containers in use at the site, or those among `only`. One query.

    The cause of what is to be done with one is the stay it was in last: that needs no history,
    and correcting a time does not change it.
    """
    kept = Upkeep.objects.filter(site=site, what__in=("kit", "container"))
    if only is not None:
        kept = kept.filter(subject__in=only)
    rows: Iterable[Any] = kept.annotate(**_more())
    # A kit is always in use; a container may have been put away.
    return tuple(_equipment(row, at) for row in rows if row.in_use is not False)


def _more() -> dict[str, Any]:
    """The label, whether it is in use, and which its last stay was, and where."""
    kit = Kit.objects.filter(uid=OuterRef("subject"))
    container = Container.objects.filter(uid=OuterRef("subject"))
    last = StayRow.objects.filter(
        Q(kit=OuterRef("subject")) | Q(container=OuterRef("subject"))
    ).order_by("-began_earliest", "-uid")
    return {
        "label": Coalesce(Subquery(kit.values("label")), Subquery(container.values("label"))),
        "in_use": Subquery(container.values("in_use")),
        "last_stay": Subquery(last.values("uid")[:1]),
        # The engine gives a foreign key as it keeps it, unless told what it is.
        "stood_in": Subquery(last.values("container")[:1], output_field=UUIDField()),
    }


def _equipment(row: Any, at: datetime) -> Equipment:
    return Equipment(
        uid=row.subject,
        kind=row.what,
        label=row.label,
        state=state_of(row, at),
        cause=row.last_stay or row.subject,
        ready_at=row.ready_at,
        stands_in=row.stood_in if row.what == "kit" else None,
    )


def with_late_sightings(
    site: UUID, equipment: Sequence[Equipment], *, rules: RulesHistory, at: datetime
) -> tuple[Equipment, ...]:
    """The same equipment, with what was told late of it and waits for a second person."""
    late = _late_sightings(site, rules, at)
    if not late:
        return tuple(equipment)
    rows = Piece.objects.filter(uid__in=late, kit__isnull=False)
    kits = dict(rows.values_list("uid", "kit"))
    found: dict[UUID | None, dict[UUID, Unconfirmed]] = {}
    for subject, told in late.items():
        found.setdefault(kits.get(subject, subject), {}).update(told)
    return tuple(
        replace(one, unconfirmed=tuple(found[one.uid].values())) if one.uid in found else one
        for one in equipment
    )


def _late_sightings(
    site: UUID, rules: RulesHistory, at: datetime
) -> Mapping[UUID, Mapping[UUID, Unconfirmed]]:
    """Dry-sightings told late and confirmed by nobody, by what was seen. At most 3 queries."""
    rows = Fact.objects.filter(
        log=site,
        kind="seen_dry",
        performed_at__gt=at - SIGHTINGS_FOR,
        performed_at__lte=at,
    ).filter(Q(recorded_at__gt=F("performed_at") + _least_late(rules)) | Q(delivered=True))
    told = [value_of(row) for row in rows]
    words = words_about(fact.uid for fact in told)
    found: dict[UUID, dict[UUID, Unconfirmed]] = {}
    for one in happenings([*told, *words], at=at, rules=rules):
        if one.late_unconfirmed:
            by = Unconfirmed(one.uid, one.first.doer, one.when.earliest)
            for subject in one.body["subjects"]:
                found.setdefault(UUID(subject), {})[one.uid] = by
    return found


def _least_late(rules: RulesHistory) -> timedelta:
    """By any rules there were, what is told sooner than this after it happened is not late."""
    least = min(one.late_confirm_after_s for one in (Rules(), *(r for _, r in rules.versions)))
    return timedelta(seconds=least)
