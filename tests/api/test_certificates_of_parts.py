"""What a certificate says of animals that were split off, or put in with others."""

import pytest
from django.test import Client

from stock.queries.certified import SHARED
from tests.certified import certify, kept, ready_floor

pytestmark = pytest.mark.django_db


@pytest.fixture(scope="module")
def certified(django_db_setup, django_db_blocker):
    """Twelve of twenty that were observed together, certified after the others left them."""
    with kept(django_db_blocker):
        floor, batch = ready_floor(Client())
        stays = {"count": 12}
        goes = {"count": 8, "to_container": floor.uids["R1-01"], "kit": floor.uids["A-1"]}
        told = floor.walk.post(
            f"batches/{batch}/splits", {"parts": [stays, goes], "standing": "happened"}
        )
        yield floor, told["children"][0]["uid"], told["children"][1]["uid"]


@pytest.fixture
def shown(certified, client, settings):
    settings.TEST_CLOCK = True
    floor, twelve, _ = certified
    made = certify(floor, twelve, 12)
    answer = client.get(
        made["url"], headers={"Accept": "application/json", "Fillmark-Now": floor.walk.now}
    )
    return answer.json()


def test_it_counts_its_own_and_says_that_others_went_elsewhere(shown):
    counts = shown["counts"]

    assert (counts["received"], counts["placed"], counts["certified"]) == (20, 12, 12)
    assert SHARED in str(shown["credential"])


def test_it_tells_of_every_move_they_made_together(shown):
    assert [one["verdict"] for one in shown["moves"]] == ["on_time"] * 5


def test_nothing_speaks_against_it_afterwards(shown):
    assert (shown["now"]["state"], shown["now"]["count"]) == ("valid", 12)


def test_those_who_left_into_what_was_not_ready_are_not_certified_yet(certified, settings):
    settings.TEST_CLOCK = True
    floor, _, eight = certified

    found = floor.walk.get(f"batches/{eight}/certificate-check")

    assert found["may_be_issued"] is False
