"""What a manager could do now, as records that go on: ready containers, no water carried."""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from itertools import pairwise

from protocols.carryover.inputs import Inputs, Stay

# Hands-on hours of one move with what has to be cleaned after it; assumed, a planning value.
WORK_OF_A_MOVE_H = 0.75


@dataclass(frozen=True, slots=True)
class Action:
    """A course from now on: after so many hours each a move; the last stay without one.

    `at_once` is whether it begins with a move.
    """

    stay_h: int
    stays: int
    at_once: bool

    @property
    def moves(self) -> int:
        return self.stays - 1 + self.at_once

    @property
    def work_h(self) -> float:
        return WORK_OF_A_MOVE_H * self.moves

    @property
    def lasts_h(self) -> int:
        return self.stay_h * self.stays


ACTIONS: Mapping[str, Action] = {
    "stay_72_more": Action(72, 1, at_once=False),
    "move_now": Action(72, 1, at_once=True),
    "restart_4_x_72": Action(72, 4, at_once=True),
    "restart_6_x_48": Action(48, 6, at_once=True),
}


def after(record: Inputs, action: Action) -> Inputs:
    """The record up to the end of an action that begins at its last hour."""
    now, last = record.end, record.stays[-1]
    ends = [now + n * action.stay_h for n in range(action.stays + 1)]
    if not action.at_once:
        stayed = replace(last, end_h=float(ends[1]))
        return replace(record, stays=(*record.stays[:-1], stayed))
    # Whoever was placed this very hour is moved on again: that container was no stay.
    before = record.stays if last.end > last.first else record.stays[:-1]
    further = tuple(_ready(last, a, b) for a, b in pairwise(ends))
    return replace(record, stays=(*before, *further))


def _ready(like: Stay, start: int, end: int) -> Stay:
    """A stay in a ready container of the same size and light."""
    return replace(like, start_h=float(start), end_h=float(end), water_carried_ml=0.0, gear=())
