"""Decisions about what broke a series, and holds."""

import pytest

from protocols.judged import SeriesState
from tests.protocols.story import (
    BATCH,
    EVE,
    MAX,
    SECOND,
    Story,
    container,
    hour,
    kit,
    stay,
)

# -- decisions about what broke ---------------------------------------------------------------


def late_by(seconds):
    story = Story()
    story.placed()
    story.moved(72, seconds=seconds)
    return story


def test_kept_after_a_late_move_the_old_series_goes_on():
    story = late_by(60)
    story.decided(73, "stay_over", stay(0), "keep")

    found = story.judged(74)

    assert (found.series.number, found.series.moves) == (1, 1)
    assert found.series.state is SeriesState.UNBROKEN
    assert found.past_series == ()
    assert found.stays[0].over == 60 * SECOND
    assert found.earliest_end == hour(288)


def test_restarted_after_a_late_move_the_series_that_began_with_it_goes_on():
    story = late_by(60)
    story.decided(73, "stay_over", stay(0), "restart", **{"from": "this_stay"})

    found = story.judged(74)

    assert found.series.started.earliest == hour(72, 60)
    assert found.past_series[0].why == "late"
    assert found.earliest_end_if_kept is None


@pytest.mark.parametrize(("known", "number"), [(59, 2), (60, 1), (61, 1)])
def test_a_decision_covers_as_much_lateness_as_was_known(known, number):
    story = late_by(60)
    numbers = {"over_s": known, "stay_s": 259200 + known, "limit_s": 259200}
    story.decided(73, "stay_over", stay(0), "keep", known=numbers)

    assert story.judged(74).series.number == number


def test_a_decision_while_the_stay_goes_on_covers_only_until_then():
    story = Story()
    story.placed()
    story.decided(73, "stay_over", stay(0), "keep")

    assert story.judged(73).series.state is SeriesState.UNBROKEN
    assert story.judged(74).series.state is SeriesState.UNPROVEN


def test_restart_while_nobody_has_moved_waits_for_the_move():
    story = Story()
    story.placed()
    known = {"over_s": 10**6, "stay_s": 10**6, "limit_s": 0}
    story.decided(73, "stay_over", stay(0), "restart", known=known)

    found = story.judged(74)

    assert found.series.state is SeriesState.WAITING
    assert (found.series.number, found.past_series[0].why) == (2, "late")


def test_a_decision_changes_nothing_before_it_was_made():
    story = late_by(60)
    story.decided(90, "stay_over", stay(0), "keep")

    assert story.judged(89).series.number == 2


def test_a_decision_may_name_the_stay_as_the_other_account_did():
    story = Story()
    story.placed()
    first = story.moved(71)
    other = story.moved_again(71, container=container(1), kit=kit(1))
    story.moved(144)
    numbers = {"over_s": 3600, "stay_s": 73 * 3600, "limit_s": 72 * 3600}
    story.decided(145, "stay_over", other.body["stay"], "keep", known=numbers)

    found = story.judged(146)

    assert first.body["stay"] != other.body["stay"]
    assert (found.series.number, found.series.moves) == (1, 2)


# -- holds ----------------------------------------------------------------------------------


def test_a_hold_stands_until_it_is_lifted():
    story = Story()
    story.placed()
    hold = story.add("hold", "hold_placed", hour(5), batch=BATCH, why="vet comes", doer=MAX)
    story.add("lift", "hold_lifted", hour(9), hold=hold.uid, doer=EVE)

    (standing,) = story.judged(8).holds

    assert (standing.uid, standing.why, standing.by) == (hold.uid, "vet comes", MAX)
    assert story.judged(9).holds == ()
