"""The work that is due at a site, from judgements, equipment, hours and rules.

Nothing here is stored: the same situation gives the same work under the same keys, and
`reconcile` says which rows of tasks have to change for it.
"""

from collections.abc import Iterable, Iterator
from datetime import UTC, datetime, timedelta
from uuid import UUID
from zoneinfo import ZoneInfo

from protocols.hours import DAY, StaffedHours, touching
from protocols.slots import slot_before as slot_before
from protocols.tasks import (
    AtSite,
    BatchWork,
    ClaimWork,
    Equipment,
    RoomWork,
    What,
    Work,
    work_key,
)
from protocols.values import Rules, State
from protocols.work_moves import move_work, supplied
from protocols.work_questions import question_work, search_key

NEVER = datetime.max.replace(tzinfo=UTC)
WEEK = timedelta(days=7)


def due_work(
    batches: Iterable[BatchWork],
    equipment: Iterable[Equipment],
    hours: StaffedHours,
    rules: Rules,
    *,
    zone: ZoneInfo,
    at: datetime,
    rooms: Iterable[RoomWork] = (),
    claims: Iterable[ClaimWork] = (),
) -> tuple[Work, ...]:
    """All open work of a site at `at` (UTC), what comes first at the top, then by time left.

    Keys are unique and do not depend on the order of what is given.
    """
    equipment = tuple(equipment)
    site = AtSite(hours, zone, rules, at)
    found = kept_work(batches, equipment, site, rooms=rooms, claims=claims)
    return supplied(found, equipment, at)


def kept_work(
    batches: Iterable[BatchWork],
    equipment: Iterable[Equipment],
    site: AtSite,
    *,
    rooms: Iterable[RoomWork] = (),
    claims: Iterable[ClaimWork] = (),
) -> tuple[Work, ...]:
    """The same work as it is kept: which kit and container each move gets is left open.

    That depends on every other move of the site and changes by the hour, so it is worked out
    by `supplied` when work is read. What is left out here changes no other work, except that
    a disinfection waits for searches of the batches given.
    """
    batches, equipment = tuple(batches), tuple(equipment)
    found = [
        *move_work(batches, site),
        *(work for batch in batches for work in question_work(batch, site)),
        *_equipment_work(equipment, _searches(batches)),
        *(_round(room, site) for room in rooms),
        *(_claim(claim) for claim in claims),
    ]
    return tuple(sorted({work.key: work for work in found}.values(), key=urgency))


def urgency(work: Work) -> tuple[bool, datetime, str]:
    """What to sort work by: animals in danger, then the limit, then the planned time."""
    return not work.first, work.limit or work.planned or NEVER, work.key


def _searches(batches: tuple[BatchWork, ...]) -> dict[UUID, tuple[str, ...]]:
    """The searches still to be made, by the container that has to stay as it is for them."""
    open_ones: dict[UUID, tuple[str, ...]] = {}
    for batch in batches:
        for missing in batch.missing:
            if not missing.searched:
                keys = {*open_ones.get(missing.container, ()), search_key(batch, missing)}
                open_ones[missing.container] = tuple(sorted(keys))
    return open_ones


def _equipment_work(
    equipment: tuple[Equipment, ...], searches: dict[UUID, tuple[str, ...]]
) -> Iterator[Work]:
    for one in equipment:
        if one.state is State.DIRTY:
            waits_for = searches.get(one.uid, ()) + searches.get(one.stands_in or one.uid, ())
            yield _of_equipment(What.DISINFECT, one, tuple(sorted(set(waits_for))))
        if one.state is State.DISINFECTED:
            yield _of_equipment(What.SEE_DRY, one, ())
        yield from _late_told(one)


def _of_equipment(what: What, one: Equipment, waits_for: tuple[str, ...]) -> Work:
    is_kit = one.kind == "kit"
    return Work(
        key=work_key(what, one.uid, one.cause),
        what=what,
        why="not_searched" if waits_for else one.state.value,
        container=one.stands_in if is_kit else one.uid,
        kit=one.uid if is_kit else None,
        waits_for=waits_for,
    )


def _late_told(one: Equipment) -> Iterator[Work]:
    for told in one.unconfirmed:
        yield Work(
            key=work_key(What.CONFIRM_LATE, one.uid, told.fact),
            what=What.CONFIRM_LATE,
            why="late_unconfirmed",
            container=None if one.kind == "kit" else one.uid,
            kit=one.uid if one.kind == "kit" else None,
            not_by=(told.by,),
        )


def _round(room: RoomWork, site: AtSite) -> Work:
    return Work(
        key=work_key(What.ROUND, room.room, room.cause),
        what=What.ROUND,
        why="shift",
        room=room.room,
        limit=round_by(room.looked_at, site.hours, site.zone),
    )


def round_by(looked_at: datetime, hours: StaffedHours, zone: ZoneInfo) -> datetime:
    """Until when every container of a room is to be looked at after a round at `looked_at`.

    By the end of the next shift that begins. Where people are there without a break, or nobody
    is for a week, 24 h after the last round.
    """
    coming = touching(hours, zone, looked_at, looked_at + WEEK)
    later = [one for one in coming if one.start > looked_at]
    unbroken = (
        bool(coming) and coming[0].start <= looked_at and coming[0].end >= looked_at + DAY
    )
    return looked_at + DAY if unbroken or not later else min(later[0].end, later[0].start + DAY)


def _claim(claim: ClaimWork) -> Work:
    return Work(
        key=work_key(What.PREPARE_CLAIM, claim.consignment, claim.consignment),
        what=What.PREPARE_CLAIM,
        why="dead_on_arrival" if claim.dead else "short",
        planned=claim.remind_at,
        limit=claim.deadline,
        numbers={"dead": claim.dead, "short": claim.short},
    )
