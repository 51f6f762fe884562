"""Slots: planning goes earlier, never later, and says beforehand where nobody is there."""

from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from protocols.hours import Hours, HoursHistory, Span, Weekly, spans, touching
from protocols.slots import (
    NoSlot,
    Slot,
    look_ahead,
    move_slot,
    slot_after,
    slot_before,
)
from tests.protocols.staffed import (
    BERLIN,
    CHRISTMAS,
    SINGAPORE,
    closed,
    every_day,
    local,
    short,
)

STAY_LIMIT = timedelta(hours=72)
SECOND = timedelta(seconds=1)
ALL_DAY = Hours(tuple(Weekly(day, 0, 1440) for day in range(7)))


def berlin(text: str) -> datetime:
    return local(BERLIN, text)


def test_a_limit_in_the_night_is_planned_at_the_end_of_the_day_before():
    placed, limit = local(SINGAPORE, "2027-03-19 03:10"), local(SINGAPORE, "2027-03-22 03:10")

    slot = slot_before(limit, every_day(), SINGAPORE, not_before=placed)

    assert slot == Slot(local(SINGAPORE, "2027-03-21 20:00"), limit)
    assert slot.at - placed == timedelta(hours=64, minutes=50)
    assert slot.early == timedelta(hours=7, minutes=10)


@pytest.mark.parametrize("moment", ["08:00", "12:34", "20:00"])
def test_a_limit_within_staffed_hours_is_planned_at_the_limit(moment):
    limit = berlin(f"2027-01-08 {moment}")

    slot = slot_before(limit, every_day(), BERLIN, not_before=berlin("2027-01-05 09:00"))

    assert slot == Slot(limit, limit)


def test_a_second_before_opening_is_not_staffed():
    limit = berlin("2027-01-08 08:00") - SECOND

    slot = slot_before(limit, every_day(), BERLIN, not_before=berlin("2027-01-05 09:00"))

    assert slot == Slot(berlin("2027-01-07 20:00"), limit)


def test_nothing_is_planned_before_it_can_be():
    since, limit = berlin("2027-01-07 20:00") + SECOND, berlin("2027-01-08 03:00")

    assert slot_before(limit, every_day(), BERLIN, not_before=since) == NoSlot(since, limit)


def test_a_limit_already_past_has_no_slot():
    now, limit = berlin("2027-01-05 12:00"), berlin("2027-01-05 11:00")

    assert slot_before(limit, every_day(), BERLIN, not_before=now) == NoSlot(now, limit)


def test_without_known_hours_a_limit_is_planned_at_the_limit():
    placed, limit = berlin("2027-01-05 03:00"), berlin("2027-01-08 03:00")

    assert slot_before(limit, HoursHistory(), BERLIN, not_before=placed) == Slot(limit, limit)


def test_a_holiday_changes_the_slot_and_never_the_limit():
    placed, limit = berlin("2026-12-22 14:00"), berlin("2026-12-25 14:00")

    without = slot_before(limit, every_day(), BERLIN, not_before=placed)
    with_it = slot_before(limit, CHRISTMAS, BERLIN, not_before=placed)

    assert without == Slot(limit, limit)
    assert with_it == Slot(berlin("2026-12-24 13:00"), limit)


def test_the_first_staffed_moment_is_found():
    closing, next_day = berlin("2027-01-05 20:00"), berlin("2027-01-06 08:00")

    assert slot_after(closing, every_day(), BERLIN, until=next_day) == closing
    assert slot_after(closing + SECOND, every_day(), BERLIN, until=next_day) == next_day
    assert slot_after(closing + SECOND, every_day(), BERLIN, until=next_day - SECOND) is None


def test_christmas_needs_one_call_out_and_says_so_before():
    placed, limit = berlin("2026-12-22 14:00"), berlin("2026-12-25 14:00")

    ahead = look_ahead(placed, limit, CHRISTMAS, BERLIN, stay_limit=STAY_LIMIT)

    assert ahead.slot == Slot(berlin("2026-12-24 13:00"), limit)
    assert ahead.slot.at - placed == timedelta(hours=47)
    assert ahead.next_limit == berlin("2026-12-27 13:00")
    assert ahead.no_slot_between == Span(berlin("2026-12-24 13:00"), berlin("2026-12-27 13:00"))


def test_looking_ahead_finds_nothing_to_say_where_the_next_stay_can_be_ended():
    placed, limit = berlin("2027-01-04 14:00"), berlin("2027-01-07 14:00")

    ahead = look_ahead(placed, limit, every_day(), BERLIN, stay_limit=STAY_LIMIT)

    assert ahead.no_slot_between is None
    assert ahead.next_slot == Slot(berlin("2027-01-10 14:00"), berlin("2027-01-10 14:00"))


def test_looking_ahead_takes_a_call_out_to_be_made_at_the_limit():
    placed, limit = berlin("2026-12-24 13:00"), berlin("2026-12-27 13:00")

    ahead = look_ahead(placed, limit, CHRISTMAS, BERLIN, stay_limit=STAY_LIMIT)

    assert isinstance(ahead.slot, NoSlot)
    assert ahead.next_limit == berlin("2026-12-30 13:00")
    assert ahead.no_slot_between is None


def test_the_shift_that_moved_is_not_asked_to_move_again():
    placed, limit = berlin("2026-12-24 12:00"), berlin("2026-12-27 12:00")

    slot = move_slot(placed, limit, CHRISTMAS, BERLIN)

    assert slot == NoSlot(berlin("2026-12-24 13:00"), limit)


def test_a_placement_while_nobody_is_there_counts_from_itself():
    placed, limit = berlin("2026-12-24 14:00"), berlin("2026-12-27 14:00")

    assert move_slot(placed, limit, CHRISTMAS, BERLIN) == NoSlot(placed, limit)


def test_people_who_are_there_without_a_break_move_at_the_limit():
    placed, limit = berlin("2027-01-05 09:00"), berlin("2027-01-08 09:00")

    assert move_slot(placed, limit, ALL_DAY, BERLIN) == Slot(limit, limit)


def test_a_long_shift_that_ends_before_the_limit_still_has_its_end():
    three_days = Hours((Weekly(0, 0, 2880), Weekly(2, 0, 720)))
    placed, limit = berlin("2027-01-04 06:00"), berlin("2027-01-07 06:00")

    assert move_slot(placed, limit, three_days, BERLIN) == Slot(
        berlin("2027-01-06 12:00"), limit
    )


def test_a_shift_of_a_day_is_one_shift():
    one_day = Hours((Weekly(0, 0, 1440),))
    placed, limit = berlin("2027-01-04 00:00"), berlin("2027-01-07 00:00")

    assert move_slot(placed, limit, one_day, BERLIN) == NoSlot(
        berlin("2027-01-05 00:00"), limit
    )


def test_a_minute_beyond_a_day_is_the_next_shift():
    longer = Hours((Weekly(0, 0, 1441),))
    placed, limit = berlin("2027-01-04 00:00"), berlin("2027-01-07 00:00")

    assert move_slot(placed, limit, longer, BERLIN) == Slot(berlin("2027-01-05 00:01"), limit)


def test_a_spring_change_leaves_the_limit_and_moves_the_wall_time():
    placed = berlin("2027-03-26 10:00")

    slot = slot_before(placed + STAY_LIMIT, every_day(), BERLIN, not_before=placed)

    assert slot == Slot(berlin("2027-03-29 11:00"), placed + STAY_LIMIT)


def test_a_slot_follows_wall_time_over_a_spring_change():
    short_day = every_day(480, 1200, short("2027-03-29", 480, 600))
    placed = berlin("2027-03-26 10:00")

    slot = slot_before(placed + STAY_LIMIT, short_day, BERLIN, not_before=placed)

    assert slot == Slot(datetime(2027, 3, 29, 8, 0, tzinfo=UTC), placed + STAY_LIMIT)


weekly = st.builds(
    lambda day, begins, length: Weekly(day, begins, begins + length),
    st.integers(0, 6),
    st.integers(0, 1439),
    st.integers(1, 1440),
)
some_hours = st.builds(
    lambda shifts, days: Hours(tuple(shifts), tuple(days)),
    st.lists(weekly, max_size=6),
    st.lists(st.integers(20, 31).map(lambda n: closed(f"2027-03-{n}")), max_size=3),
)
moments = st.integers(0, 24 * 3600 * 20).map(
    lambda seconds: datetime(2027, 3, 19, tzinfo=UTC) + timedelta(seconds=seconds)
)
zones = st.sampled_from(["Europe/Berlin", "America/New_York", "Asia/Singapore"]).map(ZoneInfo)


@given(some_hours, zones, moments, st.integers(0, 96 * 3600))
def test_a_slot_is_staffed_and_neither_after_the_limit_nor_too_early(
    hours, zone, since, seconds
):
    limit = since + timedelta(seconds=seconds)

    slot = slot_before(limit, hours, zone, not_before=since)

    at = slot.at if isinstance(slot, Slot) else limit
    assert since <= at <= limit
    assert isinstance(slot, NoSlot) or touching(hours, zone, at, at)


@given(some_hours, zones, moments, st.integers(0, 96 * 3600))
def test_nobody_is_there_between_a_slot_and_the_limit(hours, zone, since, seconds):
    limit = since + timedelta(seconds=seconds)

    slot = slot_before(limit, hours, zone, not_before=since)

    unused = slot.at + SECOND if isinstance(slot, Slot) else since
    assert not touching(hours, zone, unused, limit)


@given(some_hours, zones, moments)
def test_a_move_is_planned_after_its_placement_and_by_its_limit(hours, zone, placed):
    limit = placed + STAY_LIMIT

    slot = move_slot(placed, limit, hours, zone)

    at = slot.at if isinstance(slot, Slot) else limit
    assert placed < at <= limit


@given(some_hours, zones, moments)
def test_where_no_move_can_be_planned_nobody_comes_after_the_first_shift(hours, zone, placed):
    slot = move_slot(placed, placed + STAY_LIMIT, hours, zone)

    gap = slot.between if isinstance(slot, NoSlot) else Span(placed, placed)
    assert not spans(hours, zone, gap.start + SECOND, gap.end)
