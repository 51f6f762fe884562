"""Warm water shortens the limit, cold hours do not count, unknown hours are said."""

import pytest

from protocols.judged import SeriesState, Verdict
from protocols.ruled import Rules
from tests.protocols.story import HOUR, Story, hour, rules_open, stay


def placed(**given):
    story = Story(**given)
    story.placed()
    return story


def steady(value, *, begins=0, ends=72, every=6):
    return [(hours, value) for hours in range(begins, ends + 1, every)]


@pytest.mark.parametrize(
    ("readings", "limit"),
    [
        (steady("28.0"), 72),  # not above
        (steady("28.1", ends=6), 72),  # six hours are not more than six
        ([(0, "28.1"), (6, "28.1"), (7, "28.1")], 48),
        # Known at 46 h only: 6 h from then, not back to 48 h.
        (steady("26.0", ends=36) + steady("29.0", begins=37, ends=44, every=7), 50),
        ([*steady("26.0", ends=54), (55, "29.0"), (62, "29.0")], 68),
        # So late that nothing gets shorter.
        ([*steady("26.0", ends=60), (61, "29.0"), (68, "29.0")], 72),
    ],
)
def test_more_than_six_warm_hours_bring_the_limit_down(readings, limit):
    story = placed()
    story.read(0, *readings)

    assert story.judged(71).limit == hour(limit)


def test_the_limit_comes_down_when_the_reading_shows_it():
    story = placed()
    story.read(0, (0, "29.0"), (7, "29.0"))

    assert story.judged(6.9).limit == hour(72)
    assert story.judged(7).limit == hour(48)


def test_a_reading_at_the_moment_asked_about_is_known_and_a_later_one_is_not():
    story = placed()
    story.read(0, (0, "29.0"), (7, "29.0"), (12, "29.0"))
    later = placed()
    later.read(0, (0, "29.0"), (6, "29.0"), (12, "29.0"))

    assert story.judged(7).limit == hour(48)
    assert later.judged(11.9).limit == hour(72)


def test_two_warm_spells_of_one_stay_add_up_but_not_of_two_stays():
    story = placed()
    story.read(0, (0, "29"), (4, "29"), (5, "26"), (10, "26"), (11, "29"), (15, "29"))
    two = placed()
    two.read(0, (60, "29"), (64, "29"))
    two.moved(64)
    two.read(1, (64, "29"), (68, "29"))

    assert story.judged(20).limit == hour(48)
    assert two.judged(70).limit == hour(64 + 72)


def test_over_a_shortened_limit_only_asks_and_breaks_nothing():
    story = placed()
    story.read(0, *steady("29.0"))
    story.moved(60)

    found = story.judged(61)

    assert rules_open(found) == ["limit_shortened"]
    assert found.deviations[0].cause == stay(0)
    assert found.deviations[0].numbers["over_s"] == 12 * 3600
    assert found.stays[0].verdict is Verdict.OVER
    assert found.series.state is SeriesState.UNBROKEN
    assert found.series.moves == 1


def test_over_a_shortened_limit_with_no_move_told_only_asks():
    story = placed()
    story.read(0, *steady("29.0", ends=48))

    found = story.judged(50)

    assert rules_open(found) == ["limit_shortened"]
    assert found.series.state is SeriesState.UNBROKEN


def test_within_a_shortened_limit_nothing_is_asked():
    story = placed()
    story.read(0, *steady("29.0"))
    story.moved(48)

    assert story.judged(49).deviations == ()


def test_over_the_longest_stay_warm_or_not_breaks():
    story = placed()
    story.read(0, *steady("29.0"))
    story.moved(73)

    found = story.judged(74)

    assert rules_open(found) == ["stay_over"]
    assert found.series.number == 2


def test_the_tolerance_applies_to_a_shortened_limit_too():
    story = placed(rules=Rules(tolerance_s=3600))
    story.read(0, *steady("29.0"))
    story.moved(49)

    assert rules_open(story.judged(50)) == ["within_tolerance"]


# -- cold -----------------------------------------------------------------------------------


def test_cold_hours_do_not_count_to_the_span():
    story = placed()
    story.read(0, *steady("26.0", ends=24), *steady("21.9", begins=25, ends=35, every=10))
    story.read(0, (36, "26.0"), *steady("26.0", begins=42, ends=72))
    for one in (72, 144, 216, 288):
        story.moved(one)
    early = story.judged(289)
    story.moved(300)
    done = story.judged(301)

    # Ten hours below, and a little of each slope into and out of them.
    cold = early.earliest_end - hour(288)
    assert 10 * HOUR < cold < 10.1 * HOUR
    assert early.series.state is SeriesState.UNBROKEN
    assert early.series.elapsed == 289 * HOUR - cold
    assert done.series.state is SeriesState.COMPLETE


def test_exactly_twenty_two_degrees_count():
    story = placed()
    story.read(0, *steady("22.0"))

    assert story.judged(72).earliest_end == hour(288)


def test_cold_hours_of_the_stay_that_goes_on_are_known_at_once():
    story = placed()
    story.read(0, *steady("20.0", ends=12))

    assert story.judged(12).earliest_end == hour(288 + 12)


def test_hours_between_readings_far_apart_are_unknown_and_count():
    story = placed()
    story.read(0, (0, "20.0"), (13, "20.0"))

    assert story.judged(13).earliest_end == hour(288)


def test_unknown_hours_are_said_once_the_series_is_complete():
    story = placed()
    story.read(0, *steady("26.0"))
    for one in (72, 144, 216):
        story.moved(one)
    before = story.judged(217)
    story.moved(288)
    after = story.judged(289)

    assert before.deviations == ()
    (unknown,) = after.deviations
    assert (unknown.rule, unknown.cause) == ("hours_unknown", stay(4))
    assert unknown.numbers == {"unknown_s": 216 * 3600}


def test_cold_hours_of_a_broken_series_are_gone_with_it():
    story = placed()
    story.read(0, *steady("20.0"))
    story.moved(73)

    assert story.judged(74).earliest_end == hour(73 + 288)
