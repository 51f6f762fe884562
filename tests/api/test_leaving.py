"""Dispatches and returns over REST."""

import pytest

from stock.models import Dispatch, FactText, Site
from stock.sums import wrong_sums
from tests.make import make_batch, make_container, make_person, make_shop
from tests.walk import signed_in

pytestmark = pytest.mark.django_db

FOUR = {"count": 4, "buyer": "Coral House"}


@pytest.fixture
def batch(shop):
    """Twelve animals in R1-01."""
    return str(make_batch(shop, 12, container=make_container(shop, "R1-01")))


@pytest.fixture
def dispatches(batch):
    return f"batches/{batch}/dispatches"


@pytest.fixture
def returns(batch):
    return f"batches/{batch}/returns"


def test_animals_are_handed_over_to_a_buyer(walk, dispatches):
    answer = walk.post(dispatches, FOUR)

    assert (answer["left"], answer["batch"]["counts"]["sold"]) == (8, 4)
    assert answer["dispatch"]["count"] == 4
    assert wrong_sums() == []


def test_who_sells_without_a_certificate_is_told_so(walk, dispatches):
    (warning,) = walk.post(dispatches, FOUR)["warnings"]

    assert (warning["code"], warning["numbers"]["certified"]) == ("not_certifiable", 0)


def test_the_name_of_a_buyer_stands_beside_the_entry(walk, dispatches):
    fact = walk.post(dispatches, FOUR)["fact"]["uid"]

    kept = FactText.objects.get(fact=fact, name="buyer")
    assert kept.value == "Coral House"
    assert b"Coral House" not in bytes(kept.fact.entry)


@pytest.fixture
def branch(walk, shop):
    """Another site of the same organisation."""
    return walk.post("sites", {"name": "Shop", "zone": "Europe/Berlin"})["site"]["uid"]


def test_to_another_site_of_ours_they_are_on_the_way(walk, dispatches, branch):
    answer = walk.post(dispatches, {"count": 4, "site": branch})

    counts = answer["batch"]["counts"]
    assert (counts["on_the_way"], counts.get("sold", 0)) == (4, 0)
    assert answer["warnings"] == []


def test_the_site_of_another_organisation_is_not_found(walk, dispatches):
    foreign = str(make_shop().site)

    problem = walk.refused(dispatches, {"count": 4, "site": foreign})

    assert problem.status == 404


def test_their_own_site_is_no_place_to_go(walk, shop, dispatches):
    assert Site.objects.filter(uid=shop.site).exists()

    problem = walk.refused(dispatches, {"count": 4, "site": str(shop.site)})

    assert problem.status == 404


@pytest.mark.parametrize(
    ("change", "status", "code"),
    [
        ({"count": 13}, 409, "too_few_alive"),
        ({"count": 0}, 400, "not_positive"),
        ({"count": "four"}, 400, "not_whole"),
        ({"buyer": None}, 400, "unreadable"),
        ({"certificate": "01950000-0000-7000-8000-000000000001"}, 404, "not_found"),
    ],
)
def test_what_cannot_leave_is_refused(walk, dispatches, change, status, code):
    problem = walk.refused(dispatches, FOUR | change)

    assert (problem.status, problem.code) == (status, code)
    assert not Dispatch.objects.exists()


def test_nothing_of_a_held_batch_leaves(walk, batch, dispatches):
    walk.post(f"batches/{batch}/holds", {"why": "supplier recall"})

    problem = walk.refused(dispatches, FOUR)

    assert (problem.status, problem.code) == (409, "held")


def test_nothing_of_a_suspected_batch_leaves(walk, batch, dispatches):
    walk.post(f"batches/{batch}/signs", {"signs": ["white spots"], "affected": 1})

    problem = walk.refused(dispatches, FOUR)

    assert (problem.status, problem.code) == (409, "not_certifiable")


def test_nothing_leaves_while_a_report_about_the_batch_is_not_settled(walk, batch, dispatches):
    line = {"batch": batch, "fate": "dead", "count": 13, "cause": ["unknown"]}
    walk.post("losses", {"lines": [line], "standing": "happened"})

    problem = walk.refused(dispatches, FOUR)

    assert (problem.status, problem.code) == (409, "held")
    assert problem.body["reasons"][0]["rule"] == "parked"


def test_what_left_all_the_same_is_told_as_it_happened(walk, batch, dispatches):
    walk.post(f"batches/{batch}/holds", {"why": "supplier recall"})

    answer = walk.post(dispatches, {**FOUR, "standing": "happened"})

    assert answer["batch"]["counts"]["sold"] == 4


def test_some_come_back(walk, dispatches, returns):
    walk.post(dispatches, FOUR)

    answer = walk.post(returns, {"count": 1, "state": "buyer cancelled"})

    counts = answer["batch"]["counts"]
    assert (counts["sold"], counts["returned"], counts["alive"]) == (3, 1, 8)
    assert (answer["dispatch"]["returned"], answer["left"]) == (1, 8)


def test_no_more_come_back_than_left(walk, dispatches, returns):
    walk.post(dispatches, FOUR)
    walk.post(returns, {"count": 3})

    problem = walk.refused(returns, {"count": 2})

    assert (problem.status, problem.code) == (409, "contradicts_record")
    assert problem.body["detail"] == "4 left and 3 came back; you entered 2."


def test_nothing_comes_back_of_what_never_left(walk, returns):
    problem = walk.refused(returns, {"count": 1})

    assert problem.status == 404


@pytest.mark.parametrize(("role", "status"), [("keeper", 201), ("auditor", 403)])
def test_who_works_there_hands_animals_over(client, shop, dispatches, role, status):
    other = signed_in(client, shop, make_person(shop, "Ola", role))

    assert other.send("POST", dispatches, FOUR).status_code == status
