"""S-27: certified fish put into an untreated system."""

from datetime import datetime, timedelta

import pytest
from django.test import Client

from tests.certified import Buyer, certify, kept, move_on, open_floor

PLACED = datetime.fromisoformat("2027-02-08T09:00:00+01:00")
ISSUED = "2027-03-12T09:00:00+01:00"
PUT_IN = "2027-03-13T14:00:00+01:00"
MOVED_BACK = datetime.fromisoformat("2027-03-14T09:00:00+01:00")
GIVEN = {"containers": ("label", "rack", "x_m", "fill_mark_l"), "systems": ("label", "status")}
HOLDING, SALES = ("R1-06", "R1-07"), ("R1-08", "R1-09")


@pytest.fixture(scope="module")
def story(django_db_setup, django_db_blocker):
    """Twelve cardinals certified; four of them go into the sales system, eight stay."""
    with kept(django_db_blocker):
        floor = open_floor(Client(), PLACED, containers=9, kits=10)
        share(floor, "Holding", "clean", *HOLDING)
        share(floor, "Sales", "untreated", *SALES)
        batch = floor.place(12, "R1-01", "A-1", at=PLACED)
        move_on(floor, batch, 12, placed=PLACED)
        floor.walk.at(ISSUED)
        issued = certify(floor, batch, 12)
        floor.read("R1-06", "R1-08", at=PUT_IN)
        go = {"count": 4, "to_container": floor.uids["R1-08"], "kit": floor.uids["A-4"]}
        told = floor.walk.post(f"batches/{batch}/splits", {"parts": [{"count": 8}, go]})
        yield floor, issued, [one["uid"] for one in told["children"]]


def share(floor, label, status, *containers):
    """These containers share the water of one system."""
    here = f"sites/{floor.walk.site}"
    body = {"label": label, "status": status}
    floor.uids[label] = floor.walk.post(f"{here}/systems", body)["system"]["uid"]
    for one in containers:
        change(floor, "containers", one, system=floor.uids[label])


def change(floor, sort, label, **fields):
    path = f"{sort}/{floor.uids[label]}"
    seen = floor.walk.send("GET", path)
    shown = seen.json()[sort.removesuffix("s")]
    body = {name: shown[name] for name in GIVEN[sort]} | fields
    answer = floor.walk.send("PUT", path, body, **{"If-Match": seen["ETag"]})
    assert answer.status_code == 201, answer.content


@pytest.fixture(autouse=True)
def _under_the_test_clock(story, db, settings):
    settings.TEST_CLOCK = True


@pytest.fixture
def floor(story):
    return story[0].again()


@pytest.fixture
def issued(story):
    return story[1]


@pytest.fixture
def eight(story):
    return story[2][0]


@pytest.fixture
def four(story):
    return story[2][1]


@pytest.fixture
def buyer():
    return Buyer(PUT_IN)


def later(floor):
    """The next morning, the four moved out and both waters read."""
    floor.walk.at(MOVED_BACK)
    floor.read("R1-07", "R1-08", at=MOVED_BACK)
    return Buyer(MOVED_BACK.isoformat())


def back(floor, four, **more):
    body = floor.move_body(four, "R1-07", "B-4", [4])
    return floor.walk.post(f"batches/{four}/moves", {**body, **more})


def test_s27_1_for_the_four_it_ends_at_that_moment_and_is_not_revoked(buyer, issued):
    data = buyer.data(issued["url"])

    (ended,) = data["since"]
    assert (ended["state"], ended["count"]) == ("ended", 4)
    assert datetime.fromisoformat(ended["at"]) == datetime.fromisoformat(PUT_IN)
    assert data["now"]["state"] == "partly"
    assert not buyer.is_set("revocation", data["credential"])


def test_s27_2_the_eight_keep_theirs_and_the_page_says_both_numbers(buyer, issued):
    page = buyer.page(issued["url"])

    assert buyer.data(issued["url"])["now"]["count"] == 8
    assert "This record stands for 8 of 12" in page
    assert "left certified conditions" in page


def test_s27_2_a_death_among_the_four_takes_nothing_from_the_eight(floor, four, issued):
    dead = {"batch": four, "fate": "dead", "count": 1, "cause": ["unknown"]}
    floor.walk.post("losses", {"lines": [dead]})

    assert Buyer(PUT_IN).data(issued["url"])["now"]["count"] == 8


def test_s27_2_the_four_are_not_certified_again(floor, four):
    found = floor.walk.get(f"batches/{four}/certificate-check")

    assert "untreated_water" in [one["code"] for one in found["reasons"] if one["blocks"]]


def test_s27_3_moving_them_back_is_refused(floor, four):
    later(floor)

    problem = floor.refused_move(four, "R1-07", "B-4", [4])

    assert (problem.status, problem.code) == (409, "untreated_water")
    assert problem.body["reasons"][0]["numbers"] == {"system": "Holding", "batches": 1}


def test_s27_3_done_all_the_same_it_ends_the_status_of_the_others(floor, four, issued):
    buyer = later(floor)

    back(floor, four, standing="happened")

    system = floor.walk.get(f"systems/{floor.uids['Holding']}")["system"]
    assert system["status"] == "untreated"
    assert buyer.data(issued["url"])["now"]["state"] == "ended"


def test_s27_4_shared_water_is_one_status_for_all_its_tanks(floor, eight, issued):
    later(floor)

    change(floor, "systems", "Holding", status="untreated")

    now = floor.walk.get(f"certificates/{issued['uid']}")["certificate"]
    assert (now["state"], now["count_now"]) == ("ended", 0)


def test_s27_4_new_animals_do_not_enter_clean_water_that_others_share(floor):
    floor.walk.at(MOVED_BACK - timedelta(hours=1))
    line = floor.receive(3, at=MOVED_BACK - timedelta(hours=1))
    floor.read("R1-07", at=MOVED_BACK - timedelta(hours=1))
    body = {"container": floor.uids["R1-07"], "counts": [3]}

    problem = floor.walk.refused("batches", {**body, "from": [{"line": line, "count": 3}]})

    assert "untreated_water" in [one["code"] for one in problem.body["reasons"]]
