"""Staffed hours: wall times follow the law of the place, spans are UTC."""

from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from protocols.hours import Hours, HoursHistory, Span, Weekly, spans, touching, wall
from tests.protocols.staffed import BERLIN, SINGAPORE, closed, every_day, local, short

HOUR = timedelta(hours=1)
ZONES = ("Europe/Berlin", "America/New_York", "Asia/Singapore", "Australia/Lord_Howe")


def berlin(text: str, fold: int = 0) -> datetime:
    return local(BERLIN, text, fold=fold)


@pytest.mark.parametrize(
    ("second", "held"), [(-1, False), (0, True), (3600, True), (3601, False)]
)
def test_a_span_holds_both_its_ends(second, held):
    start = datetime(2027, 1, 5, 8, tzinfo=UTC)

    assert Span(start, start + HOUR).holds(start + timedelta(seconds=second)) is held


def test_a_day_is_staffed_between_its_wall_times():
    found = spans(
        every_day(),
        SINGAPORE,
        datetime(2027, 3, 21, tzinfo=UTC),
        datetime(2027, 3, 22, tzinfo=UTC),
    )

    assert found == (
        Span(datetime(2027, 3, 21, 0, 0, tzinfo=UTC), datetime(2027, 3, 21, 12, 0, tzinfo=UTC)),
    )


def test_spans_are_cut_at_both_moments():
    found = spans(every_day(), BERLIN, berlin("2027-01-04 12:00"), berlin("2027-01-05 10:00"))

    assert found == (
        Span(berlin("2027-01-04 12:00"), berlin("2027-01-04 20:00")),
        Span(berlin("2027-01-05 08:00"), berlin("2027-01-05 10:00")),
    )


def test_a_shift_over_midnight_reaches_into_the_next_day():
    night = Hours((Weekly(0, 22 * 60, 30 * 60),))

    found = spans(night, BERLIN, berlin("2027-01-05 00:00"), berlin("2027-01-06 00:00"))

    assert found == (Span(berlin("2027-01-05 00:00"), berlin("2027-01-05 06:00")),)


def test_shifts_that_touch_or_overlap_are_one_span():
    day = Hours((Weekly(0, 480, 720), Weekly(0, 720, 900), Weekly(0, 840, 1200)))

    found = spans(day, BERLIN, berlin("2027-01-04 00:00"), berlin("2027-01-05 00:00"))

    assert found == (Span(berlin("2027-01-04 08:00"), berlin("2027-01-04 20:00")),)


def test_an_exception_replaces_the_weekly_pattern_of_its_date_only():
    hours = every_day(480, 1200, short("2026-12-24", 540, 780))

    found = spans(hours, BERLIN, berlin("2026-12-24 00:00"), berlin("2026-12-26 00:00"))

    assert found == (
        Span(berlin("2026-12-24 09:00"), berlin("2026-12-24 13:00")),
        Span(berlin("2026-12-25 08:00"), berlin("2026-12-25 20:00")),
    )


def test_a_closed_date_cuts_off_the_night_shift_that_runs_into_it():
    hours = every_day(22 * 60, 30 * 60, closed("2026-12-25"))

    found = spans(hours, BERLIN, berlin("2026-12-24 12:00"), berlin("2026-12-26 12:00"))

    assert found == (Span(berlin("2026-12-24 22:00"), berlin("2026-12-25 00:00")),)


def test_a_date_told_both_closed_and_open_is_closed():
    hours = every_day(480, 1200, short("2026-12-24", 540, 780), closed("2026-12-24"))

    assert not spans(hours, BERLIN, berlin("2026-12-24 00:00"), berlin("2026-12-25 00:00"))


@pytest.mark.parametrize(
    ("from_min", "to_min", "begins", "ends"),
    [
        pytest.param(60, 300, "01:00", "05:00", id="an hour is missing inside"),
        pytest.param(150, 300, "03:00", "05:00", id="begins at a time that never is"),
        pytest.param(60, 150, "01:00", "03:00", id="ends at a time that never is"),
    ],
)
def test_a_wall_time_left_out_in_spring_is_the_next_that_exists(from_min, to_min, begins, ends):
    hours = every_day(from_min, to_min)

    found = spans(hours, BERLIN, berlin("2027-03-28 00:00"), berlin("2027-03-28 23:00"))

    assert found == (Span(berlin(f"2027-03-28 {begins}"), berlin(f"2027-03-28 {ends}")),)


def test_a_shift_wholly_in_the_hour_left_out_is_no_shift():
    hours = every_day(135, 165)

    assert not touching(hours, BERLIN, berlin("2027-03-28 00:00"), berlin("2027-03-28 23:00"))


def test_an_hour_less_is_staffed_where_the_clocks_go_forward():
    found = spans(
        every_day(60, 300), BERLIN, berlin("2027-03-28 00:00"), berlin("2027-03-28 23:00")
    )

    assert found[0].length == 3 * HOUR


def test_a_wall_time_twice_in_autumn_is_the_earlier_to_begin_and_the_later_to_end():
    found = spans(
        every_day(150, 160), BERLIN, berlin("2027-10-31 00:00"), berlin("2027-10-31 23:00")
    )

    assert found == (Span(berlin("2027-10-31 02:30"), berlin("2027-10-31 02:40", fold=1)),)
    assert found[0].length == HOUR + timedelta(minutes=10)


def test_a_shift_on_a_date_that_the_zone_leaves_out_is_no_shift():
    apia = ZoneInfo("Pacific/Apia")

    found = spans(
        every_day(), apia, local(apia, "2011-12-29 21:00"), local(apia, "2011-12-31 07:00")
    )

    assert not found


def test_the_version_in_force_at_the_moment_holds():
    change = berlin("2027-01-05 12:00")
    history = HoursHistory(
        ((berlin("2027-01-01 00:00"), every_day(480, 1200)), (change, Hours()))
    )

    found = spans(history, BERLIN, berlin("2027-01-05 00:00"), berlin("2027-01-07 00:00"))

    assert found == (Span(berlin("2027-01-05 08:00"), change - timedelta(seconds=1)),)


def test_a_version_holds_from_its_very_moment():
    change = berlin("2027-01-05 12:00")
    history = HoursHistory(((berlin("2027-01-01 00:00"), Hours()), (change, every_day())))

    assert touching(history, BERLIN, berlin("2027-01-05 08:00"), change) == (
        Span(change, change),
    )


def test_a_version_that_changes_nothing_leaves_no_seam():
    same = every_day()
    history = HoursHistory(
        ((berlin("2027-01-01 00:00"), same), (berlin("2027-01-05 12:00"), same))
    )

    found = spans(history, BERLIN, berlin("2027-01-05 00:00"), berlin("2027-01-06 00:00"))

    assert found == (Span(berlin("2027-01-05 08:00"), berlin("2027-01-05 20:00")),)


def test_before_the_first_version_every_moment_counts_as_staffed():
    start, end = berlin("2027-01-05 00:00"), berlin("2027-01-06 00:00")

    assert spans(HoursHistory(), BERLIN, start, end) == (Span(start, end),)


def test_a_shift_that_ends_as_the_window_begins_only_touches_it():
    closing, midnight = berlin("2027-01-05 20:00"), berlin("2027-01-06 00:00")

    assert touching(every_day(), BERLIN, closing, midnight) == (Span(closing, closing),)
    assert spans(every_day(), BERLIN, closing, midnight) == ()


def test_no_span_lies_in_a_window_that_ends_before_it_begins():
    assert (
        touching(every_day(), BERLIN, berlin("2027-01-05 12:00"), berlin("2027-01-05 11:00"))
        == ()
    )


weekly = st.builds(
    lambda day, begins, length: Weekly(day, begins, begins + length),
    st.integers(0, 6),
    st.integers(0, 1439),
    st.integers(1, 1440),
)
moments = st.integers(0, 366 * 24 * 60).map(
    lambda minutes: datetime(2027, 1, 1, tzinfo=UTC) + timedelta(minutes=minutes)
)


@given(
    st.lists(weekly, max_size=5).map(tuple).map(Hours),
    st.sampled_from(ZONES).map(ZoneInfo),
    moments,
    st.integers(0, 14 * 24).map(lambda hours: timedelta(hours=hours)),
)
def test_spans_lie_apart_in_order_and_within_the_window(hours, zone, since, length):
    found = spans(hours, zone, since, since + length)

    edges = [since, *(edge for one in found for edge in (one.start, one.end)), since + length]
    assert edges == sorted(edges)
    assert len({one.start for one in found} | {one.end for one in found}) == 2 * len(found)


@given(st.sampled_from(ZONES).map(ZoneInfo), moments)
def test_a_wall_time_that_exists_comes_back_as_itself(zone, moment):
    there = moment.astimezone(zone)
    minutes = there.hour * 60 + there.minute

    once_or_either = {wall(there.date(), minutes, zone, late=late) for late in (False, True)}

    assert moment in once_or_either


@given(
    st.sampled_from(ZONES).map(ZoneInfo), moments, st.integers(0, 2879), st.integers(0, 2879)
)
def test_a_later_wall_time_is_never_an_earlier_moment(zone, moment, one, other):
    day = moment.date()

    assert wall(day, min(one, other), zone) <= wall(day, max(one, other), zone, late=True)
