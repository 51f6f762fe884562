"""S-05: Christmas closes the shop for three days."""

import pytest
from django.test import Client

from tests.floor import Floor
from tests.working import set_hours, task, tasks

MONDAY_TO_SATURDAY = range(6)
SHORT_DAY = {"date": "2026-12-24", "from": "08:00", "to": "13:00", "why": "Christmas Eve"}
CLOSED = [
    {"date": "2026-12-25", "why": "Christmas"},
    {"date": "2026-12-26", "why": "Christmas"},
]
LIMIT = "2026-12-25T13:00:00Z"


@pytest.fixture(scope="module")
def opened(kept_for_module):
    floor = Floor.open(Client(), "2026-12-22T08:00:00+01:00", containers=4, kits=4)
    set_hours(
        floor.walk,
        days=MONDAY_TO_SATURDAY,
        exceptions=[SHORT_DAY, *CLOSED],
    )
    return floor


@pytest.fixture
def batch(floor):
    return floor.place(12, "R1-01", "A-1", at="2026-12-22T14:00:00+01:00")


def test_s05_1_it_is_planned_before_the_shop_closes(floor, batch):
    move = task(floor.walk, "move", batch=batch)

    assert move["planned_local"].startswith("Thu 24 Dec 2026 13:00")
    assert move["limit"] == LIMIT
    assert move["numbers"]["stay_s"] == 47 * 3600


def test_s05_1_that_the_next_limit_is_closed_too_is_said_before(floor, batch):
    move = task(floor.walk, "move", batch=batch)
    call_out = task(floor.walk, "call_out", batch=batch)

    gap = move["no_slot_between"]
    assert (gap["from"], gap["to"]) == ("2026-12-24T12:00:00Z", "2026-12-27T12:00:00Z")
    assert "one call-out needed" in move["text"]
    assert (call_out["planned"], call_out["limit"]) == (gap["from"], gap["to"])
    assert call_out["why"] == "no_staffed_slot_ahead"


def test_s05_2_it_is_never_planned_after_the_limit(floor, batch):
    planned = [one["planned"] for one in tasks(floor.walk) if one["batch"] == batch]

    assert [moment for moment in planned if moment and moment > LIMIT] == []


def test_s05_3_another_holiday_changes_the_proposal_and_never_the_limit(floor, batch):
    before = task(floor.walk, "move", batch=batch)

    set_hours(
        floor.walk,
        days=MONDAY_TO_SATURDAY,
        exceptions=[{"date": "2026-12-24", "why": "closed after all"}, *CLOSED],
        version=version_of_hours(floor),
    )

    after = task(floor.walk, "move", batch=batch)
    assert after["uid"] == before["uid"]
    assert after["planned_local"].startswith("Wed 23 Dec 2026 20:00")
    assert after["limit"] == before["limit"] == LIMIT


def test_s05_4_the_other_kit_is_looked_at_for_the_call_out_too(floor, batch):
    call_out = task(floor.walk, "call_out", batch=batch)
    prepare = task(floor.walk, "prepare", batch=batch)

    given = {call_out["kit_label"], prepare["kit_label"]}
    assert len(given) == 2
    assert given <= {"B-1", "A-2", "B-2"}
    assert "short" not in call_out["numbers"]


def test_s05_4_without_another_ready_kit_it_says_what_is_short(floor, batch):
    floor.place(3, "R1-02", "B-1", at="2026-12-22T15:00:00+01:00")
    floor.place(3, "R1-03", "A-2", at="2026-12-22T15:30:00+01:00")

    call_outs = tasks(floor.walk, "call_out")
    short = [one["numbers"]["short"] for one in call_outs]
    assert len(call_outs) == 3
    assert short == [["kit", "container"]] * 3


def version_of_hours(floor: Floor) -> int:
    answer = floor.walk.send("GET", f"sites/{floor.walk.site}/hours")
    return int(answer.headers["ETag"].strip('"'))
