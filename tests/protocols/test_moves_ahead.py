"""The moves that a series still needs, and what an early one costs."""

from dataclasses import replace
from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from protocols.hours import Hours, HoursHistory, Span, Weekly
from protocols.moves_ahead import (
    PlannedMove,
    SeriesSoFar,
    cost_of_moving,
    moves_needed,
    plan_moves,
)
from tests.protocols.staffed import BERLIN, CHRISTMAS, NEW_YORK, every_day, local

HOUR = timedelta(hours=1)
STAY_LIMIT = 72 * HOUR
SPAN = 288 * HOUR
START = datetime(2027, 1, 5, 9, tzinfo=UTC)


def series(placed_h: float = 0, moves: int = 0, *, start: datetime = START) -> SeriesSoFar:
    """A series whose open stay began so many hours after its start."""
    placed = start + placed_h * HOUR
    return SeriesSoFar(
        earliest_end=start + SPAN,
        moves=moves,
        placed=placed,
        limit=placed + STAY_LIMIT,
        stay_limit=STAY_LIMIT,
        moves_least=4,
    )


@pytest.mark.parametrize(
    ("placed_h", "moves", "needed"),
    [
        pytest.param(0, 0, 4, id="four stays of 72 h are just enough"),
        pytest.param(71, 1, 4, id="one hour given away takes a move more"),
        pytest.param(72, 1, 3, id="none given away"),
        pytest.param(240, 4, 1, id="four early moves: a fifth"),
        pytest.param(216, 3, 1, id="the last of four"),
        pytest.param(215, 3, 2, id="the last of four cannot reach the span"),
        pytest.param(250, 1, 3, id="the span reached, moves missing"),
        pytest.param(300, 6, 1, id="more moves than needed are no error"),
    ],
)
def test_the_least_moves_within_limits_and_span(placed_h, moves, needed):
    assert moves_needed(series(placed_h, moves)) == needed


def test_an_early_first_move_means_a_fifth():
    cost = cost_of_moving(START + 71 * HOUR, series())

    assert (cost.moves_at_limit, cost.moves, cost.more_moves) == (4, 5, 1)
    assert cost.early == HOUR


def test_an_early_move_never_brings_the_earliest_end_forward():
    cost = cost_of_moving(START + 35 * HOUR, series())

    assert cost.earliest_end == START + SPAN
    assert cost.latest_end_at_limit == START + SPAN
    assert cost.latest_end == START + (35 + 4 * 72) * HOUR


def test_a_move_at_the_limit_costs_nothing():
    cost = cost_of_moving(START + 72 * HOUR, series())

    assert (cost.more_moves, cost.early) == (0, timedelta(0))
    assert cost.latest_end == cost.latest_end_at_limit


def test_a_second_early_move_costs_nothing_more_where_a_fifth_is_needed_anyway():
    assert cost_of_moving(START + 135 * HOUR, series(71, 1)).more_moves == 0


def test_a_completing_move_needs_no_other():
    cost = cost_of_moving(START + 288 * HOUR, series(240, 4))

    assert cost.moves == 1
    assert cost.latest_end == START + 288 * HOUR


def test_a_move_just_before_the_span_costs_another():
    assert cost_of_moving(START + 288 * HOUR - timedelta(seconds=1), series(240, 4)).moves == 2


@pytest.mark.parametrize("hours", [-1, 72.001])
def test_no_cost_is_told_for_a_move_outside_the_stay(hours):
    with pytest.raises(ValueError, match="between the placement and the limit"):
        cost_of_moving(START + hours * HOUR, series())


def test_after_four_moves_in_240_hours_a_fifth_completes_in_its_window():
    start = local(NEW_YORK, "2027-02-08 10:00")

    plan = plan_moves(series(240, 4, start=start), every_day(), NEW_YORK)

    window = Span(local(NEW_YORK, "2027-02-20 10:00"), local(NEW_YORK, "2027-02-21 10:00"))
    assert plan.moves == (PlannedMove(5, window.end, window.end, None, window),)
    assert (plan.complete_from, plan.complete_by) == (window.start, window.end)


def test_four_moves_suffice_where_every_limit_is_staffed():
    plan = plan_moves(series(), HoursHistory(), BERLIN)

    assert [move.planned for move in plan.moves] == [
        START + n * STAY_LIMIT for n in (1, 2, 3, 4)
    ]
    assert (plan.moves_in_all, plan.containers_in_all) == (4, 5)
    assert plan.complete_from == plan.complete_by == START + SPAN


def test_an_early_move_is_planned_with_five_moves_and_six_containers():
    plan = plan_moves(series(71, 1), HoursHistory(), BERLIN)

    assert (plan.moves_in_all, plan.containers_in_all, plan.call_outs) == (5, 6, 0)
    assert plan.complete_from == START + SPAN
    assert plan.complete_by == START + (71 + 4 * 72) * HOUR


def test_only_the_last_move_has_a_window():
    plan = plan_moves(series(71, 1), every_day(), BERLIN)

    assert [move.window is None for move in plan.moves] == [True, True, True, False]


def test_christmas_takes_one_call_out_in_the_plan():
    placed = local(BERLIN, "2026-12-22 14:00")

    plan = plan_moves(series(start=placed), CHRISTMAS, BERLIN)

    first, second = plan.moves[:2]
    assert first.planned == local(BERLIN, "2026-12-24 13:00")
    assert second.planned is None
    assert second.limit == local(BERLIN, "2026-12-27 13:00")
    assert second.no_slot_between == Span(first.planned, second.limit)
    assert plan.call_outs == 1


def test_a_series_can_be_complete_from_its_first_staffed_moment_on():
    start = local(BERLIN, "2027-01-05 03:00")

    plan = plan_moves(series(start=start), every_day(), BERLIN)

    assert plan.complete_from == local(BERLIN, "2027-01-17 08:00")


def test_a_site_that_nobody_staffs_is_planned_with_call_outs_at_the_limits():
    plan = plan_moves(series(), Hours(), BERLIN)

    assert plan.call_outs == 4
    assert plan.complete_from == plan.complete_by == START + SPAN


def test_a_protocol_of_276_hours_leaves_room_for_early_moves():
    looser = replace(series(69, 1), earliest_end=START + 276 * HOUR)

    assert moves_needed(looser) == 3


weekly = st.builds(
    lambda day, begins, length: Weekly(day, begins, begins + length),
    st.integers(0, 6),
    st.integers(0, 1439),
    st.integers(1, 1440),
)
some_hours = st.lists(weekly, max_size=6).map(tuple).map(Hours)
zones = st.sampled_from(["Europe/Berlin", "America/New_York", "Asia/Singapore"]).map(ZoneInfo)
some_series = st.builds(series, st.integers(0, 300), st.integers(0, 6))


@given(some_series, some_hours, zones)
def test_a_plan_keeps_every_limit_and_ends_complete(so_far, hours, zone):
    plan = plan_moves(so_far, hours, zone)

    made = [move.planned or move.limit for move in plan.moves]
    before = [so_far.placed, *made]
    assert all(0 < (b - a) / STAY_LIMIT <= 1 for a, b in zip(before, made, strict=False))
    assert made[-1] >= so_far.earliest_end
    assert plan.moves_in_all >= so_far.moves_least
    assert so_far.earliest_end <= plan.complete_from <= plan.complete_by


@given(some_series, some_hours, zones)
def test_staffed_hours_never_take_fewer_moves_than_limits_and_span(so_far, hours, zone):
    assert len(plan_moves(so_far, hours, zone).moves) >= moves_needed(so_far)


@given(some_series)
def test_with_people_always_there_a_plan_has_the_least_moves(so_far):
    assert len(plan_moves(so_far, HoursHistory(), BERLIN).moves) == moves_needed(so_far)


@given(some_series, st.integers(0, 72 * 3600))
def test_an_early_move_costs_at_most_one_more(so_far, seconds):
    at = so_far.placed + timedelta(seconds=seconds)

    assert 0 <= cost_of_moving(at, so_far).more_moves <= 1
