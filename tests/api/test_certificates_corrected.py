"""What becomes of a certificate when a report that it relied on is corrected afterwards.

Of twenty-one one is dead on arrival, twenty are placed, one is told dead, nineteen are
certified. Each story then corrects one earlier report.
"""

import pytest
from django.test import Client

from stock.models import Fact
from tests.certified import (
    HOUR,
    OBSERVED,
    PLACED,
    Buyer,
    certify,
    kept,
    lose,
    move_on,
    open_floor,
)


@pytest.fixture(scope="module")
def story(django_db_setup, django_db_blocker):
    with kept(django_db_blocker):
        floor = open_floor(Client())
        line = floor.receive(21, at=PLACED, doa=1)
        batch = floor.place(20, "R1-01", "A-1", at=PLACED, line=line)
        lose(floor, batch, 1, at=PLACED + 10 * HOUR)
        end = move_on(floor, batch, 19)
        floor.walk.at(end + OBSERVED + HOUR)
        issued = certify(floor, batch, 19)
        floor.walk.at(end + OBSERVED + 2 * HOUR)
        yield floor, batch, issued


@pytest.fixture(autouse=True)
def _under_the_test_clock(story, db, settings):
    settings.TEST_CLOCK = True


@pytest.fixture
def floor(story):
    return story[0]


@pytest.fixture
def walk(story):
    return story[0].walk


@pytest.fixture
def batch(story):
    return story[1]


@pytest.fixture
def issued(story):
    return story[2]


@pytest.fixture
def now(walk, issued):
    """What a buyer reads: the state, and how many are still under it."""

    def read():
        said = Buyer(walk.now).data(issued["url"])["now"]
        return said["state"], said["count"]

    return read


@pytest.fixture
def species_told(walk, batch):
    """Says of the line of the batch that it is this species."""
    line = facts("line_counted")[0].body["line"]

    def tell(uid):
        return walk.post(f"lines/{line}/species", {"species": uid})

    return tell


def facts(kind):
    return list(Fact.objects.filter(kind=kind).order_by("seq"))


def correct(walk, fact, field, new):
    body = {"field": field, "new": new, "reason": "read the slip again"}
    return walk.post(f"facts/{fact.uid}/corrections", body)


def other_species(walk):
    return walk.post("species", {"scientific_name": "Chromis viridis"})["species"]["uid"]


def test_another_species_suspends_it_and_the_buyer_reads_so(walk, issued, now, species_told):
    species_told(other_species(walk))

    page = Buyer(walk.now).page(issued["url"])
    assert now() == ("suspended", 19)
    assert "Being checked" in page
    assert "Chromis" not in page
    assert [one.body["cause"] for one in facts("certificate_suspended")] == [
        "Being checked: species differs."
    ]


def test_the_first_species_said_again_lifts_it(floor, walk, now, species_told):
    species_told(other_species(walk))
    species_told(floor.species)

    assert now() == ("valid", 19)
    assert len(facts("certificate_lifted")) == 1


def test_the_same_species_said_again_is_no_news(floor, now, species_told):
    species_told(floor.species)

    assert now() == ("valid", 19)
    assert facts("certificate_suspended") == []


def test_a_certificate_with_the_right_species_takes_its_place(
    floor, walk, batch, issued, now, species_told
):
    species_told(other_species(walk))
    reason = {"reason": "wrong species"}
    walk.post(f"certificates/{issued['uid']}/supersessions", reason)
    again = certify(floor, batch, 19)

    said = Buyer(walk.now)
    quarantine = said.verified(said.token(again["url"]))["credentialSubject"]["quarantine"]
    assert now()[0] == "superseded"
    assert again["state"] == "valid"
    assert quarantine["species"][0]["scientific_name"] == "Chromis viridis"


def taken_back(walk, fact, why):
    """Withdrawn by a second person: by whoever told it alone it would still stand."""
    return walk.as_person("Otto", "manager").post(
        f"facts/{fact.uid}/withdrawals", {"reason": why}
    )


def test_a_loss_that_was_none_certifies_nobody_whom_no_move_counted(walk, batch, issued, now):
    taken_back(walk, facts("loss_recorded")[0], "another container")
    decide_all(walk, batch)
    for_twenty = {"reason": "one more", "count": 20}
    refused = walk.refused(f"certificates/{issued['uid']}/supersessions", for_twenty)

    assert walk.get(f"batches/{batch}")["batch"]["counts"]["alive"] == 20
    assert now() == ("valid", 19)
    told = [(one["code"], one["numbers"]) for one in refused.body["reasons"] if one["blocks"]]
    assert told == [("too_few_alive", {"could_be": 19, "entered": 20})]


def decide_all(walk, batch):
    """Every count that differs is kept as it is."""
    asked = walk.get(f"deviations?site={walk.site}&open=true")["deviations"]
    differing = [one for one in asked if one["rule"] == "count_differs"]
    assert len(differing) == 5
    for one in differing:
        said = {"decision": "keep", "known": one["numbers"], "reason": "looked again"}
        walk.as_person("Pia", "manager").post(f"deviations/{one['uid']}/decisions", said)


def test_dryness_that_nobody_saw_suspends_it_and_the_buyer_reads_so(walk, issued, now):
    taken_back(walk, facts("seen_dry")[0], "they were still wet")

    page = Buyer(walk.now).page(issued["url"])
    assert now() == ("suspended", 19)
    assert "Being checked" in page
    assert "still wet" not in page


def test_a_move_that_was_later_than_told_suspends_it(walk, now):
    correct(walk, facts("batch_moved")[1], "performed_at", (PLACED + 150 * HOUR).isoformat())

    assert now() == ("suspended", 19)


def test_a_sign_told_late_by_a_tablet_suspends_it(walk, batch, now):
    seen = (PLACED + 400 * HOUR).isoformat()
    late = {"signs": ["white_spots"], "affected": 1, "performed_at": seen}
    walk.post(f"batches/{batch}/signs", {**late, "reason": "tablet was without network"})

    assert now() == ("suspended", 19)


def test_dead_on_arrival_that_lives_is_under_no_certificate(walk, batch, now):
    line = facts("line_counted")[0].body["line"]
    told = {"count": 1, "evidence": "it breathes"}
    left = walk.post(f"lines/{line}/doa-reversals", told)["line"]["left"]

    assert left == 1
    assert now() == ("valid", 19)
