"""S-25: a certificate is refused, with everything that stands against it at once.

Five moves instead of the four of the situation: four stays of at most 72 h end before 291 h.
"""

from datetime import datetime

import pytest
from django.test import Client

from stock.models import Certificate, Fact
from tests.certified import HOUR, kept, move_on, open_floor

PLACED = datetime.fromisoformat("2027-02-10T07:00:00+01:00")
MOVES = (60, 120, 180, 240, 291)
PRESSED = "2027-03-08T10:05:00+01:00"


@pytest.fixture(scope="module")
def story(django_db_setup, django_db_blocker):
    """Series and observation done on Mon 8 Mar 10:00. Open: a shared net, one not found, and
    the refractometer that was wrong at the second move."""
    with kept(django_db_blocker):
        floor = open_floor(Client(), PLACED)
        keeper = floor.walk.as_person("Nia", "keeper")
        batch = floor.place(22, "R1-01", "A-1", at=PLACED)
        other = {"from": floor.uids["R1-06"], "to": batch, "way": "tool"}
        keeper.at("2027-02-11T12:00:00+01:00").post("contacts", other)
        move_on(floor, batch, 22, MOVES[:1], placed=PLACED)
        compare(floor, PLACED + 119 * HOUR)
        move_on(floor, batch, 22, MOVES[1:2], placed=PLACED, first=2)
        wrong = {"standard": "reference", "expected": "33.0", "got": "30.0", "passed": False}
        floor.walk.post(f"instruments/{floor.uids['S-1']}/checks", wrong)
        compare(floor, PLACED + 179 * HOUR)
        move_on(floor, batch, 22, MOVES[2:], placed=PLACED, first=3)
        floor.walk.at("2027-03-07T12:00:00+01:00")
        floor.walk.post(f"batches/{batch}/missing", {"count": 1})
        floor.walk.at(PRESSED)
        yield floor, batch, keeper


@pytest.fixture(autouse=True)
def _under_the_test_clock(story, db, settings):
    settings.TEST_CLOCK = True


@pytest.fixture
def floor(story):
    return story[0]


@pytest.fixture
def batch(story):
    return story[1]


@pytest.fixture
def keeper(story):
    return story[2]


def compare(floor, at):
    """Both instruments are compared with their standards, and right."""
    floor.checked_at = None
    floor.check_instruments(at)


def test_s25_1_every_reason_is_told_at_once(floor, batch):
    problem = floor.walk.refused(f"batches/{batch}/certificates", {"count": 21})

    reasons = problem.body["reasons"]
    assert (problem.status, problem.code) == (409, "not_certifiable")
    assert [one["code"] for one in reasons if one["blocks"]] == [
        "unaccounted",
        "deviation_open",
    ]
    assert {one["rule"] for one in reasons if one["code"] == "deviation_open"} == {
        "contact_tool"
    }
    doubts = [one for one in reasons if one["rule"] == "instrument_in_doubt"]
    assert [one["blocks"] for one in doubts] == [False]


def test_s25_2_each_reason_says_what_clears_it_and_who_may(floor, batch):
    reasons = floor.walk.get(f"batches/{batch}/certificate-check")["reasons"]

    told = {one["rule"]: (one["task"], one["who"]) for one in reasons if one["blocks"]}
    assert told == {
        "contact_tool": ("decide", ["manager"]),
        "unaccounted": ("search", ["keeper", "manager"]),
    }
    # Days on which nobody looked stay as they are: nothing clears that.
    assert all(one["cleared_by"] for one in reasons if one["rule"] != "round_missing")
    tasks = floor.walk.get(f"tasks?site={floor.walk.site}")["tasks"]
    named = {one["uid"]: one["what"] for one in tasks}
    linked = [one["numbers"]["task_uid"] for one in reasons if one["blocks"]]
    assert sorted(named[uid] for uid in linked) == ["decide", "search"]


def test_s25_3_who_opened_a_deviation_does_not_close_it_alone(floor, batch, keeper):
    deviation = open_deviation(floor, batch)
    roles = [{"site": floor.walk.site, "role": "manager"}]
    floor.walk.send("PUT", f"people/{keeper.person}", {"roles": roles})
    decision = {"decision": "keep", "known": deviation["numbers"], "reason": "it was rinsed"}

    keeper.at(PRESSED)
    own = keeper.refused(f"deviations/{deviation['uid']}/decisions", decision)
    other = floor.walk.post(f"deviations/{deviation['uid']}/decisions", decision)

    assert (own.status, own.code) == (403, "own_action")
    assert other["deviation"]["open"] is False


def test_s25_4_asking_whether_it_could_be_issued_changes_nothing(floor, batch, keeper):
    before = Fact.objects.count()

    asked = keeper.at(PRESSED).get(f"batches/{batch}/certificate-check")

    assert asked["may_be_issued"] is False
    assert asked["count"] == 21
    assert (Fact.objects.count(), Certificate.objects.count()) == (before, 0)


def test_s25_5_once_all_of_it_is_settled_it_may_be_issued(floor, batch):
    deviation = open_deviation(floor, batch)
    decision = {"decision": "keep", "known": deviation["numbers"], "reason": "it was rinsed"}
    floor.walk.post(f"deviations/{deviation['uid']}/decisions", decision)
    missing = Fact.objects.get(kind="missing_recorded").uid
    found = {"count": 1, "container": floor.uids["R1-06"], "alive": True}
    floor.walk.post(f"missing/{missing}/findings", found)

    assert floor.walk.get(f"batches/{batch}/certificate-check")["may_be_issued"] is True


def open_deviation(floor, batch):
    page = floor.walk.get(f"deviations?site={floor.walk.site}&open=true")
    (found,) = [one for one in page["deviations"] if one["rule"] == "contact_tool"]
    return found
