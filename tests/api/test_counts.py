"""Losses, missing and found animals, counts and births over REST."""

import json
from uuid import uuid4

import pytest

from stock.models import Fact, StayRow
from stock.sums import wrong_sums
from tests.make import make_batch, make_container, make_line, make_person, make_shop
from tests.walk import NOON, signed_in

pytestmark = pytest.mark.django_db

EVENING = "2027-01-04T18:20:00Z"
TWO_DAYS_LATER = "2027-01-06T12:00:00Z"
REASON = {"reason": "Filter opened, floor searched twice."}


@pytest.fixture
def batch(shop):
    """Four animals in R6-01."""
    return str(make_batch(shop, 4, container=make_container(shop, "R6-01")))


@pytest.fixture
def neighbour(shop):
    """Seven animals in R6-02."""
    return str(make_batch(shop, 7, container=make_container(shop, "R6-02")))


def loss(batch, count, **more):
    return {
        "batch": batch,
        "fate": "dead",
        "count": count,
        "cause": ["unknown"],
        "certainty": "suspected",
        "found_at": NOON,
    } | more


def lose(walk, *lines, **more):
    return walk.post("losses", {"lines": list(lines), **more})


def container_of(batch):
    return str(StayRow.objects.get(batch=batch).container_id)


# -- Losses ----------------------------------------------------------------------------------


def test_losses_of_several_batches_are_told_in_one_request(walk, batch, neighbour):
    answer = lose(walk, loss(batch, 4), loss(neighbour, 1, fate="culled"))

    assert [one["count"] for one in answer["losses"]] == [4, 1]
    counts = {one["uid"]: one["counts"] for one in answer["batches"]}
    assert (counts[batch]["alive"], counts[batch]["dead"]) == (0, 4)
    assert (counts[neighbour]["alive"], counts[neighbour]["culled"]) == (6, 1)
    assert Fact.objects.filter(kind="loss_recorded").values("group").distinct().count() == 1


def test_one_line_too_many_and_none_is_recorded(walk, batch, neighbour):
    problem = walk.refused("losses", {"lines": [loss(neighbour, 1), loss(batch, 5)]})

    assert (problem.status, problem.code) == (409, "too_few_alive")
    (reason,) = problem.body["reasons"]
    assert reason["text"] == "R6-01 has 4 alive; you entered 5."
    assert (reason["numbers"], reason["pointer"]) == (
        {"alive": 4, "entered": 5},
        "/lines/1/count",
    )
    assert not Fact.objects.filter(kind="loss_recorded").exists()


def test_a_loss_keeps_when_it_was_found_and_last_seen(walk, batch):
    answer = lose(walk, loss(batch, 1, last_seen_at="2027-01-03T20:10:00+01:00"))

    (told,) = answer["losses"]
    assert (told["last_seen_at"], told["found_at"]) == ("2027-01-03T19:10:00Z", NOON)
    assert told["last_seen_at_local"] == "Sun 3 Jan 2027 20:10 CET"
    assert told["parked"] is False


def test_a_loss_without_a_time_was_found_when_it_was_told(walk, batch):
    line = {name: value for name, value in loss(batch, 1).items() if name != "found_at"}

    answer = lose(walk, line, performed_at="2027-01-04T12:30:00+01:00")

    assert answer["losses"][0]["found_at"] == "2027-01-04T11:30:00Z"


@pytest.mark.parametrize(
    ("change", "code", "pointer"),
    [
        ({"count": 0}, "not_positive", "/lines/0/count"),
        ({"count": -1}, "not_positive", "/lines/0/count"),
        ({"count": 1.5}, "not_whole", "/lines/0/count"),
        ({"count": "2"}, "not_whole", "/lines/0/count"),
        ({"count": ""}, "not_whole", "/lines/0/count"),
        ({"count": True}, "not_whole", "/lines/0/count"),
        ({"fate": "vanished"}, "unreadable", "/lines/0/fate"),
        ({"cause": ["a", "b", "c"]}, "unreadable", "/lines/0/cause"),
        ({"found_at": "2027-01-04T12:00:00"}, "offset_missing", "/lines/0/found_at"),
        ({"found_at": "2027-01-04T12:00:01Z"}, "in_future", "/lines/0/found_at"),
        ({"colour": "blue"}, "unknown_field", "/lines/0/colour"),
    ],
)
def test_bad_lines_are_named_at_their_field(walk, batch, change, code, pointer):
    problem = walk.refused("losses", {"lines": [loss(batch, 1) | change]})

    assert (problem.status, problem.code) == (400, code)
    assert problem.body["reasons"][0]["pointer"] == pointer


def test_an_empty_list_of_losses_is_refused(walk):
    problem = walk.refused("losses", {"lines": []})

    assert (problem.status, problem.code) == (400, "unreadable")


@pytest.mark.parametrize("name", ["batch", "incident"])
def test_what_is_not_there_is_not_found(walk, batch, name):
    problem = walk.refused("losses", {"lines": [loss(batch, 1) | {name: str(uuid4())}]})

    assert (problem.status, problem.code) == (404, "not_found")


def test_the_line_of_another_shop_is_not_found(walk, batch):
    foreign = str(make_line(make_shop()))

    problem = walk.refused("losses", {"lines": [loss(batch, 1, origin=[foreign])]})

    assert problem.status == 404


def test_told_as_happened_a_loss_too_many_is_parked(walk, batch):
    answer = lose(walk, loss(batch, 5), standing="happened")

    assert answer["fact"]["parked"] is True
    assert answer["losses"][0]["parked"] is True
    assert answer["batches"][0]["counts"]["alive"] == 4


def test_the_same_losses_sent_twice_are_lost_once(walk, batch):
    body = {"lines": [loss(batch, 1)]}
    first = walk.post("losses", body, key="tap")

    again = walk.send("POST", "losses", body, key="tap")

    assert (again.status_code, json.loads(again.content)) == (200, first)
    assert walk.get(f"batches/{batch}")["batch"]["counts"]["dead"] == 1


def test_a_uid_that_is_in_use_names_no_second_loss(walk, batch):
    (told,) = lose(walk, loss(batch, 1))["losses"]

    problem = walk.refused("losses", {"lines": [loss(batch, 1, uid=told["uid"])]})

    assert (problem.status, problem.code) == (409, "contradicts_record")


@pytest.mark.parametrize(
    ("role", "status"),
    [("keeper", 201), ("manager", 201), ("veterinarian", 201), ("auditor", 403)],
)
def test_who_works_there_may_record_a_loss(client, shop, batch, role, status):
    other = signed_in(client, shop, make_person(shop, "Ola", role))

    answer = other.send("POST", "losses", {"lines": [loss(batch, 1)]})

    assert answer.status_code == status


# -- Missing, found, presumed lost -----------------------------------------------------------


@pytest.fixture
def missing(walk, batch):
    body = {"count": 2, "container": container_of(batch)}
    return walk.post(f"batches/{batch}/missing", body)["missing"]["uid"]


def test_missing_animals_are_unaccounted_and_not_dead(walk, batch, missing):
    counts = walk.get(f"batches/{batch}")["batch"]["counts"]

    assert (counts["alive"], counts["unaccounted"], counts["dead"]) == (2, 2, 0)


def test_more_missing_than_there_are_is_refused(walk, batch):
    problem = walk.refused(f"batches/{batch}/missing", {"count": 5})

    assert (problem.status, problem.code) == (409, "too_few_alive")
    assert problem.body["reasons"][0]["pointer"] == "/count"


def test_found_alive_in_their_container_they_are_with_the_others_again(walk, batch, missing):
    body = {"count": 2, "container": container_of(batch), "alive": True}

    answer = walk.post(f"missing/{missing}/findings", body)

    assert (answer["missing"]["open"], answer["found"]) == (0, None)
    assert answer["batch"]["counts"]["alive"] == 4


@pytest.fixture
def elsewhere(shop):
    return str(make_container(shop, "R6-09"))


def test_found_alive_elsewhere_they_are_a_batch_of_their_own(walk, elsewhere, batch, missing):
    body = {"count": 1, "container": elsewhere, "alive": True}

    answer = walk.post(f"missing/{missing}/findings", body)

    assert answer["found"]["counts"]["alive"] == 1
    assert answer["batch"]["counts"]["unaccounted"] == 1
    assert wrong_sums() == []


def test_found_dead_they_are_dead(walk, batch, missing):
    body = {"count": 1, "container": container_of(batch), "alive": False}

    answer = walk.post(f"missing/{missing}/findings", body)

    counts = answer["batch"]["counts"]
    assert (counts["dead"], counts["unaccounted"]) == (1, 1)


def test_presumed_lost_too_early_says_from_when(walk, missing):
    problem = walk.at(EVENING).refused(
        f"missing/{missing}/presumptions", {"count": 1, **REASON}
    )

    assert (problem.status, problem.code) == (409, "too_early")
    (reason,) = problem.body["reasons"]
    assert reason["instead"][0]["from"] == "2027-01-06T12:00:00Z"


def test_presumed_lost_and_found_after_all(walk, batch, missing):
    walk.at(TWO_DAYS_LATER)
    gone = walk.post(f"missing/{missing}/presumptions", {"count": 2, **REASON})
    body = {"count": 1, "container": container_of(batch), "alive": True}

    back = walk.post(f"missing/{missing}/findings", body)

    assert gone["batch"]["counts"]["presumed_lost"] == 2
    counts = back["batch"]["counts"]
    assert (counts["presumed_lost"], counts["alive"]) == (1, 3)
    assert (back["missing"]["presumed"], wrong_sums()) == (1, [])


def test_to_presume_them_lost_needs_a_reason(walk, missing):
    problem = walk.at(TWO_DAYS_LATER).refused(f"missing/{missing}/presumptions", {"count": 1})

    assert (problem.status, problem.code) == (400, "reason_missing")


@pytest.mark.parametrize(("role", "status"), [("keeper", 403), ("veterinarian", 403)])
def test_only_a_manager_presumes_animals_lost(client, shop, missing, role, status):
    other = signed_in(client, shop, make_person(shop, "Ola", role)).at(TWO_DAYS_LATER)

    problem = other.refused(f"missing/{missing}/presumptions", {"count": 1, **REASON})

    assert (problem.status, problem.code) == (status, "wrong_role")


@pytest.mark.parametrize("path", ["findings", "presumptions"])
def test_missing_animals_of_another_shop_are_not_found(client, walk, missing, path):
    other = make_shop()
    stranger = signed_in(client, other, other.manager)
    container = str(make_container(other, "R1-01"))
    body = {
        "findings": {"count": 1, "container": container, "alive": True},
        "presumptions": {"count": 1, **REASON},
    }[path]

    problem = stranger.refused(f"missing/{missing}/{path}", body)

    assert problem.status == 404


# -- Counts and births -----------------------------------------------------------------------


def test_a_blind_count_is_never_told_the_number(walk, batch):
    answer = walk.send("POST", f"batches/{batch}/counts", {"counts": [9]})

    problem = json.loads(answer.content)
    assert (answer.status_code, problem["code"]) == (409, "count_again")
    (reason,) = problem["reasons"]
    assert (reason["numbers"], reason["instead"]) == ({}, [])


def test_two_equal_counts_are_kept_and_asked_about(walk, batch):
    answer = walk.post(f"batches/{batch}/counts", {"counts": [9, 9]})

    assert [one["rule"] for one in answer["deviations"]] == ["count_differs"]
    assert answer["batch"]["counts"]["alive"] == 4


def test_births_add_up(walk, batch):
    answer = walk.post(f"batches/{batch}/births", {"count": 30, "estimated": True})

    assert answer["batch"]["counts"]["alive"] == 34
    assert wrong_sums() == []
