"""Staffed hours and shifts as they are told in facts."""

from datetime import UTC, date, datetime
from uuid import UUID

import pytest

from protocols.bodies import BodyRefused
from protocols.hours import ExceptionalDay, HoursHistory, Span, Weekly
from protocols.staffing import (
    Shift,
    hours_history,
    on_call,
    on_shift,
    read_hours,
    read_shift,
)

ADA, BEN = UUID(int=1), UUID(int=2)
NOON = datetime(2027, 1, 5, 12, tzinfo=UTC)


def told(**body):
    return {"in_force_from": "2027-01-01T00:00:00Z", "weekly": [], "exceptions": [], **body}


def test_weekly_hours_and_exceptions_are_read():
    body = told(
        weekly=[{"day": 0, "from": "08:00", "to": "20:30"}],
        exceptions=[
            {"date": "2026-12-24", "from": "08:00", "to": "13:00", "why": "Christmas Eve"},
            {"date": "2026-12-25", "why": "Christmas"},
        ],
    )

    hours = read_hours(body)

    assert hours.weekly == (Weekly(0, 480, 1230),)
    assert hours.exceptions == (
        ExceptionalDay(date(2026, 12, 24), "Christmas Eve", (480, 780)),
        ExceptionalDay(date(2026, 12, 25), "Christmas"),
    )


@pytest.mark.parametrize(
    ("begins", "ends", "minutes"),
    [
        pytest.param("22:00", "06:00", (1320, 1800), id="over midnight"),
        pytest.param("00:00", "24:00", (0, 1440), id="a whole day"),
        pytest.param("00:00", "00:00", (0, 1440), id="a whole day, the other way"),
        pytest.param("08:00", "08:00", (480, 1920), id="round the clock"),
        pytest.param("23:59", "24:00", (1439, 1440), id="the last minute"),
    ],
)
def test_an_end_not_after_its_beginning_is_on_the_next_day(begins, ends, minutes):
    hours = read_hours(told(weekly=[{"day": 6, "from": begins, "to": ends}]))

    assert hours.weekly == (Weekly(6, *minutes),)


@pytest.mark.parametrize(
    ("body", "pointer"),
    [
        ({"weekly": "daily"}, "/weekly"),
        ({"weekly": ["Monday"]}, "/weekly/0"),
        ({"weekly": [{"day": 7, "from": "08:00", "to": "20:00"}]}, "/weekly/0/day"),
        ({"weekly": [{"day": -1, "from": "08:00", "to": "20:00"}]}, "/weekly/0/day"),
        ({"weekly": [{"day": True, "from": "08:00", "to": "20:00"}]}, "/weekly/0/day"),
        ({"weekly": [{"day": 0, "from": "8:00", "to": "20:00"}]}, "/weekly/0/from"),
        ({"weekly": [{"day": 0, "from": "24:00", "to": "20:00"}]}, "/weekly/0/from"),
        ({"weekly": [{"day": 0, "from": "08:00", "to": "24:01"}]}, "/weekly/0/to"),
        ({"weekly": [{"day": 0, "from": "08:00", "to": "20:60"}]}, "/weekly/0/to"),
        ({"weekly": [{"day": 0, "from": "08:00"}]}, "/weekly/0/to"),
        ({"weekly": [{"day": 0, "from": "08:00", "to": 20}]}, "/weekly/0/to"),
        ({"exceptions": [{"why": "x"}]}, "/exceptions/0/date"),
        ({"exceptions": [{"date": "24.12.", "why": "x"}]}, "/exceptions/0/date"),
        ({"exceptions": [{"date": "2026-12-24", "from": "08:00"}]}, "/exceptions/0/to"),
    ],
)
def test_what_cannot_be_read_is_refused_at_its_field(body, pointer):
    with pytest.raises(BodyRefused) as refused:
        read_hours(told(**body))

    assert [(one.code, one.pointer) for one in refused.value.reasons] == [
        ("unreadable", pointer)
    ]


def test_versions_are_ordered_by_the_moment_they_are_in_force_from():
    later = told(in_force_from="2027-02-01T01:00:00+01:00", weekly=[])
    first = told(in_force_from=datetime(2027, 1, 1, tzinfo=UTC))
    first["weekly"] = [{"day": 0, "from": "08:00", "to": "20:00"}]

    history = hours_history([later, first])

    assert [begins for begins, _ in history.versions] == [
        datetime(2027, 1, 1, tzinfo=UTC),
        datetime(2027, 2, 1, tzinfo=UTC),
    ]
    assert history.at(datetime(2027, 1, 31, tzinfo=UTC)) == read_hours(first)


def test_of_two_versions_from_the_same_moment_the_later_entry_holds():
    first = told(weekly=[{"day": 0, "from": "08:00", "to": "20:00"}])
    second = told(weekly=[{"day": 0, "from": "09:00", "to": "18:00"}])

    assert hours_history([first, second]).at(NOON) == read_hours(second)


def test_no_version_is_known_before_the_first():
    assert hours_history([told()]).at(datetime(2026, 12, 31, tzinfo=UTC)) is None
    assert HoursHistory().at(NOON) is None


@pytest.mark.parametrize("moment", ["2027-01-01T00:00:00", "soon", None])
def test_a_version_needs_a_moment_with_its_offset(moment):
    with pytest.raises(BodyRefused) as refused:
        hours_history([told(in_force_from=moment)])

    assert refused.value.reasons[0].pointer == "/in_force_from"


def shift(person: UUID, *, call: bool = False) -> Shift:
    body = {
        "person": str(person),
        "from": "2027-01-05T08:00:00Z",
        "to": "2027-01-05T12:00:00Z",
        "on_call": call,
    }
    return read_shift(body)


def test_a_shift_is_read():
    assert shift(ADA) == Shift(ADA, Span(datetime(2027, 1, 5, 8, tzinfo=UTC), NOON))


def test_a_shift_that_ends_as_it_begins_is_refused():
    moment = "2027-01-05T08:00:00Z"

    with pytest.raises(BodyRefused) as refused:
        read_shift({"person": str(ADA), "from": moment, "to": moment, "on_call": False})

    assert refused.value.reasons[0].pointer == "/to"


def test_who_is_on_call_is_not_there():
    shifts = [shift(ADA), shift(BEN, call=True)]

    assert on_shift(shifts, NOON) == {ADA}
    assert on_call(shifts, NOON) == {BEN}


def test_nobody_is_on_after_the_shift():
    after = datetime(2027, 1, 5, 12, 0, 1, tzinfo=UTC)

    assert not on_shift([shift(ADA)], after)
    assert not on_call([shift(BEN, call=True)], after)
