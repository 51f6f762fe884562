"""S-28: the certificate must not promise too much."""

from datetime import datetime

import pytest
from django.test import Client

from tests.certified import PLACED, Buyer, certify, kept, ready_floor

COPPER = {"product": "copper sulfate", "amount": "0.2", "unit": "mg/L"}
TREATED = PLACED.replace(hour=15)


@pytest.fixture(scope="module")
def story(django_db_setup, django_db_blocker):
    """Moves and 14 days of observation; copper once, in the first container."""
    with kept(django_db_blocker):
        floor, batch = ready_floor(Client())
        ready = floor.walk.now
        told = {**COPPER, "performed_at": TREATED.isoformat(), "reason": "forgot the tablet"}
        floor.walk.post(f"containers/{floor.uids['R1-01']}/doses", told)
        yield floor, batch, ready


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
def buyer(story):
    return Buyer(story[2])


def refused(floor, batch, text):
    """Why these words may not be added: by which rule, and what it says."""
    problem = floor.walk.refused(f"batches/{batch}/certificates", {"count": 20, "adds": text})
    assert problem.status == 409
    assert {one["pointer"] for one in problem.body["reasons"]} == {"/adds"}
    return {one["text"] for one in problem.body["reasons"]}


def test_s28_1_it_lists_what_was_done_and_what_it_addresses(floor, batch, buyer):
    data = buyer.data(certify(floor, batch, 20)["url"])

    assert len(data["moves"]) == 5
    assert data["observation"]["started_at"] < data["observation"]["ended_at"]
    assert data["addresses"] == ["Cryptocaryon irritans (marine white spot)"]


def test_s28_2_it_says_plainly_what_was_not_treated(floor, batch, buyer):
    page = buyer.page(certify(floor, batch, 20)["url"])

    for ailment in ("velvet (Amyloodinium", "flukes on skin and gills", "Brooklynella"):
        assert ailment in page


def test_s28_3_words_that_contradict_the_record_are_refused(floor, batch):
    told = refused(floor, batch, "Free of all parasites.")

    assert "No treatment against flukes is recorded." in told
    assert "No treatment against velvet is recorded." in told
    assert not any("white spot" in one for one in told)


def test_s28_4_a_treatment_is_a_dated_step_with_product_and_dose(floor, batch, buyer):
    url = certify(floor, batch, 20)["url"]

    (step,) = buyer.data(url)["treatments"]
    assert (step["product"], step["dose"]) == ("copper sulfate", "0.2 mg/L")
    assert datetime.fromisoformat(step["at"]) == TREATED
    assert "copper sulfate" in buyer.page(url)


def test_s28_5_words_that_the_record_bears_out_stand_on_it_as_the_sellers(floor, batch, buyer):
    words = "Copper once, on the first day. Eats frozen mysis. <b>"
    body = {"count": 20, "adds": words}

    url = floor.walk.post(f"batches/{batch}/certificates", body)["certificate"]["url"]

    signed = buyer.verified(buyer.token(url))["credentialSubject"]["quarantine"]
    assert signed["seller_adds"] == words
    assert "Eats frozen mysis. &lt;b&gt;" in buyer.page(url)
