"""Signs, observation, holds, and what a decision about what broke a series does."""

import pytest

from protocols.judged import Decision, Effect, SeriesState
from tests.protocols.story import (
    HOUR,
    Story,
    hour,
    rules_open,
)

DONE = 288
SIGN = DONE + 214.75


def observed():
    """A series completed at 288 h."""
    story = Story()
    story.placed()
    for one in (72, 144, 216, 288):
        story.moved(one)
    for number in range(4):
        story.read(number, *((72 * number + six, "26.0") for six in range(0, 73, 12)))
    return story


# -- signs in observation -------------------------------------------------------------------


def test_a_sign_stops_the_observation_and_opens_a_question():
    story = observed()
    sign = story.signed(SIGN)

    found = story.judged(SIGN + 24)

    assert found.state == "suspected"
    assert found.observation.state == "stopped"
    assert found.observation.elapsed == 214.75 * HOUR
    assert found.observation.stopped_by == sign.uid
    assert [(one.rule, one.effect, one.is_open) for one in found.deviations] == [
        ("sign_seen", Effect.ASKS, True)
    ]
    assert found.series.state is SeriesState.COMPLETE


def test_withdrawn_by_a_second_person_the_observation_goes_on_from_its_start():
    story = observed()
    sign = story.signed(SIGN)
    story.noted("fact_withdrawn", sign, SIGN + 1)

    found = story.judged(DONE + 336)

    assert found.deviations == ()
    assert (found.state, found.observation.state) == ("done", "done")
    assert found.observation.started.earliest == hour(DONE)


def test_withdrawn_by_who_saw_it_the_sign_still_stands():
    story = observed()
    sign = story.signed(SIGN)
    story.noted("fact_withdrawn", sign, SIGN + 1, doer=sign.doer)

    assert story.judged(SIGN + 2).state == "suspected"


def confirmed():
    story = observed()
    sign = story.signed(SIGN)
    story.noted("confirmed", sign, SIGN + 2)
    return story, sign


def test_confirmed_by_a_second_person_it_breaks_the_series():
    story, sign = confirmed()

    found = story.judged(SIGN + 3)

    assert [(one.rule, one.effect, one.is_open) for one in found.deviations] == [
        ("sign_confirmed", Effect.BROKE, True),
        ("sign_seen", Effect.ASKS, False),
    ]
    assert {one.cause for one in found.deviations} == {sign.uid}
    assert (found.state, found.stage, found.observation) == ("moves", "moves", None)
    assert found.series.state is SeriesState.WAITING
    assert (found.past_series[-1].why, found.past_series[-1].moves) == ("sign", 4)
    assert found.limit is None
    assert found.earliest_end is None


def test_confirmed_by_who_saw_it_nothing_is_confirmed():
    story = observed()
    sign = story.signed(SIGN)
    story.noted("confirmed", sign, SIGN + 2, doer=sign.doer)

    assert rules_open(story.judged(SIGN + 3)) == ["sign_seen"]


def test_after_a_confirmed_sign_the_next_clean_placement_is_day_one():
    story, _ = confirmed()
    story.moved(SIGN + 10)

    found = story.judged(SIGN + 11)

    assert found.series.started.earliest == hour(SIGN + 10)
    assert (found.series.number, found.series.moves) == (2, 0)
    assert found.limit == hour(SIGN + 10 + 72)
    assert found.earliest_end == hour(SIGN + 10 + 288)


def test_a_move_before_the_second_look_is_not_day_one():
    story = observed()
    sign = story.signed(SIGN)
    story.moved(SIGN + 1)
    story.noted("confirmed", sign, SIGN + 2)

    assert story.judged(SIGN + 3).series.state is SeriesState.WAITING


def test_a_move_at_the_second_of_the_second_look_is_day_one():
    story, _ = confirmed()
    story.moved(SIGN + 2)

    assert story.judged(SIGN + 3).series.started.earliest == hour(SIGN + 2)


def test_a_full_observation_follows_the_new_series():
    story, _ = confirmed()
    begins = SIGN + 10
    for number in range(5):
        story.moved(begins + 72 * number)

    found = story.judged(begins + 288 + 335)

    assert found.observation.started.earliest == hour(begins + 288)
    assert (found.state, found.observation.state) == ("observation", "running")
    assert found.observation.elapsed == 335 * HOUR


def test_what_broke_closes_itself_as_restart_when_the_new_series_is_complete():
    story, _ = confirmed()
    begins = SIGN + 10
    for number in range(4):
        story.moved(begins + 72 * number)
    before = story.judged(begins + 217)
    story.moved(begins + 288)
    after = story.judged(begins + 289)

    assert "sign_confirmed" in rules_open(before)
    assert "sign_confirmed" not in rules_open(after)
    closed = next(one for one in after.deviations if one.rule == "sign_confirmed")
    assert (closed.decided, closed.decided_by, closed.closed) == (Decision.RESTART, None, True)


@pytest.mark.parametrize(
    ("decision", "state", "watched"),
    [("keep", "observation", "running"), ("void", "observation", "running")],
)
def test_a_sign_that_a_manager_found_harmless_stops_nothing(decision, state, watched):
    story = observed()
    sign = story.signed(SIGN)
    story.decided(SIGN + 1, "sign_seen", sign.uid, decision)

    found = story.judged(SIGN + 2)

    assert (found.state, found.observation.state) == (state, watched)


def test_a_sign_that_a_manager_takes_for_the_parasite_restarts():
    story = observed()
    sign = story.signed(SIGN)
    story.decided(SIGN + 1, "sign_seen", sign.uid, "restart")

    found = story.judged(SIGN + 2)

    assert found.series.state is SeriesState.WAITING
    assert found.past_series[-1].why == "sign"


@pytest.mark.parametrize("seconds", [0, 3600])
def test_a_sign_after_the_observation_is_still_a_sign(seconds):
    story = observed()
    story.signed(DONE + 336 + seconds / 3600)

    found = story.judged(DONE + 340)

    assert (found.state, found.observation.state) == ("suspected", "stopped")
    assert found.observation.elapsed == 336 * HOUR


def test_the_first_open_sign_is_what_stopped_the_observation():
    story = observed()
    first = story.signed(SIGN)
    story.signed(SIGN + 5, name="second sign")

    assert story.judged(SIGN + 9).observation.stopped_by == first.uid


# -- signs in the moves ---------------------------------------------------------------------


def test_a_sign_during_the_moves_is_a_question_and_the_limit_runs_on():
    story = Story()
    story.placed()
    story.signed(30)

    found = story.judged(31)

    assert (found.state, found.stage) == ("suspected", "moves")
    assert found.series.state is SeriesState.UNBROKEN
    assert found.limit == hour(72)


def test_a_confirmed_sign_during_the_moves_breaks_and_the_limit_runs_on():
    story = Story()
    story.placed()
    sign = story.signed(30)
    story.noted("confirmed", sign, 31)

    found = story.judged(32)

    assert (found.state, found.series.state) == ("moves", SeriesState.WAITING)
    assert found.limit == hour(72)
    assert found.earliest_end_if_kept == hour(288)


def test_a_series_completed_under_an_open_sign_is_not_observed():
    story = observed()
    story.signed(200)

    found = story.judged(300)

    assert (found.state, found.observation.state) == ("suspected", "stopped")
    assert found.observation.elapsed == 0 * HOUR
