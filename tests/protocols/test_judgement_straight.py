"""The straight path: placed, moved in time or late, complete, observed."""

from dataclasses import replace
from datetime import timedelta

import pytest

from protocols.judged import SeriesState, Verdict
from protocols.ruled import Rules
from protocols.versions import protocol
from tests.protocols.story import (
    BATCH,
    HOUR,
    SECOND,
    Story,
    container,
    hour,
    kit,
    rules_open,
    stay,
    uid,
)

SERIES = (0, 72, 144, 216, 288)


def moved_at(*hours, **given):
    """A story placed at the first hour and moved at the others."""
    story = Story(**given)
    story.placed(hours[0])
    for one in hours[1:]:
        story.moved(one)
    return story


def test_a_placement_is_day_one_and_sets_the_limit():
    story = moved_at(0)

    found = story.judged(1)

    assert (found.state, found.stage, found.alive) == ("moves", "moves", 20)
    assert found.limit == hour(72)
    assert found.series.started.earliest == hour(0)
    assert (found.series.number, found.series.moves) == (1, 0)
    assert found.earliest_end == hour(288)
    assert found.earliest_end_if_kept is None


@pytest.mark.parametrize(
    ("seconds", "verdict", "over_s"),
    [
        (-1, Verdict.ON_TIME, 0),
        (0, Verdict.ON_TIME, 0),
        (1, Verdict.OVER, 1),
        (4800, Verdict.OVER, 4800),
    ],
)
def test_exactly_at_the_limit_is_on_time_and_a_second_later_is_not(seconds, verdict, over_s):
    story = moved_at(0)
    story.moved(72, seconds=seconds)

    ended = story.judged(100).stays[0]

    assert ended.verdict is verdict
    assert ended.over == over_s * SECOND
    assert ended.limit == hour(72)


@pytest.mark.parametrize(
    ("seconds", "verdict"),
    [
        (0, Verdict.ON_TIME),
        (1, Verdict.WITHIN_TOLERANCE),
        (1800, Verdict.WITHIN_TOLERANCE),
        (1801, Verdict.OVER),
    ],
)
def test_a_tolerance_never_moves_the_limit_and_stays_visible(seconds, verdict):
    story = moved_at(0, rules=Rules(tolerance_s=1800))
    story.moved(72, seconds=seconds)

    found = story.judged(100)

    assert found.stays[0].verdict is verdict
    assert found.stays[0].limit == hour(72)
    assert found.stays[0].over == seconds * SECOND


def test_within_tolerance_warns_and_the_series_goes_on():
    story = moved_at(0, rules=Rules(tolerance_s=1800))
    story.moved(72, seconds=1)

    found = story.judged(73)

    assert rules_open(found) == ["within_tolerance"]
    assert (found.series.number, found.series.moves) == (1, 1)
    assert found.series.state is SeriesState.UNBROKEN


def test_the_next_limit_counts_from_the_real_move():
    story = moved_at(0, 60)

    assert story.judged(61).limit == hour(132)


def test_a_late_move_breaks_the_series_and_is_day_one_of_the_next():
    story = moved_at(0, 71, 143)
    story.moved(215, seconds=4800)

    found = story.judged(217)

    assert [(one.rule, one.cause) for one in found.deviations] == [("stay_over", stay(2))]
    (old,) = found.past_series
    assert (old.number, old.state, old.moves, old.why) == (1, SeriesState.BROKEN, 2, "late")
    assert found.series.number == 2
    assert found.series.state is SeriesState.UNBROKEN
    assert found.series.started.earliest == hour(215, 4800)
    assert found.series.moves == 0
    assert found.earliest_end == hour(215 + 288, 4800)
    assert found.earliest_end_if_kept == hour(288)
    assert found.limit == hour(215 + 72, 4800)


def test_past_its_limit_with_no_move_told_a_stay_is_over_and_its_series_unproven():
    story = moved_at(0)

    found = story.judged(72, seconds=1)

    assert found.open_stay.verdict is Verdict.OVER
    assert found.series.state is SeriesState.UNPROVEN
    assert found.series.number == 1
    assert rules_open(found) == ["stay_over"]
    assert found.earliest_end is None
    assert found.earliest_end_if_kept == hour(288)


def test_at_its_limit_a_stay_is_not_over_yet():
    found = moved_at(0).judged(72)

    assert found.open_stay.verdict is None
    assert found.deviations == ()


@pytest.mark.parametrize(
    ("hours", "state"),
    [
        ((0, 72, 144, 288 - 72), SeriesState.UNBROKEN),  # three moves
        ((0, 72, 144, 216, 287), SeriesState.UNBROKEN),  # four, too early
        ((0, 60, 120, 180, 240), SeriesState.UNBROKEN),
        (SERIES, SeriesState.COMPLETE),
        ((0, 60, 120, 180, 240, 288), SeriesState.COMPLETE),  # five
        ((0, 50, 100, 150, 200, 250, 300), SeriesState.COMPLETE),  # six
    ],
)
def test_a_series_needs_four_moves_and_its_span(hours, state):
    found = moved_at(*hours).judged(hours[-1] + 1)

    assert found.series.state is state
    assert found.series.moves == len(hours) - 1


@pytest.mark.parametrize(
    ("seconds", "state"), [(-1, SeriesState.UNBROKEN), (0, SeriesState.COMPLETE)]
)
def test_the_span_is_kept_to_the_second(seconds, state):
    story = moved_at(0, 72, 144, 216)
    story.moved(288, seconds=seconds)

    assert story.judged(289).series.state is state


@pytest.mark.parametrize(
    ("seconds", "state"), [(-1, SeriesState.UNBROKEN), (0, SeriesState.COMPLETE)]
)
def test_the_shorter_protocol_has_its_own_span(seconds, state):
    story = moved_at(0, 71, 142, 213, protocol=protocol("transfer-276@1"))
    story.moved(276, seconds=seconds)

    assert story.judged(277).series.state is state


def test_early_moves_leave_hours_missing_that_a_fifth_move_brings():
    story = moved_at(0, 60, 120, 180, 240)

    series = story.judged(240).series

    assert series.elapsed == 240 * HOUR
    assert series.needed - series.elapsed == 48 * HOUR
    assert series.moves_needed == 1
    assert series.earliest_end == hour(288)
    assert story.judged(240).limit == hour(312)


@pytest.mark.parametrize(
    ("hours", "needed"),
    [
        ((0,), 4),
        ((0, 72), 3),
        ((0, 71), 4),  # 71 + 3 x 72 < 288
        ((0, 24), 4),  # 24 + 4 x 72 > 288
        ((0, 1, 2, 3, 4), 4),
        ((0, 72, 144, 216), 1),
        ((0, 72, 144, 215), 2),
    ],
)
def test_the_moves_still_needed_keep_limits_and_span(hours, needed):
    assert moved_at(*hours).judged(hours[-1]).series.moves_needed == needed


def test_the_completing_move_starts_the_observation_and_nothing_limits_it():
    found = moved_at(*SERIES).judged(288 + 100)

    assert (found.state, found.stage, found.limit) == ("observation", "observation", None)
    assert found.series.ended.earliest == hour(288)
    assert found.observation.started.earliest == hour(288)
    assert found.observation.ends_at == hour(288 + 336)
    assert found.observation.elapsed == 100 * HOUR
    assert found.open_stay.verdict is None


@pytest.mark.parametrize(("seconds", "state"), [(-1, "running"), (0, "done"), (86400, "done")])
def test_fourteen_full_days_end_an_observation(seconds, state):
    found = moved_at(*SERIES).judged(288 + 336, seconds=seconds)

    assert found.observation.state == state
    assert found.observation.elapsed == min(336 * HOUR, 336 * HOUR + timedelta(seconds=seconds))


def test_an_observation_may_go_on_in_another_container():
    story = moved_at(*SERIES)
    story.moved(288 + 200)

    found = story.judged(288 + 201)

    assert found.state == "observation"
    assert found.observation.started.earliest == hour(288)
    assert found.stays[-2].verdict is Verdict.ON_TIME
    assert found.series.moves == 4


def test_a_move_within_tolerance_may_complete():
    story = moved_at(0, 72, 144, 216, rules=Rules(tolerance_s=600))
    story.moved(288, seconds=600)

    assert story.judged(290).series.state is SeriesState.COMPLETE


def test_a_batch_is_placed_out_of_its_bags_only_once():
    story = moved_at(0)
    again = story.placed(5)
    story.facts[-1] = replace(again, uid=uid("again"))

    found = story.judged(6)

    assert [(one.rule, one.cause) for one in found.deviations] == [("parked", uid("again"))]
    assert (found.alive, len(found.stays)) == (20, 1)


def test_a_judgement_says_what_it_relied_on():
    found = moved_at(0, 70).judged(71)

    assert found.relied_on == {
        BATCH,
        *(name(number) for name in (stay, container, kit) for number in (0, 1)),
    }


def test_without_a_kit_it_relied_on_none():
    story = moved_at(0)
    story.moved(70)
    story.facts[-1].body.pop("kit")

    assert None not in story.judged(71).relied_on


def test_a_move_out_of_a_stay_that_is_not_open_is_parked():
    story = moved_at(0, 70)
    stray = story.moved(80, ended_stay=stay(7))

    found = story.judged(81)

    assert [(one.rule, one.cause) for one in found.deviations] == [("parked", stray.uid)]
    assert found.open_stay.uid == stay(1)
