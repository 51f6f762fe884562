"""One person at a time takes a task, and a tick finishes it only where no report does."""

from datetime import UTC, datetime, timedelta
from uuid import UUID

import pytest

from protocols.reconciling import DONE_BY_HAND, TaskState
from protocols.taking import (
    TOLD_BY,
    TaskKnown,
    lease_ends,
    may_complete,
    may_hand_back,
    may_take,
)
from protocols.tasks import What

ADA, BEN, BATCH = UUID(int=1), UUID(int=2), UUID(int=3)


def task(what: What = What.PREPARE, state: TaskState = TaskState.OPEN, **given) -> TaskKnown:
    return TaskKnown(what, state, BATCH, **given)


def rules(reasons) -> list[str]:
    return [one.rule for one in reasons]


TAKEN_BY_BEN = task(state=TaskState.TAKEN, taken_by=BEN)


def test_an_open_task_is_taken_finished_and_not_handed_back():
    assert rules(may_take(ADA, task())) == []
    assert rules(may_complete(ADA, task())) == []
    assert rules(may_hand_back(ADA, task(), is_manager=True)) == ["task_open"]


def test_who_took_it_takes_it_again_finishes_it_and_hands_it_back():
    assert rules(may_take(BEN, TAKEN_BY_BEN)) == []
    assert rules(may_complete(BEN, TAKEN_BY_BEN)) == []
    assert rules(may_hand_back(BEN, TAKEN_BY_BEN, is_manager=False)) == []


def test_what_somebody_took_only_a_manager_takes_over():
    (taken,) = may_take(ADA, TAKEN_BY_BEN)

    assert (taken.code, taken.may_insist) == ("contradicts_record", ("manager",))
    assert rules(may_complete(ADA, TAKEN_BY_BEN)) == ["task_taken"]


def test_a_manager_hands_back_what_somebody_left_behind():
    (refused,) = may_hand_back(ADA, TAKEN_BY_BEN, is_manager=False)

    assert refused.code == "wrong_role"
    assert rules(may_hand_back(ADA, TAKEN_BY_BEN, is_manager=True)) == []


@pytest.mark.parametrize("state", [TaskState.DONE, TaskState.CANCELLED])
def test_what_is_over_stays_over(state):
    over = task(state=state)

    assert rules(may_take(ADA, over)) == ["task_over"]
    assert rules(may_complete(ADA, over)) == ["task_over"]
    assert rules(may_hand_back(ADA, over, is_manager=True)) == ["task_over"]


def test_a_second_look_is_not_for_who_looked_first():
    look = task(What.FIX_LID, not_by=(ADA,))

    assert rules(may_take(ADA, look)) == ["own_action"]
    assert rules(may_complete(ADA, look)) == ["own_action"]
    assert rules(may_take(BEN, look)) == []


@pytest.mark.parametrize("what", sorted(set(What) - DONE_BY_HAND))
def test_no_tick_replaces_a_report(what):
    (refused,) = may_complete(ADA, task(what))

    assert refused.rule == "told_by_report"
    assert [(one.kind, one.uid) for one in refused.instead] == [(TOLD_BY[what], BATCH)]


def test_a_task_stays_taken_for_a_working_day():
    at = datetime(2027, 1, 5, 8, tzinfo=UTC)

    assert lease_ends(at) == at + timedelta(hours=8)
