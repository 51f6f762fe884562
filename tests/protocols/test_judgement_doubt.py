"""Told late, corrected, told twice: what is unproven, and what settles it."""

import pytest

from protocols.judged import Decision, SeriesState, Verdict
from protocols.told import When
from tests.protocols.story import (
    BEN,
    EVE,
    MAX,
    Story,
    container,
    hour,
    kit,
    rules_open,
    stay,
)


def utc(moment):
    return moment.isoformat().replace("+00:00", "Z")


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


# -- late entries ---------------------------------------------------------------------------


def test_a_move_told_late_is_unproven_not_on_time_and_not_broken():
    story, fact = told_late()

    found = story.judged(100)

    assert found.stays[0].verdict is Verdict.UNPROVEN
    assert found.series.state is SeriesState.UNPROVEN
    assert (found.series.number, found.series.moves) == (1, 1)
    assert [(one.rule, one.cause) for one in found.deviations] == [
        ("late_unconfirmed", fact.uid)
    ]
    assert found.deviations[0].numbers == {"gap_s": 28 * 3600}


def test_the_next_limit_counts_from_the_claimed_time():
    story, _ = told_late()

    assert story.judged(100).limit == hour(71 + 72)


def test_while_unproven_the_strict_end_is_promised_and_the_lenient_one_shown():
    story, _ = told_late()

    found = story.judged(100)

    assert found.earliest_end == hour(99 + 288)
    assert found.earliest_end_if_kept == hour(288)


def test_confirmed_by_another_person_the_late_entry_was_on_time():
    story, fact = told_late()
    story.noted("confirmed", fact, 101)

    found = story.judged(102)

    assert found.stays[0].verdict is Verdict.ON_TIME
    assert found.series.state is SeriesState.UNBROKEN
    assert found.deviations == ()
    assert found.earliest_end == hour(288)


def test_a_late_entry_made_within_the_limit_is_on_time_but_still_to_be_confirmed():
    story, _ = told_late(claimed=50, recorded=72)

    found = story.judged(80)

    assert found.stays[0].verdict is Verdict.ON_TIME
    assert found.series.state is SeriesState.UNPROVEN
    assert rules_open(found) == ["late_unconfirmed"]


def test_a_late_entry_that_was_kept_counts_as_on_time():
    story, fact = told_late()
    story.decided(101, "late_unconfirmed", fact.uid, "keep")

    found = story.judged(102)

    assert found.series.state is SeriesState.UNBROKEN
    assert found.series.moves == 1
    assert found.earliest_end == hour(288)


def test_a_late_entry_that_was_not_believed_starts_a_series_where_it_says():
    story, fact = told_late()
    story.decided(101, "late_unconfirmed", fact.uid, "restart")

    found = story.judged(102)

    assert (found.series.number, found.series.moves) == (2, 0)
    assert found.past_series[0].why == "decision"
    assert found.earliest_end == hour(99 + 288)


def test_an_overdue_stay_is_explained_by_the_late_entry():
    story = started()
    assert rules_open(story.judged(98)) == ["stay_over"]

    story.moved(71, recorded=hour(99))

    assert rules_open(story.judged(99)) == ["late_unconfirmed"]


def test_a_first_placement_told_late_leaves_its_series_unproven():
    story = Story()
    story.placed(0, recorded=hour(20))

    found = story.judged(21)

    assert found.series.state is SeriesState.UNPROVEN
    assert found.limit == hour(72)
    assert found.earliest_end == hour(20 + 288)


# -- corrections ----------------------------------------------------------------------------


def test_corrected_to_late_a_move_is_unproven_until_somebody_confirms():
    story = started()
    fact = story.moved(71)
    change = story.noted(
        "fact_corrected", fact, 80, field="performed_at", new=utc(hour(73)), doer=MAX
    )

    unproven = story.judged(81)
    story.noted("confirmed", change, 82)
    sure = story.judged(83)

    assert unproven.stays[0].verdict is Verdict.UNPROVEN
    assert unproven.series.state is SeriesState.UNPROVEN
    assert (unproven.series.number, rules_open(unproven)) == (1, ["stay_unproven"])
    assert sure.stays[0].verdict is Verdict.OVER
    assert sure.series.number == 2


def late_then_corrected():
    story = started(70)
    fact = story.moved(143)
    change = story.noted(
        "fact_corrected", fact, 150, field="performed_at", new=utc(hour(141)), doer=MAX
    )
    return story, change


def test_a_correction_never_mends_a_series_by_itself():
    story, _ = late_then_corrected()

    found = story.judged(151)

    assert (found.series.number, found.series.state) == (2, SeriesState.UNBROKEN)
    assert found.series.started == When(hour(141), hour(143))
    assert [(one.number, one.state) for one in found.past_series] == [(1, SeriesState.UNPROVEN)]
    assert [(one.rule, one.cause) for one in found.deviations] == [("stay_unproven", stay(1))]
    assert found.limit == hour(141 + 72)
    assert found.earliest_end == hour(143 + 288)
    assert found.earliest_end_if_kept == hour(288)


def test_only_after_another_person_confirms_does_the_old_series_go_on():
    story, change = late_then_corrected()
    story.noted("confirmed", change, 152, doer=BEN)

    found = story.judged(153)

    assert (found.series.number, found.series.moves) == (1, 2)
    assert found.past_series == ()
    assert found.deviations == ()


def test_whoever_corrected_cannot_confirm_it():
    story, change = late_then_corrected()
    story.noted("confirmed", change, 152, doer=MAX)

    assert story.judged(153).series.number == 2


def test_a_correction_that_was_kept_lets_the_old_series_go_on():
    story, _ = late_then_corrected()
    story.decided(152, "stay_unproven", stay(1), "keep", doer=EVE)

    found = story.judged(153)

    assert (found.series.number, found.series.moves) == (1, 2)
    assert found.series.state is SeriesState.UNBROKEN


def test_another_container_in_a_correction_is_asked_about():
    story = started()
    fact = story.moved(71)
    change = story.noted(
        "fact_corrected", fact, 80, field="container", new=str(container(9)), doer=MAX
    )

    unsure = story.judged(81)
    story.noted("confirmed", change, 82)
    sure = story.judged(83)

    assert unsure.open_stay.container == container(9)
    assert (rules_open(unsure), unsure.series.state) == (
        ["two_accounts"],
        SeriesState.UNPROVEN,
    )
    assert (rules_open(sure), sure.series.state) == ([], SeriesState.UNBROKEN)


# -- two accounts ---------------------------------------------------------------------------


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
    assert found.deviations == ()
    assert found.series.state is SeriesState.UNBROKEN


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
