"""Tasks over REST: listed, taken, handed back, finished; sweeps under the test clock."""

import pytest
from django.test import Client

from tests.certified import stranger
from tests.stock.moved import HOUR, MOVED, miss, moved_once
from tests.working import notices, sweep, task, tasks

AT = MOVED + HOUR


@pytest.fixture(scope="module")
def story(django_db_setup, django_db_blocker):
    with moved_once(django_db_blocker) as told:
        floor = told[0]
        ben = floor.walk.as_person("Ben", "keeper")
        ann = floor.walk.as_person("Ann", "auditor")
        yield *told, ben, ann, stranger(Client(), AT.isoformat())


@pytest.fixture(autouse=True)
def _under_the_test_clock(story, db, settings):
    settings.TEST_CLOCK = True


@pytest.fixture
def floor(story):
    story[0].walk.at(AT)
    return story[0]


@pytest.fixture
def manager(floor):
    return floor.walk


@pytest.fixture
def batch(story):
    return story[1]


@pytest.fixture
def ada(story):
    return story[3].at(AT)


@pytest.fixture
def ben(story):
    return story[4].at(AT)


@pytest.fixture
def auditor(story):
    return story[5].at(AT)


@pytest.fixture
def foreigner(story):
    return story[6].at(AT)


@pytest.fixture
def move(manager, batch):
    return task(manager, "move", batch=batch)


@pytest.fixture
def prepare(manager, batch):
    return task(manager, "prepare", batch=batch)


# -- The list --------------------------------------------------------------------------------


def test_a_task_says_when_how_long_and_who(move, batch):
    assert (move["batch"], move["container_label"]) == (batch, "R1-02")
    assert (move["state"], move["taken_by"], move["first"]) == ("open", None, False)
    assert move["limit"] == "2027-02-09T05:00:00Z"
    assert move["planned"] == "2027-02-08T19:00:00Z"
    assert move["planned_local"] == "Mon 8 Feb 2027 20:00 CET"
    assert (move["left_s"], move["left_text"]) == (71 * 3600, "71:00")
    assert not move["done_by_hand"]


def test_what_endangers_animals_stands_first_then_what_is_due_first(manager, batch):
    manager.post(f"batches/{batch}/signs", {"signs": ["white spots"], "affected": 1})

    found = tasks(manager)

    limits = [one["limit"] for one in found if not one["first"] and one["limit"]]
    assert found[0]["what"] == "close_look"
    assert limits == sorted(limits)


def test_a_move_to_come_is_given_a_kit_and_a_container_that_are_ready(prepare):
    assert (prepare["kit_label"], prepare["container_label"]) == ("A-2", "R1-03")
    assert "short" not in prepare["numbers"]


def test_taking_a_preparation_says_the_same_of_it_as_the_list(ada, prepare):
    taken = ada.post(f"tasks/{prepare['uid']}/takers")["task"]

    assert (taken["kit_label"], taken["container_label"]) == ("A-2", "R1-03")


def test_the_list_at_an_earlier_moment_is_what_was_open_then(manager, batch):
    then = (MOVED - HOUR).isoformat().replace("+", "%2B")

    found = manager.get(f"tasks?site={manager.site}&at={then}")["tasks"]

    moves = [one for one in found if one["what"] == "move"]
    assert [(one["state"], one["limit"]) for one in moves] == [("open", "2027-02-06T07:00:00Z")]


def test_of_another_organisation_there_is_nothing_to_see_or_do(foreigner, manager, move):
    assert foreigner.get(f"tasks?site={manager.site}")["tasks"] == []
    assert foreigner.get("tasks?site=nowhere")["tasks"] == []
    assert foreigner.refused(f"tasks/{move['uid']}/takers").status == 404


def test_without_a_site_the_list_is_of_all_sites_of_the_person(manager, move):
    assert move["uid"] in [one["uid"] for one in manager.get("tasks")["tasks"]]


# -- Take ------------------------------------------------------------------------------------


def test_one_person_takes_a_task_and_another_does_not(ada, ben, move):
    taken = ada.post(f"tasks/{move['uid']}/takers")["task"]
    problem = ben.refused(f"tasks/{move['uid']}/takers")

    assert (taken["state"], taken["taken_by"]) == ("taken", ada.person)
    assert (problem.status, problem.body["reasons"][0]["rule"]) == (409, "task_taken")


def test_a_manager_takes_over_and_says_why(ada, manager, move):
    ada.post(f"tasks/{move['uid']}/takers")

    insist = [{"rule": "task_taken", "reason": "Ada is ill"}]
    taken = manager.post(f"tasks/{move['uid']}/takers", {"insist": insist})["task"]

    assert taken["taken_by"] == manager.person


def test_a_keeper_does_not_insist(ada, ben, move):
    ada.post(f"tasks/{move['uid']}/takers")

    insist = [{"rule": "task_taken", "reason": "I want it"}]
    assert ben.refused(f"tasks/{move['uid']}/takers", {"insist": insist}).status == 409


def test_asking_twice_takes_it_once(ada, move):
    first = ada.send("POST", f"tasks/{move['uid']}/takers", {}, key="take-1")
    again = ada.send("POST", f"tasks/{move['uid']}/takers", {}, key="take-1")

    assert (first.status_code, again.status_code) == (201, 200)
    assert again.headers["Idempotent-Replay"] == "true"
    assert again.json() == first.json()


def test_an_auditor_takes_nothing(auditor, move):
    problem = auditor.refused(f"tasks/{move['uid']}/takers")

    assert (problem.status, problem.code) == (403, "wrong_role")


def test_a_tablet_that_reports_what_happened_takes_nothing_from_another(ada, ben, move):
    ada.post(f"tasks/{move['uid']}/takers")

    assert ben.refused(f"tasks/{move['uid']}/takers", {"standing": "happened"}).status == 409


# -- Hand back -------------------------------------------------------------------------------


def test_handing_back_needs_a_reason_and_keeps_it(ada, move):
    ada.post(f"tasks/{move['uid']}/takers")

    without = ada.refused(f"tasks/{move['uid']}/hand-backs")
    back = ada.post(f"tasks/{move['uid']}/hand-backs", {"reason": "back is aching"})["task"]

    assert (without.status, without.code) == (400, "reason_missing")
    assert (back["state"], back["taken_by"]) == ("open", None)
    assert [(one["by"], one["why"]) for one in back["handed_back"]] == [
        (ada.person, "back is aching")
    ]


def test_nobody_hands_back_for_another_but_a_manager(ada, ben, manager, move):
    ada.post(f"tasks/{move['uid']}/takers")

    problem = ben.refused(f"tasks/{move['uid']}/hand-backs", {"reason": "x"})
    back = manager.post(f"tasks/{move['uid']}/hand-backs", {"reason": "went home"})["task"]

    assert (problem.status, problem.code) == (403, "wrong_role")
    assert back["state"] == "open"


# -- Finish ----------------------------------------------------------------------------------


def test_a_preparation_is_finished_by_hand(ada, prepare, manager):
    done = ada.post(f"tasks/{prepare['uid']}/completions")["task"]
    again = ada.refused(f"tasks/{prepare['uid']}/completions")

    assert (done["state"], done["closed_why"]) == ("done", "by_hand")
    assert tasks(manager, "prepare") == []
    assert (again.status, again.body["reasons"][0]["rule"]) == (409, "task_over")


def test_a_move_is_finished_by_telling_it(ada, move, batch):
    problem = ada.refused(f"tasks/{move['uid']}/completions")

    reason = problem.body["reasons"][0]
    assert (problem.status, reason["rule"]) == (409, "told_by_report")
    assert reason["instead"] == [{"kind": "batch_moved", "uid": batch}]


def test_a_search_is_finished_by_telling_it(ada, floor, manager, batch):
    miss(floor, batch, 1)
    search = task(manager, "search")

    problem = ada.refused(f"tasks/{search['uid']}/completions")

    assert [one["kind"] for one in problem.body["reasons"][0]["instead"]] == ["emptied"]


# -- Sweeps ----------------------------------------------------------------------------------


def test_a_sweep_says_what_it_changed_and_the_next_changes_nothing(manager, batch):
    late = (MOVED + 73 * HOUR).isoformat()

    first, second = sweep(manager, late), sweep(manager, late)

    assert first["judged"] == [batch]
    assert [one["rule"] for one in first["deviations"] if one["open"]] == ["stay_over"]
    assert "overdue" in [one["kind"] for one in first["notices"]]
    nothing = ("judged", "deviations", "tasks_changed", "notices")
    assert [second[name] for name in nothing] == [[], [], [], []]
    assert len(notices(manager, kind="overdue", what="move")) == 1


def test_a_sweep_moves_the_test_clock_forward_only(manager):
    sweep(manager, (MOVED + 2 * HOUR).isoformat())

    problem = manager.at(MOVED + HOUR).refused("test-clock/sweeps", {"site": manager.site})

    assert (problem.status, problem.code) == (409, "clock_back")


def test_of_another_organisation_nothing_is_swept(foreigner, manager):
    assert foreigner.refused("test-clock/sweeps", {"site": manager.site}).status == 404


def test_without_the_test_clock_there_are_no_sweeps_to_ask_for(manager, settings):
    settings.TEST_CLOCK = False

    assert manager.refused("test-clock/sweeps", {"site": manager.site}).status == 404
