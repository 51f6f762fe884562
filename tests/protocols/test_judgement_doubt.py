"""Told late, corrected, told twice: what is unproven, and what settles it."""

from protocols.judged import SeriesState, Verdict
from protocols.told import When
from tests.protocols.story import (
    BEN,
    EVE,
    MAX,
    Story,
    container,
    hour,
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
