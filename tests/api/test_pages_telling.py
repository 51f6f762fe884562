"""What people tell on the page of a batch: losses, counts, signs, holds, the missing."""

import pytest
from django.test import Client
from django.urls import reverse

from stock.models import Balance, HoldRow, Loss, Missing, StayRow
from tests.floor import Floor
from tests.visit import Visit, words

pytestmark = pytest.mark.django_db

PLACED = "2027-01-11T08:00:00+00:00"
LATER = "2027-01-14T07:40:00+00:00"


@pytest.fixture(scope="module")
def opened(kept_for_module):
    return Floor.open(
        Client(), "2027-01-11T07:00:00+00:00", zone="Europe/Lisbon", containers=3, kits=3
    )


@pytest.fixture
def batch(floor):
    return floor.place(16, "R1-01", "A-1", at=PLACED)


@pytest.fixture
def visit(floor, batch):
    return Visit.by(floor.walk.person, LATER)


@pytest.fixture
def waters(floor, batch):
    floor.read("R1-01", "R1-02", at=LATER)


def moving(floor, batch, **changes):
    given = {
        "container": floor.uids["R1-02"],
        "kit": floor.uids["B-1"],
        "count": "16",
        "ended_stay": str(StayRow.objects.get(batch=batch, ended_latest=None).uid),
    }
    return {**given, **changes}


def alive(batch):
    return Balance.objects.get(holder=batch, place="alive").n


# -- Losses, counts, signs, holds --------------------------------------------------------------


def test_a_loss_keeps_when_it_was_found_and_last_seen_alive(visit, batch):
    answer = visit.press(
        "loss",
        batch,
        count="1",
        fate="dead",
        cause="unknown",
        when="2027-01-14T07:35",
        seen="2027-01-13T19:10",
    )

    assert "1 dead." in visit.follow(answer)
    loss = Loss.objects.get()
    assert (loss.found_at.isoformat(), loss.last_seen_at.isoformat()) == (
        "2027-01-14T07:35:00+00:00",
        "2027-01-13T19:10:00+00:00",
    )
    assert alive(batch) == 15


@pytest.mark.parametrize("count", ["0", "-1", "1.5", "one", "", "17"])
def test_a_loss_that_cannot_be_is_refused_at_its_field(visit, batch, count):
    answer = visit.press("loss", batch, count=count, fate="dead", cause="unknown")

    assert answer.status_code in (400, 409)
    assert answer.context["form"].errors["count"]
    assert alive(batch) == 16


def test_a_sign_makes_all_of_them_suspected_and_asks(visit, batch):
    answer = visit.press("sign", batch, signs=["white_spots"], affected="2")

    text = visit.follow(answer)
    assert "All of them are suspected: they share water." in text
    assert "Sign seen. 2 affected" in text


def test_a_sign_of_nothing_is_refused(visit, batch):
    answer = visit.press("sign", batch, affected="2")

    assert "Say what is seen." in words(answer)


def test_a_count_on_its_own_is_typed_blind(visit, batch):
    visit.at = "2027-01-12T08:00:00+00:00"

    wrong = visit.press("count-batch", batch, count="15")
    right = visit.press("count-batch", batch, count="16", earlier="15")

    assert "Count again." in words(wrong)
    assert "Counted 16." in visit.follow(right)


def test_a_hold_stands_on_the_page_until_it_is_lifted(visit, batch):
    held = visit.follow(visit.press("hold", batch, why="Scratching."))
    lifted = visit.press("lift-hold", HoldRow.objects.get().fact, why="It was sand.")

    assert "Nothing of this batch is certified or leaves. Scratching." in held
    assert "Scratching." not in visit.follow(lifted)


def test_the_missing_are_found_again(floor, visit, batch, waters):
    visit.press("move", batch, **moving(floor, batch, count="15", missing="1"))

    answer = visit.press(
        "found",
        Missing.objects.get().fact,
        count="1",
        container=floor.uids["R1-02"],
        alive="yes",
    )

    assert "Found, and no longer searched for." in visit.follow(answer)
    assert alive(batch) == 16


def test_the_missing_are_not_presumed_lost_too_early(floor, visit, batch, waters):
    visit.press("move", batch, **moving(floor, batch, count="15", missing="1"))

    answer = visit.press("presume-lost", Missing.objects.get().fact, count="1", why="No trace.")

    assert answer.status_code == 409
    assert "it is too early to presume them lost" in words(answer)


# -- History and roles -------------------------------------------------------------------------


def test_the_history_says_what_was_told_by_whom(floor, visit, batch):
    visit.press("loss", batch, count="1", fate="dead", cause="jump", note="On the floor.")

    text = visit.read("history", batch)

    assert "1 dead, jump On the floor. mara" in text
    assert "16 placed in R1-01 with kit A-1" in text


def test_an_auditor_reads_and_tells_nothing(floor, batch):
    visit = Visit.by(floor.walk.as_person("Otto", "auditor").person, LATER)

    text = visit.read("batch", batch)

    assert "Move them" not in text
    assert "Record a loss" not in text
    assert visit.get("move", batch).status_code == 403
    assert visit.press("loss", batch, count="1").status_code == 403


def test_a_keeper_does_not_hold(floor, batch):
    visit = Visit.by(floor.walk.as_person("Kim", "keeper").person, LATER)

    assert "Hold it" not in visit.read("batch", batch)
    assert visit.press("hold", batch, why="Because.").status_code == 403


def test_a_closed_batch_is_not_moved(visit, batch):
    visit.press("loss", batch, count="16", fate="dead", cause="unknown")

    answer = visit.get("move", batch)

    assert answer.status_code == 409
    assert "Nobody of this batch is here any more." in words(answer)
    assert reverse("move", args=[batch]) not in visit.get("batch", batch).content.decode()
