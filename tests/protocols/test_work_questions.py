"""Work from what was lost, seen, missing or left open."""

from dataclasses import replace
from datetime import time
from decimal import Decimal

import pytest

from protocols.tasks import Equipment, FollowUp, LidOff, SignSeen, What, work_key
from protocols.values import Effect, Rules, State
from tests.protocols.situations import (
    A_1,
    ADA,
    BATCH,
    CAUSE,
    HOUR,
    MISSING,
    PLACED,
    R1_01,
    R1_02,
    SECOND,
    STAY,
    batch,
    berlin,
    deviation,
    due,
    kinds,
    lost,
    observed,
    only,
)

# Losses


@pytest.mark.parametrize(
    ("alive", "losses"),
    [
        pytest.param(22, (lost(1, 0), lost(2, 24)), id="a second within a day, end included"),
        pytest.param(22, (lost(1, 0, 2),), id="two at once"),
        pytest.param(9, (lost(1, 0),), id="a tenth"),
    ],
)
def test_losses_ask_for_a_water_test(alive, losses):
    test = only(What.WATER_TEST, due(observed(alive=alive, losses=losses)))

    assert test.key == work_key(What.WATER_TEST, BATCH, losses[-1].uid)
    assert test.first
    assert test.container == R1_01


@pytest.mark.parametrize(
    ("alive", "losses"),
    [
        pytest.param(23, (lost(1, 0),), id="one of twenty-four"),
        pytest.param(10, (lost(1, 0),), id="less than a tenth"),
        pytest.param(22, (lost(1, 0), lost(2, 24.001)), id="a second more than a day later"),
        pytest.param(22, (), id="none"),
    ],
)
def test_a_single_loss_of_many_asks_for_none(alive, losses):
    assert due(observed(alive=alive, losses=losses)) == ()


def test_the_part_is_of_those_that_lived_when_the_window_began():
    rules = Rules(loss_watch_count=99)
    losses = (lost(1, 0), lost(2, 1), lost(3, 60))

    test = only(What.WATER_TEST, due(observed(alive=17, losses=losses), rules=rules))

    assert test.key == work_key(What.WATER_TEST, BATCH, losses[1].uid)
    assert (test.numbers["lost"], test.numbers["lived"]) == (2, 20)


def test_the_site_says_how_many_are_too_many():
    losses = (lost(1, 0), lost(2, 1))
    patient = Rules(loss_watch_count=3, loss_watch_fraction=Decimal("0.5"))

    assert due(observed(alive=20, losses=losses), rules=patient) == ()


def test_the_first_loss_too_many_keeps_its_test_when_more_follow():
    two = due(observed(alive=20, losses=(lost(1, 0), lost(2, 1))))
    three = due(observed(alive=19, losses=(lost(1, 0), lost(2, 1), lost(3, 2))))

    assert [one.key for one in two] == [one.key for one in three]


def test_a_water_test_after_the_loss_settles_it():
    losses = (lost(1, 0), lost(2, 1))

    assert due(observed(alive=20, losses=losses, tested_at=losses[1].at)) == ()


def test_another_loss_after_the_test_asks_again():
    losses = (lost(1, 0), lost(2, 1), lost(3, 3))

    test = only(
        What.WATER_TEST, due(observed(alive=20, losses=losses, tested_at=PLACED + 2 * HOUR))
    )

    assert test.key == work_key(What.WATER_TEST, BATCH, losses[2].uid)


# Seen, missing, open


def test_a_follow_up_asks_for_the_reading():
    again = FollowUp(CAUSE, R1_01, "temperature", PLACED + HOUR)

    (found,) = due(observed(follow_ups=(again,)))

    assert (found.what, found.why, found.first) == (What.READING, "temperature", False)
    assert found.planned == again.due
    assert found.key == work_key(What.READING, R1_01, CAUSE, "temperature")


def test_a_lid_is_fixed_before_the_light_goes_off():
    lid = LidOff(CAUSE, R1_01, berlin("2027-02-14 06:55"), time(21, 0))

    fix = only(What.FIX_LID, due(observed(lids=(lid,))))

    assert fix.limit == berlin("2027-02-14 21:00")
    assert fix.first


def test_a_sign_is_looked_at_by_somebody_else():
    look = only(What.CLOSE_LOOK, due(observed(signs=(SignSeen(CAUSE, ADA, PLACED),))))

    assert look.key == work_key(What.CLOSE_LOOK, BATCH, CAUSE)
    assert look.not_by == (ADA,)
    assert look.first


def test_the_missing_are_searched_where_they_were():
    search = only(What.SEARCH, due(observed(container=R1_02, missing=(MISSING,))))

    assert search.key == work_key(What.SEARCH, BATCH, CAUSE)
    assert search.container == R1_01
    assert search.numbers == {"count": 1}


@pytest.mark.parametrize(
    ("uid", "kind", "stands_in"),
    [
        pytest.param(R1_01, "container", None, id="the old container"),
        pytest.param(A_1, "kit", R1_01, id="the kit that stands in it"),
    ],
)
def test_a_search_comes_before_the_disinfection(uid, kind, stands_in):
    dirty = Equipment(uid, kind, "x", State.DIRTY, cause=STAY, stands_in=stands_in)

    found = due(observed(container=R1_02, missing=(MISSING,)), equipment=(dirty,))

    disinfect = only(What.DISINFECT, found)
    assert disinfect.waits_for == (only(What.SEARCH, found).key,)
    assert disinfect.why == "not_searched"


def test_a_search_made_frees_the_disinfection_and_leaves_the_question():
    searched = replace(MISSING, searched=True)
    dirty = Equipment(R1_01, "container", "R1-01", State.DIRTY, cause=STAY)

    found = due(
        observed(missing=(searched,)), equipment=(dirty,), at=PLACED + 48 * HOUR - SECOND
    )

    assert kinds(found) == [What.DISINFECT]
    assert found[0].waits_for == ()


def test_after_48_hours_it_is_to_be_decided_whether_the_missing_are_lost():
    searched = replace(MISSING, searched=True)

    decide = only(What.DECIDE, due(observed(missing=(searched,)), at=PLACED + 48 * HOUR))

    assert decide.why == "presumed_lost"


@pytest.mark.parametrize(
    ("rule", "effect", "what"),
    [
        ("count_differs", Effect.ASKS, What.DECIDE),
        ("two_accounts", Effect.ASKS, What.DECIDE),
        ("kit_not_ready", Effect.ASKS, What.DECIDE),
        ("late_unconfirmed", Effect.ASKS, What.CONFIRM_LATE),
        ("water_mismatch", Effect.WARNS, What.REVIEW_MATCH),
        ("instrument_in_doubt", Effect.WARNS, What.REVIEW_MATCH),
        ("reading_missing", Effect.WARNS, What.WATER_TEST),
    ],
)
def test_an_open_question_asks_for_its_kind_of_work(rule, effect, what):
    work = only(what, due(observed(deviations=(deviation(rule, effect, by=ADA),))))

    assert work.key == work_key(what, BATCH, rule, CAUSE)
    assert work.not_by == (ADA,)


@pytest.mark.parametrize(
    ("rule", "effect"),
    [
        ("stay_over", Effect.BROKE),
        ("within_tolerance", Effect.WARNS),
        ("out_of_range", Effect.WARNS),
    ],
)
def test_what_breaks_by_rule_or_only_warns_asks_for_nothing(rule, effect):
    assert due(observed(deviations=(deviation(rule, effect),))) == ()


def test_a_closed_question_asks_for_nothing():
    assert due(observed(deviations=(deviation("count_differs", closed=True),))) == ()


def test_two_questions_with_one_cause_are_two_decisions():
    both = (deviation("kit_not_ready"), deviation("container_not_ready"))

    assert kinds(due(observed(deviations=both))) == [What.DECIDE, What.DECIDE]


def test_an_emergency_is_reviewed_by_its_deadline():
    review = only(What.DECIDE, due(observed(deviations=(deviation("emergency_review"),))))

    assert review.limit == PLACED + 12 * HOUR


def test_missing_readings_are_settled_by_measuring_what_was_missing():
    missing = deviation("reading_missing", Effect.WARNS)

    assert due(observed(deviations=(missing,), measured_at=PLACED)) == ()


def test_a_test_for_ammonia_says_nothing_of_missing_readings():
    missing = deviation("reading_missing", Effect.WARNS)

    assert kinds(due(observed(deviations=(missing,), tested_at=PLACED))) == [What.WATER_TEST]


def test_where_none_are_alive_open_questions_stay_and_nothing_is_tested():
    gone = batch(
        alive=0,
        losses=(lost(1, 0, 10),),
        follow_ups=(FollowUp(CAUSE, R1_01, "temperature", PLACED),),
        deviations=(deviation("count_differs"), deviation("reading_missing", Effect.WARNS)),
    )

    assert kinds(due(gone)) == [What.DECIDE]
