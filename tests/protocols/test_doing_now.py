"""What if it is done now: an early move costs a fifth, one at the limit does not."""

from datetime import timedelta

import pytest

from protocols.doing_now import if_moved_now
from tests.protocols.test_moves_ahead import HOUR, START, series


@pytest.mark.parametrize(
    ("after_h", "moves", "more", "in_all"),
    [
        pytest.param(72, 4, 0, 4, id="at the limit"),
        pytest.param(71, 5, 1, 5, id="an hour early: a fifth"),
        pytest.param(1, 5, 1, 5, id="at once: a fifth as well"),
    ],
)
def test_what_the_first_move_costs_now(after_h, moves, more, in_all):
    found = if_moved_now(series(), START + after_h * HOUR)

    assert (found.moves, found.more_moves, found.in_all) == (moves, more, in_all)
    assert found.early == (72 - after_h) * HOUR
    assert not found.completes


def test_where_the_plan_is_early_too_doing_it_now_loses_nothing():
    now, planned = START + 60 * HOUR, START + 64 * HOUR

    assert if_moved_now(series(), now, planned).as_planned
    assert not if_moved_now(series(), now, START + 72 * HOUR).as_planned


def test_the_move_that_completes_the_series():
    found = if_moved_now(series(216, 3), START + 288 * HOUR)
    before = if_moved_now(series(216, 3), START + 288 * HOUR - timedelta(seconds=1))

    assert (found.completes, found.moves) == (True, 1)
    assert (before.completes, before.more_moves) == (False, 1)


def test_past_the_limit_there_is_no_early_move():
    assert if_moved_now(series(), START + 72 * HOUR + timedelta(seconds=1)) is None
