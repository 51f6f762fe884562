"""When animals were last seen alive, and on which days of an observation nobody looked."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import datetime
from typing import Any
from uuid import UUID

from django.db.models import Exists, OuterRef

from protocols.rounds import LastSeen, Walked, days_without, newest
from protocols.uids import as_uid
from protocols.values import Judgement
from stock.models import Fact, Kin, StayRow

# So many rounds and counts back are looked at where nothing says since when.
MOST = 60


@dataclass(frozen=True, slots=True)
class Stood:
    """Where a batch, or one it came out of, stood: from when to when (None: still)."""

    container: UUID
    began: datetime
    ended: datetime | None

    def holds(self, at: datetime) -> bool:
        return self.began <= at and (self.ended is None or at <= self.ended)


def last_seen(
    batch: UUID, stays: Iterable[Stood], at: datetime, *, known_by: int | None = None
) -> LastSeen | None:
    """When all of a batch were last seen alive: at a round, a count, or as they were placed.

    One query. `known_by` is a position in the record book of the site.
    """
    everywhere = list(stays)
    placed = [LastSeen(one.began, "placed") for one in everywhere if one.began <= at]
    return newest([*placed, *_seen(batch, everywhere, at, known_by)])


def last_seen_of(batch: UUID, at: datetime) -> LastSeen | None:
    """The same of a batch whose stays are not read yet. Two queries."""
    return last_seen(batch, stood_in(StayRow.objects.filter(batch=batch)), at)


def unwatched_days(
    batch: UUID,
    stays: Iterable[Stood],
    started: datetime,
    until: datetime,
    *,
    known_by: int | None = None,
) -> tuple[int, ...]:
    """Days of an observation without a round, as they stand. Three queries.

    Rounds that saw the batch it came out of count as well.
    """
    kin = Kin.objects.filter(batch=batch, how__in=("parent", "ancestor"))
    of = list(kin.values_list("of", flat=True))
    everywhere = [*stays, *(_stood(of) if of else [])]
    facts = _facts([one.container for one in everywhere], until, known_by)
    rounds = facts.filter(kind="round_made", performed_at__gte=started)
    told = rounds.values_list("performed_at", "body")
    return days_without(started, until, (seen for seen, _ in _of_rounds(told, everywhere)))


def days_unwatched(judgement: Judgement, *, known_by: int | None = None) -> tuple[int, ...]:
    """The days of the observation of a batch without a round; none without an observation."""
    watched = judgement.observation
    if watched is None:
        return ()
    until = min(watched.ends_at, judgement.at)
    return unwatched_days(
        judgement.batch,
        stood(judgement),
        watched.started.latest,
        until,
        known_by=known_by,
    )


def stood(judgement: Judgement) -> list[Stood]:
    return [
        Stood(one.container, one.began.earliest, one.ended.latest if one.ended else None)
        for one in judgement.stays
    ]


def stood_in(rows: Iterable[StayRow]) -> list[Stood]:
    return [Stood(row.container_id, row.began_earliest, row.ended_latest) for row in rows]


def _stood(batches: list[UUID]) -> list[Stood]:
    return stood_in(StayRow.objects.filter(batch__in=batches))


def _seen(
    batch: UUID, everywhere: list[Stood], at: datetime, known_by: int | None
) -> Iterator[LastSeen]:
    about = [batch, *(one.container for one in everywhere)]
    rows = (
        _facts(about, at, known_by)
        .order_by("-performed_at")
        .values_list("kind", "performed_at", "body")
    )
    found = list(rows[:MOST])
    counts = (seen for kind, seen, body in found if kind == "counted" and _of(body, batch))
    yield from (LastSeen(seen, "count") for seen in counts)
    rounds = ((seen, body) for kind, seen, body in found if kind == "round_made")
    for seen, all_seen in _of_rounds(rounds, everywhere):
        if all_seen:
            yield LastSeen(seen, "round")


def _of(body: dict[str, Any], batch: UUID) -> bool:
    return body.get("batch") == str(batch)


def _of_rounds(
    rounds: Iterable[tuple[datetime, dict[str, Any]]], everywhere: list[Stood]
) -> Iterator[tuple[datetime, bool]]:
    """Rounds that looked at where it stood then, and whether they saw everybody."""
    for seen, body in rounds:
        walked = walked_of(body)
        here = [
            one for one in everywhere if one.container in walked.looked_at and one.holds(seen)
        ]
        if here:
            yield seen, all(walked.saw_all(one.container) for one in here)


def walked_of(body: dict[str, Any]) -> Walked:
    """What the fact of a round says."""
    names = ("looked_at", "ate", "not_eating", "not_all_seen")
    return Walked(*(tuple(as_uid(uid) for uid in body.get(name) or ()) for name in names))


def _facts(about: Iterable[UUID], at: datetime, known_by: int | None) -> Any:
    """Rounds and counts about these, as far as they stand: neither withdrawn nor parked."""
    withdrawn = Fact.objects.filter(about=OuterRef("uid"), kind="fact_withdrawn")
    if known_by is not None:
        withdrawn = withdrawn.filter(seq__lte=known_by)
    known = {} if known_by is None else {"seq__lte": known_by}
    return Fact.objects.filter(
        ~Exists(withdrawn),
        **known,
        kind__in=("round_made", "counted"),
        subjects__subject__in=set(about),
        performed_at__lte=at,
        parked=None,
    ).distinct()
