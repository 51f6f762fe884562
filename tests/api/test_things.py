"""The dullest fact, a container set up, through every floor."""

import json

import pytest

from stock import rebuild
from stock.models import Answer, Container, Fact, Log
from stock.verify import verify
from tests.make import START, make_container, make_shop
from tests.walk import Walk

pytestmark = pytest.mark.django_db(transaction=True)

CONTAINER = {"label": "R1-01", "fill_mark_l": "60", "z_m": "0.4"}


@pytest.fixture
def walk(client, settings):
    settings.TEST_CLOCK = True
    return Walk.begin(client, "2027-01-05T09:00:00+01:00")


@pytest.fixture
def rack(walk):
    room = walk.post(f"sites/{walk.site}/rooms", {"label": "Hall"})["room"]["uid"]
    return walk.post(f"sites/{walk.site}/racks", {"label": "1", "room": room})["rack"]["uid"]


@pytest.fixture
def containers(walk):
    return f"sites/{walk.site}/containers"


def test_a_container_is_entered_applied_and_shown(walk, rack, containers):
    made = walk.post(containers, {**CONTAINER, "rack": rack})

    assert made["container"]["label"] == "R1-01"
    assert made["fact"]["kind"] == "container_set"
    assert made["fact"]["performed_at"] == "2027-01-05T08:00:00Z"
    assert walk.get(f"containers/{made['container']['uid']}")["container"]["rack"] == rack


def test_the_ledger_holds_what_was_told_and_the_rows_follow_from_it(walk, rack, containers):
    made = walk.post(containers, {**CONTAINER, "rack": rack})

    log = Log.objects.get(uid=walk.site)
    fact = Fact.objects.get(uid=made["fact"]["uid"])
    assert json.loads(bytes(fact.entry))["body"]["container"] == made["container"]["uid"]
    assert verify(log) is None
    assert rebuild.check(START) == []


def test_the_same_request_twice_is_one_container(walk, rack, containers):
    first = walk.post(containers, {**CONTAINER, "rack": rack}, key="tap")

    again = walk.send("POST", containers, {**CONTAINER, "rack": rack}, key="tap")

    assert (again.status_code, again["Idempotent-Replay"]) == (200, "true")
    assert json.loads(again.content) == first
    assert Container.objects.count() == 1


def test_a_key_used_for_something_else_is_refused(walk, rack, containers):
    walk.post(containers, {**CONTAINER, "rack": rack}, key="tap")

    problem = walk.refused(containers, {**CONTAINER, "rack": rack, "label": "X"}, key="tap")

    assert (problem.status, problem.code) == (422, "key_reused")


def test_a_refusal_is_not_remembered(walk, rack, containers):
    walk.refused(containers, {**CONTAINER, "rack": rack, "label": ""}, key="tap")

    walk.post(containers, {**CONTAINER, "rack": rack}, key="tap")

    assert Answer.objects.filter(key="tap").count() == 1


def test_a_label_is_painted_on_one_container_only(walk, rack, containers):
    walk.post(containers, {**CONTAINER, "rack": rack})

    problem = walk.refused(containers, {**CONTAINER, "rack": rack})

    assert (problem.status, problem.code) == (409, "label_taken")
    assert problem.body["reasons"][0]["pointer"] == "/label"


@pytest.mark.parametrize(
    ("change", "code", "pointer"),
    [
        ({"fill_mark_l": "much"}, "unreadable", "/fill_mark_l"),
        ({"colour": "blue"}, "unknown_field", "/colour"),
        ({"performed_at": "2027-01-05T09:00:00"}, "offset_missing", "/performed_at"),
        ({"performed_at": "yesterday"}, "unreadable", "/performed_at"),
        ({"performed_at": "2027-01-06T09:00:00Z"}, "in_future", "/performed_at"),
    ],
)
def test_bad_input_is_named_at_its_field(walk, rack, containers, change, code, pointer):
    problem = walk.refused(containers, {**CONTAINER, "rack": rack, **change})

    assert (problem.status, problem.code) == (400, code)
    assert problem.body["reasons"][0]["pointer"] == pointer
    assert not Container.objects.exists()


def test_a_request_without_a_key_is_refused(walk, rack, containers):
    answer = walk.client.post(
        f"/api/v1/{containers}",
        {**CONTAINER, "rack": rack},
        content_type="application/json",
        headers={"Authorization": f"Bearer {walk.token}"},
    )

    assert (answer.status_code, answer.json()["code"]) == (400, "key_missing")


def test_a_change_names_the_version_it_has_seen(walk, rack, containers):
    made = walk.post(containers, {**CONTAINER, "rack": rack})
    path = f"containers/{made['container']['uid']}"
    seen = walk.send("GET", path)["ETag"]
    body = {**CONTAINER, "rack": rack, "lid": False}

    blind = walk.send("PUT", path, body)
    changed = walk.send("PUT", path, body, **{"If-Match": seen})
    late = walk.send("PUT", path, body, **{"If-Match": seen})

    assert (blind.status_code, changed.status_code, late.status_code) == (428, 201, 412)


def test_the_test_clock_never_goes_back(walk, rack, containers):
    walk.at("2027-01-05T12:00:00+01:00").post(containers, {**CONTAINER, "rack": rack})

    problem = walk.at("2027-01-05T11:00:00+01:00").refused(
        containers, {**CONTAINER, "rack": rack, "label": "R1-02"}
    )

    assert (problem.status, problem.code) == (409, "clock_back")


@pytest.mark.parametrize(
    ("who", "status"), [("keeper", 403), ("manager", 201), ("auditor", 403)]
)
def test_who_may_set_up_a_container(walk, rack, containers, who, status):
    other = walk.as_person("Ola", who)

    answer = other.send("POST", containers, {**CONTAINER, "rack": rack})

    assert answer.status_code == status


def test_nobody_signed_in_gets_nowhere(walk, rack, containers):
    walk.token = ""

    problem = walk.refused(containers, {**CONTAINER, "rack": rack})

    assert (problem.status, problem.code) == (401, "not_signed_in")


def test_a_uid_of_another_shop_names_nothing_here(walk, rack, containers):
    theirs = make_container(make_shop(), "Theirs")

    problem = walk.refused(containers, {**CONTAINER, "rack": rack, "uid": str(theirs)})

    assert problem.status in (404, 409)
    assert Container.objects.get(uid=theirs).label == "Theirs"


def test_a_uid_that_is_in_use_is_not_made_again(walk, rack, containers):
    made = walk.post(containers, {**CONTAINER, "rack": rack})

    problem = walk.refused(
        containers, {**CONTAINER, "rack": rack, "label": "X", "uid": made["container"]["uid"]}
    )

    assert (problem.status, problem.code) == (409, "contradicts_record")


def test_more_than_one_entry_holds_is_too_large(walk, rack, containers):
    insist = [{"rule": "x", "reason": "y" * 1000}] * 100

    problem = walk.refused(containers, {**CONTAINER, "rack": rack, "insist": insist})

    assert (problem.status, problem.code) == (413, "too_large")
