"""When containers and kits were in use, as it is known now or was known by a position."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import datetime
from uuid import UUID

from django.db.models import Q

from protocols.order import happenings
from protocols.readiness import Use
from protocols.values import RulesHistory, When
from stock.judging.facts import value_of
from stock.judging.words import words_about
from stock.models import Fact, StayRow


@dataclass(frozen=True, slots=True)
class StayUse:
    """A stay that used a container and perhaps a kit."""

    stay: UUID
    use: Use


def uses_of(
    holders: set[UUID], *, rules: RulesHistory, at: datetime, known_by: int | None
) -> dict[UUID, list[StayUse]]:
    """Stays in these containers and with these kits, in order. One query.

    With `known_by` five: what the record book held by then says when they began and ended.
    """
    rows = StayRow.objects.filter(Q(container__in=holders) | Q(kit__in=holders))
    stays = list(rows.order_by("began_earliest", "uid"))
    known = None if known_by is None else _known(stays, rules, at, known_by)
    found: dict[UUID, list[StayUse]] = {}
    for row in stays:
        use = _use(row) if known is None else known.get(row.uid)
        for holder in (row.container_id, row.kit_id):
            if use is not None and holder in holders:
                found.setdefault(holder, []).append(StayUse(row.uid, use))
    return found


def _use(row: StayRow) -> Use:
    ended = None
    if row.ended_earliest is not None and row.ended_latest is not None:
        ended = When(row.ended_earliest, row.ended_latest)
    return Use(When(row.began_earliest, row.began_latest), ended)


def _known(
    stays: Iterable[StayRow], rules: RulesHistory, at: datetime, known_by: int
) -> dict[UUID, Use]:
    """The uses that were known by then; one whose end was not known yet goes on."""
    stays = list(stays)
    uids = {uid for row in stays for uid in (row.began_by, row.ended_by) if uid is not None}
    of_them = Q(uid__in=uids) | Q(
        kind="batch_moved", subjects__subject__in=[row.uid for row in stays]
    )
    rows = Fact.objects.filter(of_them, seq__lte=known_by).distinct()
    told = {row.uid: value_of(row) for row in rows}
    words = words_about(told, known_by=known_by)
    folded = happenings(
        [*told.values(), *words], at=datetime.max.replace(tzinfo=at.tzinfo), rules=rules
    )
    whens = {fact.uid: one.when for one in folded for fact in one.accounts}
    # Another move may have ended it, by what was known then.
    moved = {
        UUID(fact.body["ended_stay"]): whens[fact.uid]
        for fact in told.values()
        if fact.kind == "batch_moved" and fact.uid in whens
    }
    return {
        row.uid: Use(whens[row.began_by], _ended(row, whens, moved))
        for row in stays
        if row.began_by in whens
    }


def _ended(row: StayRow, whens: Mapping[UUID, When], moved: Mapping[UUID, When]) -> When | None:
    known = whens.get(row.ended_by) if row.ended_by is not None else None
    return known or moved.get(row.uid)
