"""Work that moves ask for: the move, its preparation, a call-out where nobody is there."""

from collections.abc import Iterable, Iterator
from dataclasses import replace
from datetime import datetime, timedelta
from typing import Any
from uuid import UUID

from protocols.hours import SECOND
from protocols.moves_ahead import SeriesSoFar, cost_of_moving
from protocols.slots import NoSlot, Slot, look_ahead, slot_before
from protocols.tasks import AtSite, BatchWork, Equipment, What, Work, work_key
from protocols.values import SeriesState, State

# Time to fill the target, to bring its water to that of the source, and to read both.
PREPARE_AHEAD = timedelta(hours=2)


def move_work(batches: Iterable[BatchWork], site: AtSite) -> Iterator[Work]:
    """Moves, their preparation and call-outs, whatever there is for them."""
    for batch in batches:
        yield from _of_batch(batch, site)


def _of_batch(batch: BatchWork, site: AtSite) -> Iterator[Work]:
    if batch.stay is None or batch.placed is None or batch.alive == 0:
        return
    if batch.limit is not None:
        yield from _limited(batch, batch.placed, batch.limit, site)
    elif batch.series is SeriesState.WAITING:
        yield _move(batch, "waiting")
        yield _prepare(batch, None, site)


def _limited(
    batch: BatchWork, placed: datetime, limit: datetime, site: AtSite
) -> Iterator[Work]:
    ahead = look_ahead(placed, limit, site.hours, site.zone, stay_limit=batch.stay_limit)
    so_far = series_so_far(batch, placed, limit)
    completes = so_far is not None and so_far.completes(ahead.moved_at)
    if isinstance(ahead.slot, NoSlot):
        yield _move(batch, "no_staffed_slot", limit=limit, no_slot_between=ahead.slot.between)
        yield _call_out(batch, batch.stay_before or batch.batch, ahead.slot, "no_staffed_slot")
    else:
        yield _move(
            batch,
            "limit_outside_staffed_hours" if ahead.slot.early else "limit",
            planned=ahead.slot.at,
            limit=limit,
            no_slot_between=None if completes else ahead.no_slot_between,
            numbers=_numbers(placed, ahead.slot, so_far),
        )
    yield _prepare(batch, ahead.moved_at, site)
    if isinstance(ahead.next_slot, NoSlot) and not completes:
        yield _call_out(batch, _cause(batch), ahead.next_slot, "no_staffed_slot_ahead")


def series_so_far(batch: BatchWork, placed: datetime, limit: datetime) -> SeriesSoFar | None:
    """The series as far as it can be planned; None while it is open what counts."""
    if batch.earliest_end is None or batch.series is not SeriesState.UNBROKEN:
        return None
    return SeriesSoFar(
        earliest_end=batch.earliest_end,
        moves=batch.moves,
        placed=placed,
        limit=limit,
        stay_limit=batch.stay_limit,
        moves_least=batch.moves_least,
    )


def _numbers(placed: datetime, slot: Slot, so_far: SeriesSoFar | None) -> dict[str, Any]:
    """What planning at the slot means: the stay, how early, and what that costs in moves."""
    numbers: dict[str, Any] = {
        "stay_s": (slot.at - placed) // SECOND,
        "early_s": slot.early // SECOND,
    }
    if so_far is not None:
        cost = cost_of_moving(slot.at, so_far)
        numbers |= {"moves_at_limit": cost.moves_at_limit, "moves_if_planned": cost.moves}
        numbers["completes"] = so_far.completes(slot.at)
    return numbers


def _cause(batch: BatchWork) -> UUID:
    assert batch.stay is not None
    return batch.stay


def _move(batch: BatchWork, why: str, **known: Any) -> Work:
    return Work(
        key=work_key(What.MOVE, batch.batch, _cause(batch)),
        what=What.MOVE,
        why=why,
        batch=batch.batch,
        container=batch.container,
        kit=batch.kit,
        **known,
    )


def _prepare(batch: BatchWork, move_at: datetime | None, site: AtSite) -> Work:
    """Container, kit and water for the coming move, by the time that it is planned for."""
    return Work(
        key=work_key(What.PREPARE, batch.batch, _cause(batch)),
        what=What.PREPARE,
        why="move_coming",
        batch=batch.batch,
        planned=_prepared_at(move_at, batch.placed, site) if move_at else None,
        limit=move_at,
    )


def _prepared_at(move_at: datetime, placed: datetime | None, site: AtSite) -> datetime | None:
    """The latest staffed moment that leaves enough time before the move; None without one."""
    early = move_at - PREPARE_AHEAD
    slot = slot_before(early, site.hours, site.zone, not_before=placed or early)
    return slot.at if isinstance(slot, Slot) else None


def _call_out(batch: BatchWork, stay_before: UUID, gap: NoSlot, why: str) -> Work:
    """Somebody has to come in. To be arranged while people are still there.

    The cause is the stay before the one that needs it, which is known a move ahead: so who took
    it keeps it when that move is made.
    """
    return Work(
        key=work_key(What.CALL_OUT, batch.batch, stay_before),
        what=What.CALL_OUT,
        why=why,
        batch=batch.batch,
        planned=gap.since,
        limit=gap.until,
        no_slot_between=gap.between,
    )


def supplied(
    found: Iterable[Work], equipment: Iterable[Equipment], at: datetime
) -> tuple[Work, ...]:
    """The same work, with a kit and a container that will be ready, or what is short.

    One thing is given to one move only, so `found` should be all the work of a site.
    """
    found, equipment = tuple(found), tuple(equipment)
    needs = sorted(
        (max(work.limit or at, at), work.key) for work in found if _needs_supply(work)
    )
    kits = _assigned(needs, [one for one in equipment if one.kind == "kit"], at)
    containers = _assigned(needs, [one for one in equipment if one.kind == "container"], at)
    return tuple(
        _with(work, kits.get(work.key), containers.get(work.key))
        if _needs_supply(work)
        else work
        for work in found
    )


def _needs_supply(work: Work) -> bool:
    """Each coming move once: a call-out for the open stay is the move that is prepared."""
    return work.what is What.PREPARE or work.why == "no_staffed_slot_ahead"


def _assigned(
    needs: Iterable[tuple[datetime, str]], things: Iterable[Equipment], at: datetime
) -> dict[str, UUID]:
    """The earliest need gets what is ready earliest: so as many as possible get something."""
    free = sorted(
        (one.ready_at or at, one.label, one.uid)
        for one in things
        if one.state is State.READY or one.ready_at is not None
    )
    given: dict[str, UUID] = {}
    for needed_at, key in needs:
        if free and free[0][0] <= needed_at:
            given[key] = free.pop(0)[2]
    return given


def _with(work: Work, kit: UUID | None, container: UUID | None) -> Work:
    short = [kind for kind, one in (("kit", kit), ("container", container)) if one is None]
    numbers = {**work.numbers, "short": short} if short else work.numbers
    return replace(work, kit=kit, container=container, numbers=numbers)
