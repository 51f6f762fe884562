"""What it would mean to do a piece of work now instead of when it is planned."""

from dataclasses import dataclass
from datetime import datetime, timedelta

from protocols.moves_ahead import SeriesSoFar, cost_of_moving


@dataclass(frozen=True, slots=True)
class IfNow:
    """What a move now costs, against one at the limit and one at the planned time.

    Moves are those still to make, this one included; `in_all` counts those made as well.
    `early` is what is given away of the time up to the limit.
    """

    completes: bool
    early: timedelta
    moves: int
    moves_at_limit: int
    moves_if_planned: int
    in_all: int
    earliest_end: datetime

    @property
    def more_moves(self) -> int:
        """Moves on top of those that the limit would need; each takes a container and a kit."""
        return self.moves - self.moves_at_limit

    @property
    def as_planned(self) -> bool:
        """Whether the planned time costs as much, so that nothing is lost by doing it now."""
        return self.moves <= self.moves_if_planned


def if_moved_now(
    so_far: SeriesSoFar, at: datetime, planned: datetime | None = None
) -> IfNow | None:
    """What a move at `at` (UTC) would cost; None outside the stay, where no early move is."""
    if not so_far.placed <= at <= so_far.limit:
        return None
    now = cost_of_moving(at, so_far)
    later = planned if planned is not None and planned > at else None
    at_plan = cost_of_moving(min(later, so_far.limit), so_far) if later else now
    return IfNow(
        completes=so_far.completes(at),
        early=now.early,
        moves=now.moves,
        moves_at_limit=now.moves_at_limit,
        moves_if_planned=at_plan.moves,
        in_all=so_far.moves + now.moves,
        earliest_end=so_far.earliest_end,
    )
