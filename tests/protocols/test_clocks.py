"""Moments, wall clocks and elapsed time."""

from datetime import UTC, datetime, timedelta, timezone
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from protocols.clocks import (
    Never,
    OffsetMissing,
    Twice,
    Unreadable,
    corrected,
    elapsed_text,
    local_text,
    parse_utc,
    read_moment,
    resolve_local,
    utc_text,
)

BERLIN = ZoneInfo("Europe/Berlin")
SINGAPORE = ZoneInfo("Asia/Singapore")
ZONES = st.sampled_from(["Europe/Berlin", "America/New_York", "Australia/Lord_Howe"])
MOMENTS = st.integers(631_152_000, 2_840_140_800).map(
    lambda one: datetime.fromtimestamp(one, UTC)
)


def utc(year, month, day, hour=0, minute=0, second=0):
    return datetime(year, month, day, hour, minute, second, tzinfo=UTC)


@pytest.mark.parametrize(
    "text", ["2027-03-26T10:00", "2027-03-26 10:00:00", "2027-03-26T10:00:00.9"]
)
def test_a_wall_time_that_happens_once_is_one_moment(text):
    assert resolve_local(text, BERLIN, None) == utc(2027, 3, 26, 9)
    assert resolve_local(text, BERLIN, 1) == utc(2027, 3, 26, 9)


def test_a_wall_time_that_happens_twice_is_asked_back():
    earlier, later = utc(2027, 10, 31, 0, 30), utc(2027, 10, 31, 1, 30)

    assert resolve_local("2027-10-31T02:30", BERLIN, None) == Twice(earlier, later)
    assert resolve_local("2027-10-31T02:30", BERLIN, 0) == earlier
    assert resolve_local("2027-10-31T02:30", BERLIN, 1) == later


@pytest.mark.parametrize("fold", [None, 0, 1])
def test_a_wall_time_that_is_left_out_never_was(fold):
    found = resolve_local("2027-03-28T02:30", BERLIN, fold)

    assert found == Never(earlier=utc(2027, 3, 28, 0, 30), later=utc(2027, 3, 28, 1, 30))


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("2027-03-28T01:59:59", utc(2027, 3, 28, 0, 59, 59)),
        ("2027-03-28T03:00:00", utc(2027, 3, 28, 1, 0)),
        ("2027-10-31T01:59:59", utc(2027, 10, 30, 23, 59, 59)),
        ("2027-10-31T03:00:00", utc(2027, 10, 31, 2, 0)),
    ],
)
def test_the_seconds_around_a_clock_change_happen_once(text, expected):
    assert resolve_local(text, BERLIN, None) == expected


@given(MOMENTS, ZONES)
def test_every_moment_is_found_by_the_wall_time_it_is_shown_with(moment, name):
    zone = ZoneInfo(name)
    local = moment.astimezone(zone)
    text = local.replace(tzinfo=None).isoformat()

    assert resolve_local(text, zone, local.fold) == moment


@pytest.mark.parametrize(
    "text",
    [
        "",
        "yesterday",
        "2027-03-26",
        "10:00",
        "2027-03-26T10:00Z",
        "2027-03-26T10:00+01:00",
        "2027-02-29T10:00",
        "2027-03-26T24:00",
        "2027-03-26T10:60",
        "2027-W12-5T10:00",
        "20270326T1000",
        "२०२७-03-26T10:00",
        "0000-01-01T00:00",
        "0001-01-01T00:00",
    ],
)
def test_what_is_no_wall_time_is_unreadable(text):
    with pytest.raises(Unreadable):
        resolve_local(text, BERLIN, None)


@pytest.mark.parametrize(
    ("text", "moment", "offset_min"),
    [
        ("2027-01-05T09:00:00+01:00", utc(2027, 1, 5, 8), 60),
        ("2027-01-05T08:00:00Z", utc(2027, 1, 5, 8), 0),
        ("2027-01-05t08:00z", utc(2027, 1, 5, 8), 0),
        ("2027-01-05 03:30:00-0430", utc(2027, 1, 5, 8), -270),
        ("2027-01-05T08:00:00-00:00", utc(2027, 1, 5, 8), 0),
        ("2027-01-05T13:45:00+05:45", utc(2027, 1, 5, 8), 345),
    ],
)
def test_a_moment_is_read_with_any_offset(text, moment, offset_min):
    assert read_moment(text) == (moment, offset_min)


@pytest.mark.parametrize("fraction", [".0", ".999999", ",5", ".123456789012"])
def test_the_fraction_of_a_second_is_cut(fraction):
    moment, _ = read_moment(f"2027-01-05T08:00:59{fraction}Z")

    assert moment == utc(2027, 1, 5, 8, 0, 59)


def test_a_time_without_offset_says_so():
    with pytest.raises(OffsetMissing):
        read_moment("2027-01-05T09:00:00")


@pytest.mark.parametrize(
    "text",
    [
        "",
        "2027-01-05",
        "2027-13-05T08:00:00Z",
        "2027-13-05T08:00:00",
        "2027-01-05T08:00:60Z",
        "2027-01-05T08:00:00+24:00",
        "2027-01-05T08:00:00+01:60",
        "2027-01-05T08:00:00 CET",
        "0001-01-01T00:00:00+01:00",
        "9999-12-31T23:59:59-01:00",
        "1767600000",
    ],
)
def test_what_is_no_moment_is_unreadable(text):
    with pytest.raises(Unreadable):
        read_moment(text)


@given(MOMENTS)
def test_the_kept_form_of_a_moment_is_read_back(moment):
    assert parse_utc(utc_text(moment)) == moment


def test_the_kept_form_is_utc_with_seconds():
    local = datetime(2027, 1, 5, 9, 0, tzinfo=timezone(timedelta(hours=1)))

    assert utc_text(local) == "2027-01-05T08:00:00Z"


@pytest.mark.parametrize(
    "moment", [utc(2027, 1, 5).replace(tzinfo=None), utc(2027, 1, 5).replace(microsecond=1)]
)
def test_a_moment_without_zone_or_with_a_fraction_is_not_kept(moment):
    with pytest.raises(ValueError, match="moment"):
        utc_text(moment)


@pytest.mark.parametrize(
    "text",
    ["2027-01-05T08:00:00+00:00", "2027-01-05 08:00:00Z", "2027-01-05T08:00Z", "", "now"],
)
def test_no_other_form_is_taken_for_the_kept_one(text):
    with pytest.raises(Unreadable):
        parse_utc(text)


@pytest.mark.parametrize(
    ("span", "expected"),
    [
        (timedelta(hours=71, minutes=40), "71:40"),
        (timedelta(hours=72), "72:00"),
        (timedelta(hours=72, seconds=1), "72:00:01"),
        (timedelta(days=12), "288:00"),
        (timedelta(minutes=18), "0:18"),
        (timedelta(0), "0:00"),
        (timedelta(seconds=1), "0:00:01"),
        (timedelta(hours=-1, minutes=-20), "-1:20"),
        (timedelta(seconds=-61), "-0:01:01"),
        (timedelta(microseconds=-1), "0:00"),
        (timedelta(seconds=59, microseconds=999_999), "0:00:59"),
    ],
)
def test_elapsed_time_is_told_in_hours_and_minutes(span, expected):
    assert elapsed_text(span) == expected


def test_three_days_over_the_spring_clock_change_are_72_elapsed_hours():
    placed = resolve_local("2027-03-26T10:00", BERLIN, None)
    moved = resolve_local("2027-03-29T10:30", BERLIN, None)
    assert isinstance(placed, datetime)
    assert isinstance(moved, datetime)

    limit = placed + timedelta(hours=72)

    assert local_text(limit, BERLIN) == "Mon 29 Mar 2027 11:00 CEST"
    assert elapsed_text(moved - placed) == "71:30"


@pytest.mark.parametrize(
    ("moment", "zone", "expected"),
    [
        (utc(2027, 1, 5, 8), BERLIN, "Tue 5 Jan 2027 09:00 CET"),
        (utc(2027, 1, 5, 8, 0, 1), BERLIN, "Tue 5 Jan 2027 09:00:01 CET"),
        (utc(2027, 3, 21, 19, 10), SINGAPORE, "Mon 22 Mar 2027 03:10 UTC+08:00"),
        (utc(2027, 10, 31, 1, 30), BERLIN, "Sun 31 Oct 2027 02:30 CET"),
        (utc(2027, 6, 1), ZoneInfo("UTC"), "Tue 1 Jun 2027 00:00 UTC"),
    ],
)
def test_a_moment_is_shown_with_its_zone(moment, zone, expected):
    assert local_text(moment, zone) == expected


@pytest.mark.parametrize(
    ("offset_ms", "expected"),
    [
        (0, utc(2027, 1, 5, 8)),
        (61_000, utc(2027, 1, 5, 8, 1, 1)),
        (999, utc(2027, 1, 5, 8)),
        (-1, utc(2027, 1, 5, 7, 59, 59)),
        (-1_400, utc(2027, 1, 5, 7, 59, 58)),
    ],
)
def test_a_stamp_is_put_right_by_what_the_clock_lacked(offset_ms, expected):
    assert corrected(utc(2027, 1, 5, 8), offset_ms) == expected
