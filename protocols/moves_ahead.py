"""The moves that a series still needs, within staffed hours, and what an early one costs."""

from dataclasses import dataclass
from datetime import datetime, timedelta
from zoneinfo import ZoneInfo

from protocols.hours import Span, StaffedHours
from protocols.slots import Slot, move_slot, slot_after


@dataclass(frozen=True, slots=True)
class SeriesSoFar:
    """What planning needs to know of an unfinished series.

    `earliest_end` is the first moment at which it can be complete (start plus least span, cold
    hours added by whoever asks); `moves` were made; the open stay began at `placed` and ends by
    `limit`; a stay lasts at most `stay_limit`, and at least `moves_least` moves are needed.
    """

    earliest_end: datetime
    moves: int
    placed: datetime
    limit: datetime
    stay_limit: timedelta
    moves_least: int

    def completes(self, at: datetime) -> bool:
        """Whether a move at `at` would complete the series."""
        return self.moves + 1 >= self.moves_least and at >= self.earliest_end

    def moved(self, at: datetime) -> "SeriesSoFar":
        """The same series after one more move at `at`."""
        return SeriesSoFar(
            self.earliest_end,
            self.moves + 1,
            at,
            at + self.stay_limit,
            self.stay_limit,
            self.moves_least,
        )


@dataclass(frozen=True, slots=True)
class PlannedMove:
    """One move to come. `planned` is None where nobody is there: a call-out by `limit`.

    `window` is given where the move completes the series: not before the earliest end, not
    after the limit.
    """

    number: int
    planned: datetime | None
    limit: datetime
    no_slot_between: Span | None
    window: Span | None = None


@dataclass(frozen=True, slots=True)
class MovePlan:
    """The rest of a series. Its last move completes it."""

    moves: tuple[PlannedMove, ...]
    complete_from: datetime
    complete_by: datetime

    @property
    def moves_in_all(self) -> int:
        return self.moves[-1].number

    @property
    def containers_in_all(self) -> int:
        """Containers, and uses of a kit, from the first placement to the completing move."""
        return self.moves_in_all + 1

    @property
    def call_outs(self) -> int:
        return sum(move.planned is None for move in self.moves)


@dataclass(frozen=True, slots=True)
class Cost:
    """What ending the open stay at a moment costs, against ending it at its limit.

    Moves are the least still to make, this one included. `latest_end` is the last moment at
    which that many moves can complete the series.
    """

    early: timedelta
    moves_at_limit: int
    moves: int
    earliest_end: datetime
    latest_end_at_limit: datetime
    latest_end: datetime

    @property
    def more_moves(self) -> int:
        """Moves on top; each takes a container and a kit more."""
        return self.moves - self.moves_at_limit


def moves_needed(so_far: SeriesSoFar) -> int:
    """The least number of moves still to make within limits and span: at least one.

    With k moves the last is at the latest at limit + (k - 1) x stay limit, and may complete the
    series only at or after the earliest end.
    """
    missing = max(so_far.earliest_end - so_far.limit, timedelta(0))
    return max(so_far.moves_least - so_far.moves, 1 - (-missing // so_far.stay_limit))


def cost_of_moving(at: datetime, so_far: SeriesSoFar) -> Cost:
    """What a move at `at` costs in further moves. It never shortens the span.

    Raises ValueError outside the stay: before it there is no move, after it no series.
    """
    if not so_far.placed <= at <= so_far.limit:
        raise ValueError("a move in time lies between the placement and the limit")
    at_limit = moves_needed(so_far)
    after = so_far.moved(at)
    still = 0 if so_far.completes(at) else moves_needed(after)
    return Cost(
        early=so_far.limit - at,
        moves_at_limit=at_limit,
        moves=1 + still,
        earliest_end=so_far.earliest_end,
        latest_end_at_limit=so_far.limit + (at_limit - 1) * so_far.stay_limit,
        latest_end=after.limit + (still - 1) * so_far.stay_limit,
    )


def plan_moves(so_far: SeriesSoFar, hours: StaffedHours, zone: ZoneInfo) -> MovePlan:
    """The moves still to make, each as late as staffed hours allow, until the last completes.

    As late as possible every time gives the fewest moves, since a later placement never has an
    earlier next limit. A move that nobody can make in staffed hours counts at its limit.
    """
    moves: list[PlannedMove] = []
    while not moves or moves[-1].window is None:
        slot = move_slot(so_far.placed, so_far.limit, hours, zone)
        at = slot.at if isinstance(slot, Slot) else so_far.limit
        planned, gap = (at, None) if isinstance(slot, Slot) else (None, slot.between)
        window = Span(_opens(so_far), so_far.limit) if so_far.completes(at) else None
        moves.append(PlannedMove(so_far.moves + 1, planned, so_far.limit, gap, window))
        last, so_far = so_far, so_far.moved(at)
    first = slot_after(_opens(last), hours, zone, until=last.limit)
    return MovePlan(tuple(moves), first or last.limit, last.limit)


def _opens(so_far: SeriesSoFar) -> datetime:
    return max(so_far.earliest_end, so_far.placed)
