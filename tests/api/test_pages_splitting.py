"""Splitting and joining on pages, and where a batch came from."""

import pytest
from django.test import Client

from stock.models import Balance, Batch
from tests.floor import Floor
from tests.visit import Visit, words

pytestmark = pytest.mark.django_db

PLACED = "2027-01-11T08:00:00+00:00"
NOW = "2027-01-12T08:00:00+00:00"


@pytest.fixture(scope="module")
def opened(kept_for_module):
    return Floor.open(
        Client(), "2027-01-11T07:00:00+00:00", zone="Europe/Lisbon", containers=4, kits=4
    )


@pytest.fixture
def batch(floor):
    batch = floor.place(16, "R1-01", "A-1", at=PLACED)
    floor.read("R1-01", "R1-02", at=NOW)
    return batch


@pytest.fixture
def visit(floor, batch):
    return Visit.by(floor.walk.person, NOW)


def split_form(floor, **changes):
    place = {"container": floor.uids["R1-02"], "kit": floor.uids["B-1"]}
    return {"go": "4", "stay": "12", **place, **changes}


def test_a_split_says_before_what_it_would_do(visit, batch):
    page = visit.read("split", batch)

    assert "their next limit is Fri 15 Jan 2027 08:00" in page
    assert "Who stays keeps the limit of Thu 14 Jan 2027 08:00" in page


def test_a_split_makes_two_batches_and_shows_where_they_came_from(visit, floor, batch):
    page = visit.follow(visit.press("split", batch, **split_form(floor)))

    four = Batch.objects.get(stays__container=floor.uids["R1-02"])
    assert four.code in page
    assert Balance.objects.get(holder=four.uid, place="alive").n == 4
    came = visit.read("where-from", four.uid)
    assert "16 placed" in came
    assert "4 split" in came
    assert f"4 into {four.code}" in came
    assert "Sample Atoll Export" in came


def test_parts_that_do_not_add_up_are_refused_beside_the_number(visit, floor, batch):
    answer = visit.press("split", batch, **split_form(floor, go="5"))

    assert answer.status_code in (400, 409)
    assert "the parts add up to 17" in words(answer)
    assert Batch.objects.count() == 1


def test_a_join_says_what_all_together_would_have_and_is_set_aside_by_a_manager(
    visit, floor, batch
):
    other = floor.place(3, "R1-03", "A-2", at=NOW)
    floor.read("R1-01", "R1-03", at=NOW)

    page = visit.read("join", batch)
    refused = visit.press("join", batch, other=other)
    done = visit.press(
        "join",
        batch,
        other=other,
        set_aside="joins_running_series",
        why_aside="the other container leaks",
    )

    assert "limit Thu 14 Jan 2027 08:00" in page
    assert "a running series is lost" in page
    assert "adding fish restarts all 19" in words(refused)
    assert "19" in visit.follow(done)
    joined = Batch.objects.get(closed_at=None)
    assert Balance.objects.get(holder=joined.uid, place="alive").n == 19


def test_nobody_is_split_out_of_a_batch_that_is_closed(visit, floor, batch):
    visit.press("split", batch, **split_form(floor))

    assert "Nobody of this batch is here any more" in words(visit.get("split", batch))
