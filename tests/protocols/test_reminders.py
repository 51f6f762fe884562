"""What is told of a task, and when: each notice once, the latest only."""

from datetime import timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from protocols.reminders import Notice, stage_in_force, stages
from protocols.values import Rules
from tests.protocols.staffed import SINGAPORE, local

REMINDERS = Rules().reminders_s
PLANNED = local(SINGAPORE, "2027-03-21 20:00")
LIMIT = local(SINGAPORE, "2027-03-22 03:10")
HOUR = timedelta(hours=1)
SECOND = timedelta(seconds=1)


@pytest.mark.parametrize(
    ("at", "name"),
    [
        pytest.param(PLANNED - 12 * HOUR, "before_43200", id="12 h before"),
        pytest.param(PLANNED - 4 * HOUR - SECOND, "before_43200", id="a second early for 4 h"),
        pytest.param(PLANNED - 4 * HOUR, "before_14400", id="4 h before"),
        pytest.param(PLANNED - HOUR, "before_3600", id="1 h before"),
        pytest.param(PLANNED - SECOND, "before_3600", id="a second before the planned time"),
        pytest.param(PLANNED, "planned_passed", id="still open at the planned time"),
        pytest.param(LIMIT, "planned_passed", id="exactly at the limit is on time"),
        pytest.param(LIMIT + SECOND, "overdue", id="a second past the limit"),
        pytest.param(LIMIT + 100 * HOUR, "overdue", id="one overdue notice for good"),
    ],
)
def test_one_notice_is_in_force_at_a_moment(at, name):
    stage = stage_in_force(PLANNED, LIMIT, REMINDERS, at)

    assert stage is not None
    assert stage.name == name


def test_nothing_is_told_before_the_first_reminder():
    assert stage_in_force(PLANNED, LIMIT, REMINDERS, PLANNED - 12 * HOUR - SECOND) is None


def test_the_notice_at_the_planned_time_escalates_and_says_what_is_left():
    stage = stage_in_force(PLANNED, LIMIT, REMINDERS, PLANNED)

    assert stage is not None
    assert stage.notice is Notice.ESCALATION
    assert stage.left == timedelta(hours=7, minutes=10)


def test_nothing_is_left_when_it_is_overdue():
    overdue = stages(PLANNED, LIMIT, REMINDERS, LIMIT + HOUR)[-1]

    assert (overdue.notice, overdue.left) == (Notice.OVERDUE, timedelta(0))


def test_all_notices_come_in_order():
    due = stages(PLANNED, LIMIT, [3600, 43200, 14400], LIMIT + HOUR)

    assert [one.name for one in due] == [
        "before_43200",
        "before_14400",
        "before_3600",
        "planned_passed",
        "overdue",
    ]


def test_where_nobody_is_planned_reminders_come_before_the_limit():
    due = stages(None, LIMIT, REMINDERS, LIMIT + SECOND)

    assert [(one.name, one.due) for one in due] == [
        ("before_43200", LIMIT - 12 * HOUR),
        ("before_14400", LIMIT - 4 * HOUR),
        ("before_3600", LIMIT - HOUR),
        ("overdue", LIMIT + SECOND),
    ]


def test_what_has_no_limit_is_never_overdue():
    due = stages(PLANNED, None, REMINDERS, PLANNED + 1000 * HOUR)

    assert due[-1].notice is Notice.ESCALATION
    assert due[-1].left is None


def test_nothing_is_told_of_what_has_no_time():
    assert stages(None, None, REMINDERS, LIMIT) == ()


@given(st.lists(st.integers(1, 200_000), max_size=5), st.integers(-300_000, 300_000))
def test_what_was_due_stays_due_and_is_named_once(reminders, seconds):
    at = PLANNED + timedelta(seconds=seconds)

    now, later = (stages(PLANNED, LIMIT, reminders, moment) for moment in (at, at + HOUR))

    assert later[: len(now)] == now
    assert len({one.name for one in later}) == len(later)
