"""S-04: the limit falls at 03:10 in the night."""

import pytest
from django.test import Client

from tests.floor import Floor
from tests.working import notices, set_hours, set_shift, sweep, task

PLANNED, LIMIT = "2027-03-21T12:00:00Z", "2027-03-21T19:10:00Z"


@pytest.fixture(scope="module")
def opened(kept_for_module):
    floor = Floor.open(
        Client(), "2027-03-19T03:00:00+08:00", zone="Asia/Singapore", containers=2, kits=2
    )
    set_hours(floor.walk)
    return floor


@pytest.fixture
def manager_on_call(floor):
    boss = floor.walk.as_person("Nora", "manager")
    set_shift(
        floor.walk,
        boss.person,
        "2027-03-21T20:00:00+08:00",
        "2027-03-22T08:00:00+08:00",
        on_call=True,
    )
    return boss.person


@pytest.fixture
def keeper_on_shift(floor):
    keeper = floor.walk.as_person("Ada", "keeper")
    set_shift(
        floor.walk,
        keeper.person,
        "2027-03-21T08:00:00+08:00",
        "2027-03-21T19:59:00+08:00",
        on_call=False,
    )
    return keeper.person


@pytest.fixture
def batch(floor):
    return floor.place(30, "R1-01", "A-1", at="2027-03-19T03:10:00+08:00")


def test_s04_1_it_is_planned_earlier_and_says_why(floor, batch):
    move = task(floor.walk, "move", batch=batch)

    assert move["planned"] == PLANNED
    assert move["why"] == "limit_outside_staffed_hours"
    assert "Limit outside staffed hours" in move["text"]
    assert move["numbers"]["stay_s"] == (64 * 60 + 50) * 60


def test_s04_2_the_queue_shows_the_planned_time_and_the_limit(floor, batch):
    move = task(floor.walk, "move", batch=batch)

    assert move["planned_local"].startswith("Sun 21 Mar 2027 20:00")
    assert move["limit_local"].startswith("Mon 22 Mar 2027 03:10")
    assert (move["limit"], move["left_s"], move["state"]) == (LIMIT, 72 * 3600, "open")
    assert floor.batch(batch)["stay"]["planned"] == PLANNED


@pytest.mark.parametrize(
    ("at", "stage"),
    [
        pytest.param("2027-03-21T07:59:59+08:00", [], id="not yet"),
        pytest.param("2027-03-21T08:00:00+08:00", ["before_43200"], id="12 h before"),
        pytest.param("2027-03-21T16:00:00+08:00", ["before_14400"], id="4 h before"),
        pytest.param("2027-03-21T19:00:00+08:00", ["before_3600"], id="1 h before"),
    ],
)
def test_s04_3_reminders_count_from_the_planned_time(floor, keeper_on_shift, batch, at, stage):
    sweep(floor.walk, at)

    told = notices(floor.walk, kind="reminder", batch=batch)
    assert [one["stage"] for one in told] == stage
    assert [one["to"] for one in told] == [[keeper_on_shift]] * len(stage)


def test_s04_3_at_the_planned_time_it_escalates_to_who_is_on_call(
    floor, manager_on_call, batch
):
    sweep(floor.walk, "2027-03-21T20:00:00+08:00")

    (told,) = notices(floor.walk, kind="escalation", batch=batch)
    assert (told["to"], told["left_text"]) == ([manager_on_call], "7:10")


def test_s04_4_it_is_overdue_although_nobody_looks(floor, manager_on_call, batch):
    floor.walk.at("2027-03-22T03:10:00+08:00")
    on_time = task(floor.walk, "move", batch=batch)["state"]
    floor.walk.at("2027-03-22T03:10:01+08:00")
    late = task(floor.walk, "move", batch=batch)

    assert on_time == "open"
    assert (late["state"], late["left_s"]) == ("overdue", -1)


def test_s04_4_one_overdue_notice_and_not_one_a_minute(floor, manager_on_call, batch):
    first = sweep(floor.walk, "2027-03-22T03:10:01+08:00")
    again = sweep(floor.walk, "2027-03-22T03:11:01+08:00")
    sweep(floor.walk, "2027-03-22T05:00:00+08:00")

    assert [one["kind"] for one in first["notices"] if one["batch"] == batch] == ["overdue"]
    assert again["notices"] == []
    assert len(notices(floor.walk, kind="overdue", batch=batch)) == 1
