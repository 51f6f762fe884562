"""Certificates that the service suspends and lifts by itself, each time with a fact."""

from datetime import datetime
from uuid import UUID

import pytest
from django.test import Client

from protocols.codes import SERVICE
from stock import rebuild, sweeps
from stock.judging import judging_later
from stock.models import Certificate, Fact, Log
from stock.verify import verify
from tests.certified import Buyer, certify, kept, ready_floor


@pytest.fixture(scope="module")
def story(django_db_setup, django_db_blocker):
    """Twenty that were observed to the end, and certified."""
    with kept(django_db_blocker):
        floor, batch = ready_floor(Client())
        yield floor.walk, batch, certify(floor, batch, 20)


@pytest.fixture(autouse=True)
def _under_the_test_clock(story, db, settings):
    settings.TEST_CLOCK = True


@pytest.fixture
def walk(story):
    return story[0]


@pytest.fixture
def batch(story):
    return story[1]


@pytest.fixture
def certificate(story):
    return story[2]


@pytest.fixture
def told(certificate):
    """What was told of the certificate by rule: kinds, in the order of the record book."""

    def read():
        rows = Fact.objects.filter(subjects__subject=certificate["uid"], doer=SERVICE)
        return list(rows.order_by("seq").values_list("kind", flat=True))

    return read


def hold(walk, batch):
    return walk.post(f"batches/{batch}/holds", {"why": "look again"})["hold"]["uid"]


def lift(walk, uid):
    return walk.post(f"holds/{uid}/liftings", {"why": "looked"})


def step(walk, certificate, name):
    return walk.post(f"certificates/{certificate['uid']}/{name}", {"reason": "so"})


def state(walk, certificate):
    return walk.get(f"certificates/{certificate['uid']}")["certificate"]["state"]


def test_bad_news_suspends_it_and_the_answer_lifts_it_each_with_a_fact(
    walk, batch, certificate, told
):
    hold_uid = hold(walk, batch)
    suspended = told()
    lift(walk, hold_uid)
    history = walk.get(f"batches/{batch}/history")["entries"]

    assert suspended == ["certificate_suspended"]
    assert told() == ["certificate_suspended", "certificate_lifted"]
    assert [one["kind"] for one in history][-4:] == [
        "hold_placed",
        "certificate_suspended",
        "hold_lifted",
        "certificate_lifted",
    ]
    assert Certificate.objects.get(uid=certificate["uid"]).state == "valid"


def test_the_same_question_again_is_told_again(walk, batch, told):
    for _ in range(2):
        lift(walk, hold(walk, batch))

    assert told() == ["certificate_suspended", "certificate_lifted"] * 2


def test_a_question_is_the_cause_until_it_is_decided_keep(walk, batch, told):
    ends = {"from": Fact.objects.get(kind="batch_placed").body["container"], "to": batch}
    asked = walk.post("contacts", {**ends, "way": "hands"})["deviations"][0]
    suspended = Fact.objects.get(kind="certificate_suspended")
    other = walk.as_person("Eve", "manager")
    known = {"known": asked["numbers"], "reason": "washed before", "decision": "keep"}
    other.post(f"deviations/{asked['uid']}/decisions", known)
    lifted = Fact.objects.get(kind="certificate_lifted")

    assert suspended.body["by"] == lifted.body["by"] == asked["cause"]
    assert suspended.body["cause"] == "Being checked: contact tool."


def test_a_buyer_reads_that_it_is_being_checked(walk, batch, certificate):
    hold(walk, batch)
    buyer = Buyer(walk.now)

    now = buyer.data(certificate["url"])["now"]
    assert (now["state"], now["being_checked"]) == ("suspended", True)
    assert "Being checked" in buyer.page(certificate["url"])
    assert "look again" not in buyer.page(certificate["url"])


def test_what_waits_for_the_sweep_is_told_by_it_once_however_many_sweep(
    walk, batch, certificate, told
):
    with judging_later():
        hold(walk, batch)
    before = told()
    for _ in range(2):
        sweeps.sweep(UUID(walk.site), datetime.fromisoformat(walk.now))

    assert (before, told()) == ([], ["certificate_suspended"])
    assert state(walk, certificate) == "suspended"


def test_a_person_may_make_a_suspension_theirs_and_then_lifts_it(
    walk, batch, certificate, told
):
    hold_uid = hold(walk, batch)
    step(walk, certificate, "suspensions")
    lift(walk, hold_uid)
    kept_by_them = state(walk, certificate)
    step(walk, certificate, "liftings")

    assert kept_by_them == "suspended"
    assert told() == ["certificate_suspended"]
    assert state(walk, certificate) == "valid"


def test_whoever_lifts_it_while_something_is_open_sees_it_suspended_again(
    walk, batch, certificate, told
):
    step(walk, certificate, "suspensions")
    hold(walk, batch)
    before = told()
    lifted = step(walk, certificate, "liftings")["certificate"]

    assert (before, told()) == ([], ["certificate_suspended"])
    assert (lifted["state"], lifted["being_checked"]) == ("suspended", True)


def test_a_question_about_what_was_split_off_suspends_the_certificate_of_all(walk, batch, told):
    """Eight go where it was not clean."""
    parts = [{"count": 12}, {"count": 8, "to_container": free(walk), "kit": kit(walk)}]
    made = walk.post(f"batches/{batch}/splits", {"parts": parts, "standing": "happened"})
    rules = {one["rule"] for one in made["deviations"]}

    assert "container_not_ready" in rules
    assert told() == ["certificate_suspended"]


def free(walk):
    return walk.get(f"sites/{walk.site}/containers")["containers"][0]["uid"]


def kit(walk):
    return walk.get(f"sites/{walk.site}/kits")["kits"][0]["uid"]


def test_rows_and_sums_follow_from_these_facts_too(walk, batch):
    lift(walk, hold(walk, batch))
    hold(walk, batch)

    assert rebuild.check(datetime.fromisoformat(walk.now)) == []
    assert [verify(log) for log in Log.objects.all()] == [None, None]
