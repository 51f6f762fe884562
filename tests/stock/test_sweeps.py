"""Sweeps act although nobody asks; twice is as good as once, also at the same moment."""

from datetime import timedelta

import pytest

from protocols.values import Standing
from stock import sweeps
from stock.doors.sites import set_hours, set_shift
from stock.doors.work import take_task
from stock.judging import tasks
from stock.models import Batch, DeviationRow, Notice, Task, writing_projections
from tests.make import START, asking, make_batch, make_person, make_shop, move
from tests.stock.telling import HOUR, miss

pytestmark = pytest.mark.django_db(transaction=True)

SECOND = timedelta(seconds=1)
LIMIT = START + 72 * HOUR
EVERY_DAY = [{"day": day, "from": "08:00", "to": "20:00"} for day in range(7)]


@pytest.fixture
def shop():
    return make_shop()


@pytest.fixture
def batch(shop):
    return make_batch(shop)


@pytest.fixture
def staffed(shop):
    """08:00 to 20:00 in Berlin; the first limit, Thursday 09:00, is planned for then."""
    set_hours(
        asking(shop.manager),
        site=shop.site,
        weekly=EVERY_DAY,
        exceptions=[],
        in_force_from=START,
        version=0,
    )


def told(kind, batch):
    found = Notice.objects.filter(kind=kind).order_by("pk")
    return [one.body for one in found if one.body["batch"] == str(batch)]


def the_move(batch):
    return Task.objects.get(batch=batch, what="move", state__in=tasks.OPEN)


def shift(shop, person, begins, ends, *, on_call):
    asked = asking(shop.manager)
    set_shift(
        asked, site=shop.site, person=person.uid, begins=begins, ends=ends, on_call=on_call
    )


# -- Judging what the clock overtook ----------------------------------------------------------


def test_past_its_limit_a_batch_is_judged_although_nobody_tells_anything(shop, batch):
    judged, changed = sweeps.judge_due(shop.site, LIMIT + SECOND)

    assert judged == [batch]
    assert [(one["rule"], one["open"]) for one in changed if one["rule"] == "stay_over"] == [
        ("stay_over", True)
    ]
    assert Batch.objects.get(uid=batch).series_state == "unproven"


def test_exactly_at_the_limit_nothing_is_due(shop, batch):
    assert sweeps.judge_due(shop.site, LIMIT) == ([], [])


def test_a_stale_batch_is_judged_once(shop, batch):
    with writing_projections():
        Batch.objects.update(stale=True)

    first, second = (sweeps.judge_due(shop.site, START + HOUR) for _ in range(2))

    assert (first[0], second[0]) == ([batch], [])
    assert not Batch.objects.get(uid=batch).stale


def test_tasks_that_only_time_brings_are_brought_by_a_sweep(shop, batch):
    miss(shop, batch, 1)

    early = sweeps.bring_in_line(shop.site, START + 51 * HOUR)
    late = sweeps.bring_in_line(shop.site, START + 52 * HOUR)

    assert early == []
    assert [(one["what"], one["state"]) for one in late] == [("decide", "open")]
    assert Task.objects.get(what="decide", why="presumed_lost").made_at == START + 52 * HOUR


def test_without_being_thorough_only_what_was_judged_is_compared(shop, batch):
    miss(shop, batch, 1)

    swept = sweeps.sweep(shop.site, START + 52 * HOUR, thorough=False)

    assert swept["tasks_changed"] == []
    assert sweeps.sweep(shop.site, START + 52 * HOUR)["tasks_changed"] != []


# -- Taken and left alone ---------------------------------------------------------------------


@pytest.mark.parametrize(("hours", "state"), [(8, "open"), (7.99, "taken")])
def test_what_was_taken_and_left_alone_for_a_working_day_is_free_again(
    shop, batch, hours, state
):
    row = the_move(batch)
    take_task(asking(shop.manager), task=row.uid)

    sweeps.free_untouched(shop.site, START + timedelta(hours=hours))

    row.refresh_from_db()
    assert row.state == state


def test_who_left_it_is_kept(shop, batch):
    row = the_move(batch)
    take_task(asking(shop.manager), task=row.uid)

    freed = [sweeps.free_untouched(shop.site, START + 9 * HOUR) for _ in range(2)]

    row.refresh_from_db()
    assert [len(one) for one in freed] == [1, 0]
    assert [(one["by"], one["why"]) for one in row.handed_back] == [
        (str(shop.manager.uid), "lease")
    ]


# -- What is told -----------------------------------------------------------------------------


def test_one_reminder_however_often_it_is_looked_at(shop, staffed, batch):
    at = LIMIT - 4 * HOUR

    for _ in range(60):
        sweeps.tell_times(shop.site, at)

    assert [one["stage"] for one in told("reminder", batch)] == ["before_14400"]


def test_two_sweeps_at_once_tell_it_once(together, shop, batch):
    at = LIMIT + SECOND

    outcomes = together(*[lambda: sweeps.sweep(shop.site, at)] * 2)

    assert [one for one in outcomes if isinstance(one, Exception)] == []
    assert len(told("overdue", batch)) == 1
    assert DeviationRow.objects.filter(batch=batch, rule="stay_over").count() == 1


def test_what_was_done_before_is_not_told(shop, staffed, batch):
    move(shop, batch, (20,), at=START + 40 * HOUR)

    sweeps.sweep(shop.site, LIMIT - HOUR)

    assert told("reminder", batch) == []


def test_past_the_limit_it_is_overdue_and_no_reminder_any_more(shop, staffed, batch):
    sweeps.sweep(shop.site, LIMIT + SECOND)
    sweeps.sweep(shop.site, LIMIT + HOUR)

    (overdue,) = told("overdue", batch)
    assert told("reminder", batch) == []
    assert overdue["to"] == [str(shop.manager.uid)]


def test_a_reminder_is_for_those_who_are_there(shop, staffed, batch):
    ada, ben = make_person(shop, "Ada", "keeper"), make_person(shop, "Ben", "keeper")
    shift(shop, ada, LIMIT - 6 * HOUR, LIMIT, on_call=False)
    shift(shop, ben, LIMIT - 6 * HOUR, LIMIT, on_call=True)

    sweeps.tell_times(shop.site, LIMIT - HOUR)

    assert [one["to"] for one in told("reminder", batch)] == [[str(ada.uid)]]


def test_a_reminder_is_for_who_took_it_alone(shop, staffed, batch):
    ada = make_person(shop, "Ada", "keeper")
    take_task(asking(ada), task=the_move(batch).uid)

    sweeps.tell_times(shop.site, LIMIT - HOUR)

    assert [one["to"] for one in told("reminder", batch)] == [[str(ada.uid)]]


def test_where_nobody_is_planned_everybody_who_works_there_is_reminded(shop, batch):
    ada = make_person(shop, "Ada", "keeper")
    make_person(shop, "Ann", "auditor")

    sweeps.tell_times(shop.site, LIMIT - HOUR)

    to = {person for one in told("reminder", batch) for person in one["to"]}
    assert to == {str(ada.uid), str(shop.manager.uid)}


def test_at_the_planned_time_who_is_on_call_is_told_how_much_is_left(shop, staffed):
    # Placed at 22:00: the limit of Thursday 22:00 is planned for 20:00.
    batch = make_batch(shop, at=START + 13 * HOUR)
    ben = make_person(shop, "Ben", "manager")
    planned = START + 83 * HOUR
    shift(shop, ben, planned, planned + 12 * HOUR, on_call=True)

    sweeps.tell_times(shop.site, planned)

    (escalated,) = told("escalation", batch)
    assert (escalated["to"], escalated["left_text"]) == ([str(ben.uid)], "2:00")


def test_a_preparation_is_not_announced_beside_its_move(shop, staffed, batch):
    sweeps.tell_times(shop.site, LIMIT + HOUR)

    assert {one["what"] for one in told("overdue", batch)} == {"move"}


# -- What looked late -------------------------------------------------------------------------


def test_a_move_told_late_resolves_what_was_said_to_be_overdue(shop, batch):
    sweeps.sweep(shop.site, LIMIT + SECOND)
    late = LIMIT + 2 * HOUR

    move(
        shop,
        batch,
        (20,),
        at=late,
        performed_at=LIMIT - HOUR,
        reason="forgot the tablet",
    )

    (resolved,) = told("resolved", batch)
    assert resolved["explained_by"] == "late_entry"
    assert resolved["to"] == told("overdue", batch)[0]["to"]
    assert len(told("overdue", batch)) == 1


def test_a_move_made_late_resolves_it_without_an_excuse(shop, batch):
    sweeps.sweep(shop.site, LIMIT + SECOND)

    move(shop, batch, (20,), at=LIMIT + 2 * HOUR, standing=Standing.HAPPENED)

    assert [one["explained_by"] for one in told("resolved", batch)] == [None]


def test_a_move_in_time_resolves_nothing(shop, batch):
    move(shop, batch, (20,), at=LIMIT - HOUR)

    assert told("resolved", batch) == []
