"""Certificates over REST: who may issue one, when, and for how many."""

import pytest
from django.test import Client

from tests.certified import Buyer, certify, kept, ready_floor, stranger


@pytest.fixture(scope="module")
def story(django_db_setup, django_db_blocker):
    with kept(django_db_blocker):
        yield ready_floor(Client())


@pytest.fixture(autouse=True)
def _under_the_test_clock(story, db, settings):
    settings.TEST_CLOCK = True


@pytest.fixture
def walk(story):
    return story[0].walk


@pytest.fixture
def floor(story):
    return story[0]


@pytest.fixture
def batch(story):
    return story[1]


@pytest.fixture
def certificate(floor, batch):
    return certify(floor, batch, 20)


def test_a_certificate_is_issued_for_a_count(walk, batch):
    made = walk.post(f"batches/{batch}/certificates", {"count": 20})

    assert made["fact"]["kind"] == "certificate_issued"
    assert made["certificate"]["number"] == "C-2027-0001"
    assert made["certificate"]["url"].startswith("http://testserver/c/")
    assert (made["certificate"]["state"], made["certificate"]["count_now"]) == ("valid", 20)


def test_the_address_that_is_set_stands_in_it(walk, batch, settings):
    settings.ADDRESS = "https://reef.example"

    made = walk.post(f"batches/{batch}/certificates", {"count": 20})

    assert made["certificate"]["url"].startswith("https://reef.example/c/")


@pytest.mark.parametrize(
    ("who", "status"), [("keeper", 403), ("veterinarian", 403), ("auditor", 403)]
)
def test_only_managers_issue(walk, batch, who, status):
    other = walk.as_person("Ola", who)

    answer = other.send("POST", f"batches/{batch}/certificates", {"count": 20})

    assert answer.status_code == status


@pytest.mark.parametrize("who", ["keeper", "veterinarian", "auditor"])
def test_everybody_here_may_ask_whether_one_could_be_issued(walk, batch, who):
    asked = walk.as_person("Ola", who).get(f"batches/{batch}/certificate-check")

    assert asked["may_be_issued"] is True


@pytest.mark.parametrize(
    ("count", "status", "code"),
    [
        (21, 409, "too_few_alive"),
        (0, 400, "not_positive"),
        (-1, 400, "not_positive"),
        (1.5, 400, "not_whole"),
        ("20", 400, "not_whole"),
        (True, 400, "not_whole"),
    ],
)
def test_a_count_is_whole_and_of_animals_that_are_there(walk, batch, count, status, code):
    problem = walk.refused(f"batches/{batch}/certificates", {"count": count})

    assert (problem.status, problem.code) == (status, code)
    assert problem.body["reasons"][0]["pointer"] == "/count"


def test_fewer_than_there_are_may_be_certified(walk, floor, batch):
    assert certify(floor, batch, 7)["count_now"] == 7


def test_a_second_one_is_refused_with_the_first(walk, batch, certificate):
    problem = walk.refused(f"batches/{batch}/certificates", {"count": 20})

    assert (problem.status, problem.code) == (409, "already_certified")
    assert problem.body["existing"]["uid"] == certificate["uid"]
    assert problem.body["existing"]["url"] == certificate["url"]


def test_the_check_says_that_one_stands(walk, batch, certificate):
    asked = walk.get(f"batches/{batch}/certificate-check")

    assert asked["may_be_issued"] is False
    assert asked["reasons"][0]["code"] == "already_certified"
    assert asked["reasons"][0]["numbers"] == {"number": certificate["number"]}


def test_days_of_an_observation_without_a_round_are_said_and_block_nothing(walk, floor, batch):
    """They were observed from 20 January 04:00 on; somebody looked on days 1 and 3."""
    room = walk.get(f"sites/{walk.site}/rooms")["rooms"][0]["uid"]
    here = floor.batch(batch)["stay"]["container"]
    for at in ("2027-01-21T03:59:59+01:00", "2027-01-22T04:00:00+01:00"):
        body = {"room": room, "looked_at": [here], "exceptions": [], "performed_at": at}
        walk.post("rounds", {**body, "reason": "The paper list.", "standing": "happened"})

    asked = walk.get(f"batches/{batch}/certificate-check")

    (said,) = [one for one in asked["reasons"] if one["code"] == "round_missing"]
    assert (said["blocks"], asked["may_be_issued"]) == (False, True)
    assert said["numbers"]["days"] == [2, *range(4, 15)]
    assert floor.batch(batch)["days_without_round"] == said["numbers"]["days"]


def test_the_same_request_twice_is_one_certificate(walk, batch):
    path = f"batches/{batch}/certificates"
    first = walk.post(path, {"count": 20}, key="press")

    again = walk.send("POST", path, {"count": 20}, key="press")

    assert (again.status_code, again["Idempotent-Replay"]) == (200, "true")
    assert again.json()["certificate"]["uid"] == first["certificate"]["uid"]
    assert len(walk.get(path)["certificates"]) == 1


def test_a_refusal_burns_no_number(walk, floor, batch):
    walk.refused(f"batches/{batch}/certificates", {"count": 21})

    assert certify(floor, batch, 20)["number"] == "C-2027-0001"


@pytest.mark.parametrize("standing", ["happened", "emergency"])
def test_nobody_certifies_by_saying_that_it_happened(walk, batch, standing):
    walk.post(f"batches/{batch}/holds", {"why": "look again"})
    body = {"count": 20, "standing": standing, "insist": [{"rule": "held", "reason": "sold"}]}

    problem = walk.refused(f"batches/{batch}/certificates", body)

    assert (problem.status, problem.code) == (409, "not_certifiable")
    assert problem.body["reasons"][0]["code"] == "held"


def test_it_is_issued_now_whatever_the_request_says(walk, batch):
    earlier = {"count": 20, "performed_at": "2027-01-21T09:00:00Z"}

    made = walk.post(f"batches/{batch}/certificates", earlier)

    assert made["fact"]["performed_at"] == made["fact"]["recorded_at"]


def test_what_was_given_is_a_dated_step_with_its_dose(walk, floor, batch):
    given = {"product": "praziquantel", "amount": "2.5", "unit": "mg/L"}
    walk.post(f"containers/{floor.uids['R1-06']}/doses", given)
    walk.post(f"containers/{floor.uids['R1-01']}/doses", {**given, "product": "copper"})

    certificate = certify(floor, batch, 20)

    assert Buyer(walk.now).data(certificate["url"])["treatments"] == [
        {"at": "2027-02-03T04:00:00Z", "product": "praziquantel", "dose": "2.5 mg/L"}
    ]


def test_before_the_observation_is_over_it_is_not_certifiable(walk, floor, batch):
    earlier = floor.batch(batch)["observation"]["ends_at"]
    asked = walk.get(f"batches/{batch}/certificate-check?at=2027-02-03T03:59:59Z")
    later = walk.get(f"batches/{batch}/certificate-check?at={earlier}")

    assert earlier == "2027-02-03T03:00:00Z"
    assert asked["may_be_issued"] is later["may_be_issued"] is True
    just_before = walk.get(f"batches/{batch}/certificate-check?at=2027-02-03T02:59:59Z")
    assert [one["code"] for one in just_before["reasons"] if one["blocks"]] == [
        "observation_running"
    ]


def test_somebody_elses_certificate_is_not_there(walk, batch, certificate, client):
    other = stranger(client, walk.now)
    paths = [
        f"certificates/{certificate['uid']}",
        f"batches/{batch}/certificate-check",
        f"batches/{batch}/certificates",
    ]

    answers = [other.send("GET", path).status_code for path in paths]
    steps = other.refused(f"certificates/{certificate['uid']}/revocations", {"reason": "so"})
    issue = other.refused(f"batches/{batch}/certificates", {"count": 20})

    assert (answers, steps.status, issue.status) == ([404] * 3, 404, 404)
