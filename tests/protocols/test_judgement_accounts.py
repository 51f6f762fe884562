"""Told twice: what is unproven, and what settles it."""

import pytest

from protocols.judged import Decision, SeriesState, Verdict
from tests.protocols.story import (
    MAX,
    Story,
    container,
    hour,
    kit,
    rules_open,
    uid,
)


def started(*moves):
    story = Story()
    story.placed()
    for one in moves:
        story.moved(one)
    return story


def told_late(claimed=71, recorded=99):
    """Two moves in time, the third claimed in time but told more than a day later."""
    story = started()
    fact = story.moved(claimed, recorded=hour(recorded))
    return story, fact


def told_twice(hours, again, **differs):
    story = started()
    fact = story.moved(hours)
    story.moved_again(again, **({"container": container(1), "kit": kit(1)} | differs))
    return story, fact


def test_equal_accounts_within_the_limit_ask_nothing():
    story, _ = told_twice(71, 71.2)

    found = story.judged(72)

    assert found.deviations == ()
    assert found.series.moves == 1
    assert found.limit == hour(71 + 72)


def test_equal_accounts_on_both_sides_of_the_limit_are_unproven():
    story, _ = told_twice(71.9, 72.1)

    found = story.judged(73)

    assert found.stays[0].verdict is Verdict.UNPROVEN
    assert rules_open(found) == ["stay_unproven"]


def test_accounts_that_differ_make_a_series_unproven():
    story, fact = told_twice(70, 71)

    found = story.judged(72)

    assert [(one.rule, one.cause) for one in found.deviations] == [("two_accounts", fact.uid)]
    assert found.series.state is SeriesState.UNPROVEN
    assert found.earliest_end is None
    assert found.earliest_end_if_kept == hour(288)


def test_of_two_counts_the_lower_is_alive_until_it_is_decided():
    story, fact = told_twice(70, 70.1, counts=[19])

    found = story.judged(71)

    assert found.alive == 19
    assert [(one.fact, one.container, one.count) for one in found.unaccounted] == [
        (fact.uid, container(0), 1)
    ]


@pytest.mark.parametrize(("accepted", "alive"), [(0, 20), (1, 19)])
def test_the_accepted_account_is_what_happened(accepted, alive):
    story, fact = told_twice(70, 70.1, counts=[19], missing=1)
    accounts = story.facts[1:]
    story.add(
        "word",
        "account_decided",
        hour(72),
        happening=fact.uid,
        accepted=accounts[accepted].uid,
        doer=MAX,
    )

    found = story.judged(73)

    assert found.alive == alive
    assert found.series.state is SeriesState.UNBROKEN
    (answered,) = found.deviations
    assert (answered.decided, answered.decided_by) == (Decision.KEEP, uid("word"))


def test_whom_only_the_other_account_has_seen_is_missing_by_the_one_that_stands():
    story, fact = told_twice(70, 70.1, counts=[19])
    story.add(
        "word",
        "account_decided",
        hour(72),
        happening=fact.uid,
        accepted=story.facts[2].uid,
        doer=MAX,
    )

    found = story.judged(73)

    assert (found.alive, [one.count for one in found.unaccounted]) == (19, [1])
    assert rules_open(found) == []


def test_an_uncertain_beginning_makes_the_next_stay_unproven_only_if_it_matters():
    story, _ = told_twice(70, 70.2)
    story.moved(142.1)

    found = story.judged(143)

    # Longer than 72 h after the earlier account, shorter after the later one.
    assert found.stays[1].limit == hour(142)
    assert found.stays[1].verdict is Verdict.UNPROVEN


def test_a_stay_surely_too_long_is_over_whatever_the_accounts_say():
    story, _ = told_twice(70, 70.2)
    story.moved(142.3)

    found = story.judged(143)

    assert found.stays[1].verdict is Verdict.OVER
    assert found.series.number == 2


def test_a_stay_of_uncertain_beginning_is_unproven_while_its_limit_passes():
    story, _ = told_twice(70, 70.2)

    assert rules_open(story.judged(142.1)) == ["stay_unproven"]
    assert rules_open(story.judged(142.3)) == ["stay_over"]


def test_completion_reads_both_ends_carefully():
    story = started(72, 144, 216)
    story.moved(287.9)
    story.moved_again(288.1, container=container(4), kit=kit(4))

    found = story.judged(289)

    assert found.series.state is SeriesState.UNPROVEN
    assert found.stays[3].verdict is Verdict.UNPROVEN
    assert found.series.moves == 4


def test_a_decision_covers_only_numbers_that_are_not_worse():
    story, fact = told_late()
    story.decided(101, "late_unconfirmed", fact.uid, "keep", known={"gap_s": 28 * 3600 - 1})

    assert rules_open(story.judged(102)) == ["late_unconfirmed"]


def test_what_was_decided_stays_in_the_record():
    story, fact = told_late()
    decision = story.decided(101, "late_unconfirmed", fact.uid, "keep")

    (found,) = story.judged(102).deviations

    assert (found.decided, found.decided_by) == (Decision.KEEP, decision.uid)
    assert not found.is_open
