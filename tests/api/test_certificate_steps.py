"""What may be told of a certificate once it is out, and what it is worth then."""

import pytest
from django.test import Client

from tests.certified import Buyer, certify, kept, ready_floor


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


@pytest.fixture
def buyer(walk):
    return Buyer(walk.now)


def tell(walk, certificate, step, **body):
    return walk.post(f"certificates/{certificate['uid']}/{step}", {"reason": "so", **body})


def state_of(walk, certificate):
    return walk.get(f"certificates/{certificate['uid']}")["certificate"]["state"]


def kinds_of(walk, certificate):
    shown = walk.get(f"certificates/{certificate['uid']}")["certificate"]
    return [one["kind"] for one in shown["events"]]


def test_suspended_until_it_is_lifted(walk, certificate, buyer):
    told = tell(walk, certificate, "suspensions")
    assert (told["fact"]["kind"], told["certificate"]["state"]) == (
        "certificate_suspended",
        "suspended",
    )
    assert buyer.data(certificate["url"])["now"]["state"] == "suspended"

    assert tell(walk, certificate, "liftings")["certificate"]["state"] == "valid"
    assert buyer.data(certificate["url"])["now"]["state"] == "valid"


def test_a_certificate_that_is_superseded_makes_room(walk, floor, batch, certificate, buyer):
    tell(walk, certificate, "supersessions")

    newer = certify(floor, batch, 20)

    assert (newer["number"], newer["state"]) == ("C-2027-0002", "valid")
    data = buyer.data(certificate["url"])
    assert data["now"]["state"] == "superseded"
    assert data["replaced_by"] == {"number": "C-2027-0002", "url": newer["url"]}


def test_with_a_count_another_takes_its_place_at_once(walk, certificate):
    made = tell(walk, certificate, "supersessions", count=19)

    assert (made["certificate"]["number"], made["certificate"]["count"]) == ("C-2027-0002", 19)
    assert state_of(walk, certificate) == "superseded"


def test_nothing_takes_the_place_of_one_that_would_not_be_certifiable(walk, batch, certificate):
    walk.post(f"batches/{batch}/holds", {"why": "look again"})
    path = f"certificates/{certificate['uid']}/supersessions"

    problem = walk.refused(path, {"reason": "so", "count": 20})

    assert (problem.status, problem.code) == (409, "not_certifiable")
    assert kinds_of(walk, certificate) == ["certificate_suspended"]


@pytest.mark.parametrize("step", ["suspensions", "liftings", "revocations", "supersessions"])
def test_nothing_follows_a_revocation(walk, certificate, step):
    tell(walk, certificate, "revocations")

    problem = walk.refused(f"certificates/{certificate['uid']}/{step}", {"reason": "so"})

    assert (problem.status, problem.code) == (409, "contradicts_record")


@pytest.mark.parametrize("step", ["suspensions", "liftings", "revocations", "supersessions"])
def test_every_step_needs_a_reason(walk, certificate, step):
    problem = walk.refused(f"certificates/{certificate['uid']}/{step}", {})

    assert "reason_missing" in [one["code"] for one in problem.body["reasons"]]


@pytest.mark.parametrize(
    ("step", "who", "status"),
    [
        ("suspensions", "veterinarian", 201),
        ("suspensions", "keeper", 403),
        ("revocations", "veterinarian", 403),
        ("supersessions", "auditor", 403),
    ],
)
def test_who_may_tell_what(walk, certificate, step, who, status):
    other = walk.as_person("Ola", who)

    answer = other.send("POST", f"certificates/{certificate['uid']}/{step}", {"reason": "so"})

    assert answer.status_code == status


def test_bad_news_suspends_it_at_once_and_good_news_brings_it_back(
    walk, batch, certificate, buyer
):
    hold = walk.post(f"batches/{batch}/holds", {"why": "look again"})["hold"]["uid"]
    assert state_of(walk, certificate) == "suspended"
    assert buyer.data(certificate["url"])["now"]["state"] == "suspended"
    assert buyer.is_set("suspension", buyer.verified(buyer.token(certificate["url"])))

    walk.post(f"holds/{hold}/liftings", {"why": "looked"})
    assert state_of(walk, certificate) == "valid"
    assert not buyer.is_set("suspension", buyer.verified(buyer.token(certificate["url"])))


def test_a_sign_seen_afterwards_suspends_it(walk, batch, certificate):
    walk.post(f"batches/{batch}/signs", {"signs": ["white spots"], "affected": 1})

    assert state_of(walk, certificate) == "suspended"


def test_nothing_leaves_with_one_that_bad_news_suspends(walk, floor, batch, certificate):
    wet = {
        "subjects": floor.pieces["B-1"],
        "performed_at": "2027-01-07T12:00:00+01:00",
        "reason": "found out by the camera",
    }
    walk.post("wet-findings", wet)
    sale = {"count": 5, "buyer": "Quillfeather", "certificate": certificate["uid"]}

    problem = walk.refused(f"batches/{batch}/dispatches", sale)

    assert state_of(walk, certificate) == "suspended"
    assert (problem.status, problem.body["reasons"][-1]["numbers"]["covered"]) == (409, 0)


def test_nobody_lifts_by_hand_what_only_a_decision_settles(walk, batch, certificate):
    walk.post(f"batches/{batch}/holds", {"why": "look again"})

    problem = walk.refused(f"certificates/{certificate['uid']}/liftings", {"reason": "so"})

    assert problem.code == "contradicts_record"
    assert state_of(walk, certificate) == "suspended"


def test_animals_that_were_sold_are_still_covered(walk, batch, certificate, buyer):
    sale = {"count": 5, "buyer": "Quillfeather", "certificate": certificate["uid"]}
    walk.post(f"batches/{batch}/dispatches", sale)

    now = walk.get(f"certificates/{certificate['uid']}")["certificate"]

    assert (now["state"], now["count_now"], now["here"], now["left"]) == ("valid", 20, 15, 5)
    assert "Quillfeather" not in buyer.page(certificate["url"])


def test_a_moment_before_shows_what_was_worth_then(walk, certificate):
    before = walk.now
    walk.at("2027-02-04T09:00:00+01:00")
    tell(walk, certificate, "revocations")

    shown = walk.get(f"certificates/{certificate['uid']}?at={before.replace('+', '%2B')}")

    assert shown["certificate"]["state"] == "valid"
