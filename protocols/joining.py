"""What a join does: all share the worst history and the earliest limit."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from uuid import UUID

from protocols.courses import Course
from protocols.deviations import Questions
from protocols.judged import Stay
from protocols.ruled import Protocol
from protocols.series import Tally, Track
from protocols.stays import NONE, OpenStay
from protocols.told import Happening, When
from protocols.uids import as_uid


@dataclass(frozen=True, slots=True)
class Member:
    """A batch that is to be joined, as it is now; `start` is None while nothing counts."""

    batch: UUID
    start: datetime | None
    moves: int
    limit: datetime | None = None
    complete: bool = False


@dataclass(frozen=True, slots=True)
class JoinEffect:
    """What all together would have: day 1, moves, limit, and whose series would end."""

    start: datetime | None
    moves: int
    limit: datetime | None
    restarted: tuple[UUID, ...]

    def earliest_end(self, protocol: Protocol) -> datetime | None:
        """The first moment at which the series of all could be complete, hours too cold left
        aside."""
        return None if self.start is None else self.start + protocol.span_least


def join_effect(
    members: Sequence[Member],
    *,
    came_in: Iterable[UUID],
    target_ready: bool,
    at: datetime,
    stay_limit: timedelta,
) -> JoinEffect:
    """The latest start, the fewest moves, the earliest limit. Needs at least one member.

    `target_ready` says that the container is ready and empty: then going there is a move for
    those who come in, and `at` day 1 for those of whom nothing counts yet. The limit is the
    earliest of those of who is there already and of the stay that begins.
    """
    moving = frozenset(came_in)
    placed = target_ready and all(one.batch in moving for one in members)
    starts = [one.start or (at if placed else None) for one in members]
    known = [start for start in starts if start is not None]
    start = max(known) if len(known) == len(members) else None
    moved = [one.moves + (1 if placed and one.start else 0) for one in members]
    complete = all(one.complete for one in members)
    limits = [one.limit for one in members if one.batch not in moving and one.limit]
    return JoinEffect(
        start=start,
        moves=min(moved) if start else 0,
        limit=None if complete else min([*limits, at + stay_limit]),
        restarted=tuple(
            one.batch
            for one in members
            if (one.start and one.start != start) or (one.complete and not complete)
        ),
    )


def restarts(before: Tally, joined: Tally) -> bool:
    """Whether a series that had begun does not go on in the joined batch."""
    if before.shown.start is None:
        return False
    lost = before.completed is not None and joined.completed is None
    return lost or before.shown.start != joined.shown.start


def merged(
    members: Sequence[Course], happening: Happening, decisions: Sequence[Happening]
) -> Course:
    """The course of all together from the join on; who came in has left their stay by then."""
    batch = as_uid(happening.body["batch"])
    first = members[0]
    joined = Course(batch, first.given, Questions(batch, decisions))
    came_in = {as_uid(uid) for uid in happening.body["came_in"]}
    there = [one for one in members if one.batch not in came_in]
    for one in members:
        joined.questions.take_over(one.questions)
        joined.holds |= one.holds
        joined.signs += one.signs
        joined.relied_on |= one.relied_on
    joined.tolerance = min(one.tolerance for one in members)
    joined.tally = _merged([one.tally for one in members])
    joined.stays = _stays(members)
    if there:
        joined.open = _shared(there, joined, happening)
        joined.relied_on |= {joined.open.uid, joined.open.container}
    else:
        joined.begin(happening, moves=True)
    return joined


def _shared(there: Sequence[Course], joined: Course, happening: Happening) -> OpenStay:
    """The stay of who was there goes on: its limit is that of all."""
    stays = [one.open for one in there if one.open is not None]
    began = [one.began for one in stays if one.limited]
    kit = happening.body.get("kit")
    return OpenStay(
        uid=as_uid(happening.body["stay"]),
        batch=joined.batch,
        container=as_uid(happening.body["container"]),
        kit=stays[0].kit if kit is None else as_uid(kit),
        began=min(began, key=lambda one: one.earliest, default=happening.when),
        limited=joined.tally.completed is None,
        taken_over=happening.when,
    )


def _stays(members: Sequence[Course]) -> list[Stay]:
    """The stays of all, those they had together once."""
    found = {stay.uid: stay for one in members for stay in one.stays}
    return sorted(found.values(), key=lambda one: (one.began.earliest, one.uid))


def _merged(tallies: Sequence[Tally]) -> Tally:
    """The worst of all; its series is the first of the joined batch."""
    ends = [one.completed for one in tallies if one.completed is not None]
    return Tally(
        shown=_worst([one.shown for one in tallies]),
        strict=_worst([one.strict for one in tallies]),
        kept=_worst([one.kept for one in tallies]),
        completed=max(ends, key=_late) if len(ends) == len(tallies) else None,
        asked=any(one.asked for one in tallies),
    )


def _worst(tracks: Sequence[Track]) -> Track:
    """The latest start and the fewest moves; nothing where one of them counts nothing yet."""
    starts = [one.start for one in tracks if one.start is not None]
    start = max(starts, key=_late) if len(starts) == len(tracks) else None
    not_before = [one.not_before for one in tracks if one.not_before is not None]
    latest = [one for one in tracks if one.start == start] if start else []
    return Track(
        start=start,
        moves=min(one.moves for one in tracks) if start else 0,
        cold=max((one.cold for one in latest), default=NONE),
        unknown=max((one.unknown for one in latest), default=NONE),
        not_before=max(not_before, default=None),
    )


def _late(when: When) -> tuple[datetime, datetime]:
    return when.latest, when.earliest
