"""S-23: neighbours within three metres."""

from datetime import datetime, timedelta

import pytest
from django.test import Client

from tests.certified import kept
from tests.floor import Floor

READY = datetime.fromisoformat("2027-03-01T08:00:00+01:00")
PLACED = READY + timedelta(hours=1)
SEEN = datetime.fromisoformat("2027-03-02T09:00:00+01:00")
LATER = SEEN + timedelta(hours=2)
# Metres from R1-01, which has an air stone and no lid.
APART = {"R1-02": "0.6", "R1-03": "2.4", "R1-04": "6"}
LID = {"R1-01": False, "R1-02": True, "R1-03": True, "R1-04": True}


@pytest.fixture(scope="module")
def story(django_db_setup, django_db_blocker):
    """Five in each of four containers, and velvet suspected in the first."""
    with kept(django_db_blocker):
        floor = Floor.open(Client(), READY.isoformat(), containers=4, kits=4)
        for label, lid in LID.items():
            stand(floor, label, APART.get(label, "0"), lid)
        kits = ("A-1", "B-1", "A-2", "B-2")
        batches = {
            label: floor.place(5, label, kit, at=PLACED)
            for label, kit in zip(LID, kits, strict=True)
        }
        body = {"signs": ["velvet"], "affected": 1}
        sign = floor.walk.at(SEEN).post(f"batches/{batches['R1-01']}/signs", body)
        yield floor, batches, sign


@pytest.fixture(autouse=True)
def _under_the_test_clock(db, settings):
    settings.TEST_CLOCK = True


@pytest.fixture
def floor(story):
    story[0].walk.at(SEEN)
    return story[0]


@pytest.fixture
def batches(story):
    return story[1]


@pytest.fixture
def sign(story):
    return story[2]


def stand(floor, label, x_m, lid):
    uid = floor.uids[label]
    answer = floor.walk.send("GET", f"containers/{uid}")
    rack = answer.json()["container"]["rack"]
    body = {"label": label, "rack": rack, "x_m": x_m, "fill_mark_l": "60", "lid": lid}
    etag = answer.headers["ETag"]
    changed = floor.walk.send("PUT", f"containers/{uid}", body, **{"If-Match": etag})
    assert changed.status_code < 300, changed.content


def splash(floor):
    """Splash marks on the lid of R1-02: somebody saw them."""
    ends = {"from": floor.uids["R1-01"], "to": floor.uids["R1-02"]}
    return floor.walk.at(SEEN).post("contacts", {**ends, "way": "splash"})


def proximities(answer):
    rows = [one for one in answer["deviations"] if one["rule"] == "proximity"]
    return {one["batch"]: one for one in rows}


def test_s23_1_the_map_says_who_stands_within_the_distance(floor):
    near = floor.walk.get(f"containers/{floor.uids['R1-01']}/neighbours")["containers"]

    assert [(one["label"], one["metres"], one["lid"]) for one in near] == [
        ("R1-02", "0.60", True),
        ("R1-03", "2.40", True),
    ]


def test_s23_1_those_are_possibly_exposed_and_the_far_one_is_not(batches, sign):
    assert set(proximities(sign)) == {batches["R1-02"], batches["R1-03"]}
    assert {one["batch"]: one["grade"] for one in sign["exposures"]} == {
        batches["R1-02"]: "possible",
        batches["R1-03"]: "possible",
    }


def test_s23_1_and_where_splashes_were_seen_that_is_said_too(floor, batches, sign):
    told = splash(floor)

    ways = {one["way"] for one in told["exposures"] if one["batch"] == batches["R1-02"]}
    assert ways == {"proximity", "splash"}


def test_s23_2_proximity_alone_breaks_nothing(floor, batches, sign):
    batch = floor.batch(batches["R1-03"], LATER)
    check = floor.walk.get(f"batches/{batches['R1-03']}/certificate-check")

    assert batch["series"]["state"] == "unbroken"
    assert ("proximity", False) in [(one["rule"], one["blocks"]) for one in check["reasons"]]


def test_s23_2_a_splash_blocks_the_certificate_until_it_is_decided(floor, batches, sign):
    (deviation,) = [one for one in splash(floor)["deviations"] if one["rule"] == "splash_seen"]
    here = f"batches/{batches['R1-02']}/certificate-check"
    rules = [one["rule"] for one in floor.walk.get(here)["reasons"] if one["blocks"]]
    other = floor.walk.as_person("Eve", "manager").at(LATER)
    body = {"decision": "keep", "known": deviation["numbers"], "reason": "the lid was shut"}
    other.post(f"deviations/{deviation['uid']}/decisions", body)

    left = [one["rule"] for one in floor.walk.at(LATER).get(here)["reasons"] if one["blocks"]]

    assert ("splash_seen" in rules, "splash_seen" in left) == (True, False)


def test_s23_3_the_review_shows_what_is_known(floor, batches, sign):
    numbers = proximities(sign)[batches["R1-02"]]["numbers"]

    assert numbers["metres"] == "0.60"
    assert (numbers["lid"], numbers["air_stone"], numbers["own_lid"]) == (False, True, True)
    assert numbers["together_from"] == "2027-03-01T08:00:00Z"
    assert numbers["together_until"] is None


def test_s23_4_another_distance_rewrites_nothing(floor, batches, sign):
    here = f"sites/{floor.walk.site}/rules"
    etag = floor.walk.at(LATER).send("GET", here).headers["ETag"]
    body = {"rules": {"neighbour_m": "0.5"}}
    answer = floor.walk.send("PUT", here, body, **{"If-Match": etag})
    again = LATER + timedelta(hours=1)
    rules = [one["rule"] for one in floor.batch(batches["R1-03"], again)["deviations"]]
    near = floor.walk.get(f"containers/{floor.uids['R1-01']}/neighbours")["containers"]

    assert answer.status_code < 300
    assert (rules, near) == (["proximity"], [])
