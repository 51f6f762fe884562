"""Tasks follow what was just told; what people took or finished stays."""

import pytest

from protocols.reconciling import TaskState
from stock import rebuild
from stock.models import Task
from tests.stock.moved import (
    HOUR,
    MOVED,
    lose,
    miss,
    moved_once,
    newest_hours,
    nothing_to_change,
    now,
    search,
)
from tests.working import set_hours, task
from tests.working import tasks as listed


@pytest.fixture(scope="module")
def story(django_db_setup, django_db_blocker):
    with moved_once(django_db_blocker) as told:
        yield told


@pytest.fixture(autouse=True)
def _under_the_test_clock(story, db, settings):
    settings.TEST_CLOCK = True


@pytest.fixture
def floor(story):
    story[0].walk.at(MOVED + HOUR)
    return story[0]


@pytest.fixture
def batch(story):
    return story[1]


@pytest.fixture
def moved(story):
    return story[2]


@pytest.fixture
def keeper(story):
    return story[3].at(MOVED + HOUR)


def changes(answer, what):
    return [one["state"] for one in answer["tasks_changed"] if one["what"] == what]


def read(floor, label, quantity, value, unit, hours=1, **more):
    """One reading, told an hour after the move unless said otherwise."""
    reading = {
        "container": floor.uids[label],
        "quantity": quantity,
        "value": value,
        "unit": unit,
        **more,
    }
    return floor.walk.at(MOVED + hours * HOUR).post("readings", {"readings": [reading]})


def read_temperature(floor, value, hours=1):
    known = {"instrument": floor.uids["T-1"]}
    return read(floor, "R1-02", "temperature", value, "Cel", hours, **known)


def read_ammonia(floor, hours=3):
    known = {"reported_as": "N"}
    return read(floor, "R1-02", "total_ammonia", "0.2", "mg/L", hours, **known)


# -- A move --------------------------------------------------------------------------------


def test_a_move_settles_its_task_and_asks_for_the_next(moved):
    assert changes(moved, "move") == ["done", "open"]
    assert changes(moved, "prepare") == ["cancelled", "open"]


def test_a_move_leaves_kit_and_container_to_be_disinfected(floor, moved):
    dirty = listed(floor.walk, "disinfect")

    assert changes(moved, "disinfect") == ["open", "open"]
    assert {(one["container_label"], one["kit_label"]) for one in dirty} == {
        ("R1-01", None),
        ("R1-01", "A-1"),
    }


def test_what_is_disinfected_has_to_be_seen_dry(floor):
    done = floor.disinfect("R1-01", "A-1", at=MOVED + 3 * HOUR)
    dry = floor.see_dry("R1-01", "A-1", at=MOVED + 9 * HOUR)

    assert changes(done, "disinfect") == ["done", "done"]
    assert changes(done, "see_dry") == ["open", "open"]
    assert changes(dry, "see_dry") == ["done", "done"]
    assert listed(floor.walk, "disinfect") == listed(floor.walk, "see_dry") == []


def test_a_round_is_made_once_and_due_again(floor, batch):
    room = task(floor.walk, "round")["room"]
    body = {"room": room, "looked_at": [floor.uids["R1-02"]], "exceptions": []}

    made = floor.walk.at(MOVED + 2 * HOUR).post("rounds", body)

    assert sorted(changes(made, "round")) == ["done", "open"]
    assert len(listed(floor.walk, "round")) == 1


# -- Losses, missing animals ------------------------------------------------------------------


def test_the_second_loss_within_a_day_asks_for_a_water_test(floor, batch):
    first, second = lose(floor, batch, 1, hours=1), lose(floor, batch, 1, hours=2)

    assert changes(first, "water_test") == []
    assert changes(second, "water_test") == ["open"]
    assert task(floor.walk, "water_test")["first"]


def test_a_tenth_of_the_container_lost_at_once_asks_for_a_water_test(floor, batch):
    floor.walk.send(
        "PUT",
        f"sites/{floor.walk.site}/rules",
        {"rules": {"loss_watch_count": 9}},
        **{"If-Match": '"0"'},
    )

    assert changes(lose(floor, batch, 2), "water_test") == []
    assert changes(lose(floor, batch, 1), "water_test") == ["open"]


def test_a_temperature_is_no_water_test_and_ammonia_is(floor, batch):
    lose(floor, batch, 2)

    assert changes(read_temperature(floor, "25.6", 2), "water_test") == []
    assert changes(read_ammonia(floor), "water_test") == ["done"]


def test_with_the_last_animal_the_work_of_a_batch_is_cancelled_and_says_why(floor, batch):
    answer = lose(floor, batch, 24)

    over = Task.objects.filter(batch=batch, what__in=("move", "prepare"), closed_why="all_lost")
    assert {row.state for row in over} == {TaskState.CANCELLED}
    assert changes(answer, "move") == ["cancelled"]
    assert ("R1-02", "B-1") in [
        (one["container_label"], one["kit_label"]) for one in listed(floor.walk, "disinfect")
    ]


def test_the_missing_are_searched_before_anything_there_is_disinfected(floor, batch):
    floor.walk.post(f"batches/{batch}/missing", {"count": 1, "container": floor.uids["R1-01"]})

    wanted = task(floor.walk, "search", batch=batch)
    waiting = listed(floor.walk, "disinfect")
    assert wanted["container_label"] == "R1-01"
    assert [one["waits_for"] for one in waiting] == [[wanted["key"]]] * 2
    assert {one["why"] for one in waiting} == {"not_searched"}


def test_a_search_is_told_as_emptying_and_frees_the_disinfection(floor, batch):
    miss(floor, batch, 1)

    searched = search(floor)

    assert changes(searched, "search") == ["done"]
    assert [one["waits_for"] for one in listed(floor.walk, "disinfect")] == [[], []]


# -- Water, lids, late words ------------------------------------------------------------------


def test_a_cold_container_is_read_again_in_half_an_hour(floor):
    answer = read_temperature(floor, "23.4")

    again = task(floor.walk, "reading")
    assert changes(answer, "reading") == ["open"]
    assert (again["container_label"], again["why"]) == ("R1-02", "temperature")
    assert again["planned"] == "2027-02-06T06:30:00Z"
    assert changes(read_temperature(floor, "24.6", 2), "reading") == ["done"]


def test_a_jump_asks_for_a_lid_before_the_light_goes_off(floor, keeper):
    floor.walk.post("incidents", {"container": floor.uids["R1-02"], "kind": "jump", "what": {}})

    lid = task(floor.walk, "fix_lid")
    assert (lid["container_label"], lid["first"]) == ("R1-02", True)
    assert lid["limit"] is not None
    keeper.post(f"tasks/{lid['uid']}/completions")
    assert listed(floor.walk, "fix_lid") == []
    lose_nothing = read_temperature(floor, "25.0", 2)
    assert changes(lose_nothing, "fix_lid") == []


def test_an_incident_of_a_batch_alone_is_about_where_it_stands(floor, batch):
    floor.walk.post("incidents", {"batch": batch, "kind": "lid_off", "what": {}})

    assert task(floor.walk, "fix_lid")["container_label"] == "R1-02"


def test_a_dry_sighting_told_late_is_confirmed_by_somebody_else(floor, keeper):
    floor.disinfect("R1-01", "A-1", at=MOVED + 3 * HOUR)
    seen = MOVED + 9 * HOUR
    shift = {"person": floor.walk.person, "from": seen, "to": seen + HOUR, "on_call": False}
    floor.walk.post(
        f"sites/{floor.walk.site}/shifts",
        {**shift, "from": seen.isoformat(), "to": (seen + HOUR).isoformat()},
    )
    told = floor.walk.at(seen + 20 * HOUR).post(
        "dry-sightings",
        {
            "subjects": floor.pieces["A-1"],
            "performed_at": seen.isoformat(),
            "reason": "forgot the tablet",
        },
    )

    confirm = task(floor.walk, "confirm_late")
    assert (confirm["kit_label"], confirm["not_by"]) == ("A-1", [floor.walk.person])
    said = keeper.at(seen + 21 * HOUR).post(f"facts/{told['fact']['uid']}/confirmations")
    assert changes(said, "confirm_late") == ["done"]


def test_the_dead_on_arrival_are_claimed_before_the_window_ends(floor):
    walk = floor.walk
    supplier = walk.post("suppliers", {"name": "Strict Reefs", "claim_terms": {"doa": 7200}})
    line = {"species": floor.species, "listed": 10, "boxes": ["1"]}
    body = {"supplier": supplier["supplier"]["uid"], "lines": [line]}
    consignment = walk.post(f"sites/{walk.site}/consignments", body)["consignment"]
    at = (MOVED + HOUR).isoformat()
    walk.post(f"consignments/{consignment['uid']}/deliveries", {"delivered_at": at})
    counted = walk.post(
        f"lines/{consignment['lines'][0]['uid']}/counts", {"received": 10, "doa": 3}
    )

    claim = task(walk, "prepare_claim")
    assert changes(counted, "prepare_claim") == ["open"]
    assert claim["left_s"] == 7200
    assert claim["numbers"] == {"dead": 3, "short": 0}


# -- What people did stays --------------------------------------------------------------------


def test_other_hours_move_the_plan_of_a_task_and_leave_who_took_it(floor, keeper, batch):
    move = task(floor.walk, "move", batch=batch)
    keeper.post(f"tasks/{move['uid']}/takers")

    set_hours(floor.walk, "08:00", "12:00", version=newest_hours(floor))

    now = task(floor.walk, "move", batch=batch)
    assert now["uid"] == move["uid"]
    assert now["planned"] != move["planned"]
    assert now["limit"] == move["limit"]
    assert now["taken_by"] == keeper.person


def test_a_preparation_ticked_off_is_not_asked_for_again(floor, keeper, batch):
    prepare = task(floor.walk, "prepare", batch=batch)

    keeper.post(f"tasks/{prepare['uid']}/completions")

    lose(floor, batch, 1)
    assert listed(floor.walk, "prepare") == []
    assert nothing_to_change(floor)


def test_a_rebuild_leaves_tasks_alone(floor):
    before = list(Task.objects.order_by("uid").values())

    rebuild.rebuild(now(floor))

    assert list(Task.objects.order_by("uid").values()) == before
    assert nothing_to_change(floor)
