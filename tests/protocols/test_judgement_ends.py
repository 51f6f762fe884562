"""What closes a batch."""

from protocols.judged import SeriesState, Verdict
from tests.protocols.story import BATCH, EVE, HOUR, Story, container, hour, rules_open, uid


def placed(count=24):
    story = Story()
    story.placed(count=count)
    return story


def test_with_the_last_animal_stay_series_and_batch_end():
    story = placed(4)
    story.lost(5, 3)
    last = story.lost(10, 1)

    found = story.judged(200)

    assert (found.state, found.why, found.alive) == ("closed", "all_lost", 0)
    assert found.series is None
    assert [(one.why, one.state) for one in found.past_series] == [
        ("all_lost", SeriesState.BROKEN)
    ]
    assert found.past_series[0].elapsed == 10 * HOUR
    (ended,) = found.stays
    assert (ended.ended.earliest, ended.ended_by) == (hour(10), last.uid)
    assert ended.verdict is Verdict.ON_TIME
    assert (found.open_stay, found.limit, found.deviations) == (None, None, ())


def test_while_one_may_still_be_found_a_batch_is_not_over():
    story = placed(1)
    fact = story.moved(70, counts=[0], missing=1)

    before = story.judged(71)
    story.add("presumed", "presumed_lost", hour(120), of=fact.uid, count=1, doer=EVE)
    after = story.judged(121)

    assert before.state == "moves"
    assert (after.state, after.why) == ("closed", "all_lost")
    assert after.stays[-1].ended.earliest == hour(120)


def test_found_dead_the_last_one_ends_the_batch():
    story = placed(1)
    fact = story.moved(70, counts=[0], missing=1)
    story.add(
        "found",
        "found_again",
        hour(80),
        of=fact.uid,
        count=1,
        container=container(0),
        alive=False,
    )

    found = story.judged(81)

    assert (found.state, found.stays[-1].ended.earliest) == ("closed", hour(80))


def test_lost_after_the_limit_the_stay_was_over():
    story = placed(1)
    story.lost(73)

    found = story.judged(80)

    assert found.stays[0].verdict is Verdict.OVER
    assert rules_open(found) == ["stay_over"]
    assert found.past_series[0].why == "all_lost"


def completed(count=3):
    story = Story()
    story.placed(count=count, counts=[count])
    for one in (72, 144, 216, 288):
        story.moved(one, counts=[count])
    return story


def test_a_complete_series_stays_complete_when_all_are_lost():
    story = completed()
    story.lost(300, 3)

    found = story.judged(1000)

    assert (found.state, found.series.state) == ("closed", SeriesState.COMPLETE)
    assert found.observation.elapsed == 12 * HOUR


def test_when_all_have_left_the_batch_is_closed_and_nothing_was_lost():
    story = completed()
    story.add("sold", "animals_dispatched", hour(700), batch=BATCH, count=3, dispatch=uid("d"))

    found = story.judged(800)

    assert (found.state, found.why) == ("closed", "dispatched")
    assert found.series.state is SeriesState.COMPLETE
    assert found.observation.state == "done"


def test_all_sold_before_the_end_the_series_stands_as_it_was():
    story = placed(3)
    story.add("sold", "animals_dispatched", hour(30), batch=BATCH, count=3, dispatch=uid("d"))

    found = story.judged(100)

    assert (found.state, found.series.elapsed) == ("closed", 30 * HOUR)
    assert found.past_series == ()
