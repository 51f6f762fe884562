"""Tasks follow the work that is due; what people did stays."""

from dataclasses import replace
from datetime import UTC, datetime
from uuid import UUID

import pytest
from hypothesis import given
from hypothesis import strategies as st

from protocols.reconciling import DONE_BY_HAND, Closing, TaskRow, TaskState, reconcile
from protocols.tasks import What, Work, work_key

BATCH = UUID(int=1)
NOON = datetime(2027, 1, 5, 12, tzinfo=UTC)


def work(what: What = What.MOVE, cause: int = 7, **given) -> Work:
    return Work(
        key=work_key(what, BATCH, UUID(int=cause)), what=what, why="limit", batch=BATCH, **given
    )


def row(one: Work, state: TaskState = TaskState.OPEN) -> TaskRow:
    return TaskRow(one, state)


def test_new_work_is_a_new_task():
    assert reconcile([], [work()]).create == (work(),)


def test_nothing_changes_where_tasks_say_what_is_due():
    assert not reconcile([row(work())], [work()])


@pytest.mark.parametrize("state", [TaskState.OPEN, TaskState.TAKEN])
def test_an_open_task_follows_its_planned_time(state):
    changes = reconcile([row(work(), state)], [work(planned=NOON)])

    assert changes
    assert changes.update == (work(planned=NOON),)
    assert not changes.create
    assert not changes.close


@pytest.mark.parametrize("state", [TaskState.OPEN, TaskState.TAKEN])
def test_a_task_that_a_fact_settles_is_done_when_it_is_wanted_no_more(state):
    changes = reconcile([row(work(What.MOVE), state)], [])

    assert changes.close == (Closing(work(What.MOVE).key, TaskState.DONE, "settled"),)


def test_a_task_that_merely_fell_away_is_cancelled():
    changes = reconcile([row(work(What.CALL_OUT))], [])

    assert changes.close == (Closing(work(What.CALL_OUT).key, TaskState.CANCELLED, "settled"),)


def test_the_tasks_of_a_batch_that_ended_are_cancelled_with_the_reason():
    changes = reconcile([row(work(What.MOVE))], [], ended={BATCH: "all_lost"})

    assert changes.close == (Closing(work(What.MOVE).key, TaskState.CANCELLED, "all_lost"),)


def test_what_was_finished_by_hand_is_not_asked_for_again():
    assert not reconcile([row(work(What.PREPARE), TaskState.DONE)], [work(What.PREPARE)])


def test_no_tick_replaces_the_search_that_frees_a_container():
    changes = reconcile([row(work(What.SEARCH), TaskState.DONE)], [work(What.SEARCH)])

    assert changes.create == (work(What.SEARCH),)


def test_what_a_fact_settled_is_asked_for_again_when_the_fact_falls():
    changes = reconcile([row(work(What.MOVE), TaskState.DONE)], [work(What.MOVE)])

    assert changes.create == (work(What.MOVE),)


def test_what_was_cancelled_is_asked_for_again_when_it_is_wanted_again():
    changes = reconcile([row(work(What.SEARCH), TaskState.CANCELLED)], [work(What.SEARCH)])

    assert changes.create == (work(What.SEARCH),)


@pytest.mark.parametrize("state", [TaskState.DONE, TaskState.CANCELLED])
def test_what_is_over_is_not_closed_again(state):
    assert not reconcile([row(work(), state)], [])


some_work = st.builds(
    lambda what, cause, planned: work(what, cause, planned=NOON if planned else None),
    st.sampled_from(What),
    st.integers(1, 4),
    st.booleans(),
)
due_works = st.lists(some_work, max_size=8, unique_by=lambda one: one.key)
some_rows = st.lists(
    st.builds(TaskRow, some_work, st.sampled_from(TaskState)),
    max_size=8,
    unique_by=lambda one: one.work.key,
)


def carried_out(rows, changes):
    """The rows after the changes."""
    updated = {one.key: one for one in changes.update}
    closed = {one.key: one.state for one in changes.close}
    old = [
        replace(one, work=updated.get(one.work.key, one.work), state=closed[one.work.key])
        if one.work.key in closed
        else replace(one, work=updated.get(one.work.key, one.work))
        for one in rows
    ]
    return [*old, *(row(one) for one in changes.create)]


@given(some_rows, due_works)
def test_comparing_again_after_the_changes_gives_none(rows, due):
    after = carried_out(rows, reconcile(rows, due))

    assert not reconcile(after, due)


@given(some_rows, due_works)
def test_after_the_changes_open_tasks_are_the_work_not_finished_by_hand(rows, due):
    after = carried_out(rows, reconcile(rows, due))

    finished = {
        one.work.key
        for one in rows
        if one.state is TaskState.DONE and one.work.what in DONE_BY_HAND
    }
    live = {one.work.key for one in after if one.state in (TaskState.OPEN, TaskState.TAKEN)}
    assert live - finished == {one.key for one in due} - finished


@given(some_rows, due_works, st.randoms(use_true_random=False))
def test_changes_do_not_depend_on_the_order_of_rows_or_work(rows, due, random):
    shuffled_rows, shuffled_due = random.sample(rows, len(rows)), random.sample(due, len(due))

    assert reconcile(shuffled_rows, shuffled_due) == reconcile(rows, due)
