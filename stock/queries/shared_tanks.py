"""Who stood in shared water, and what its system was called at the time."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import datetime
from uuid import UUID
from zoneinfo import ZoneInfo

from protocols.clocks import local_text
from protocols.judged import Judgement
from protocols.ruled import Reason
from protocols.shared_tanks import (
    CLEAN,
    StatusTold,
    is_through,
    stood_in_unclean,
    unclean_since,
    would_end_status,
)
from stock.judging.load import judged
from stock.models import Certificate, Fact, Kin, StayRow, System


@dataclass(frozen=True, slots=True)
class Unclean:
    """A batch stood in water that nobody called clean, from then on, by this stay."""

    batch: UUID
    stay: UUID
    system: System
    since: datetime
    until: datetime | None


def unclean_stays(
    batches: Iterable[UUID], at: datetime, *, known_by: int | None = None
) -> list[Unclean]:
    """Every stay of these batches in such water, by time. One query, two with systems."""
    rows = list(
        StayRow.objects.filter(
            batch__in=list(batches), container__system__isnull=False, began_latest__lte=at
        )
        .select_related("container__system__site")
        .order_by("began_latest", "uid")
    )
    systems = {uid for row in rows if (uid := row.container.system_id) is not None}
    told = _told_of(systems, at, known_by) if rows else {}
    found = []
    for row in rows:
        system = row.container.system
        assert system is not None
        history = told.get(system.uid, ())
        since = unclean_since(history, row.began_latest, row.ended_latest)
        if since is not None and since <= at:
            found.append(Unclean(row.batch_id, row.uid, system, since, row.ended_latest))
    return found


def against_certifying(
    family: Iterable[UUID], at: datetime, *, known_by: int | None = None
) -> Iterator[Reason]:
    """What shared water says against a certificate for a batch of this family."""
    for one in unclean_stays(family, at, known_by=known_by)[:1]:
        zone = ZoneInfo(one.system.site.zone)
        yield stood_in_unclean(one.system.label, local_text(one.since, zone))


def entering(container: UUID, batch: UUID | None, at: datetime) -> Iterator[Reason]:
    """What stands against animals in a container of a clean system that others share.

    Without a batch they come out of their bags. One query where the container shares no water.
    """
    system = System.objects.filter(containers=container, status=CLEAN).first()
    if system is None:
        return
    others = StayRow.objects.filter(container__system=system, ended_latest=None)
    count = others.exclude(batch=batch).count()
    if count and (batch is None or not _may_share(batch, at)):
        yield would_end_status(system.label, count)


def _may_share(batch: UUID, at: datetime) -> bool:
    before = Kin.objects.filter(batch=batch, how__in=("parent", "ancestor"))
    return is_safe(judged(batch, at), {batch, *before.values_list("of", flat=True)}, at)


def is_safe(judgement: Judgement, family: Iterable[UUID], at: datetime) -> bool:
    """Whether these animals may share clean water."""
    return is_through(judgement) and not unclean_stays(family, at)


def left_already(row: Certificate) -> dict[UUID, int]:
    """Animals of a certificate that left certified conditions, by the batch they were in then.

    One query, and none where nobody did.
    """
    if row.state not in ("partly", "ended"):
        return {}
    facts = Fact.objects.filter(
        kind="certificate_ended", subjects__subject=row.uid, parked=None
    ).order_by("seq")
    found: dict[UUID, int] = {}
    for fact in facts:
        batch = UUID(fact.body.get("by") or fact.body["batch"])
        found[batch] = found.get(batch, 0) + fact.body.get("count", row.count)
    return found


def _told_of(
    systems: Iterable[UUID], at: datetime, known_by: int | None
) -> dict[UUID, list[StatusTold]]:
    facts = Fact.objects.filter(
        kind="system_set", subjects__subject__in=systems, performed_at__lte=at, parked=None
    )
    if known_by is not None:
        facts = facts.filter(seq__lte=known_by)
    found: dict[UUID, list[StatusTold]] = {}
    for fact in facts.order_by("performed_at", "seq"):
        told = StatusTold(fact.performed_at, fact.body["status"])
        found.setdefault(UUID(fact.body["system"]), []).append(told)
    return found
