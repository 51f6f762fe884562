"""What had to be done to a place at once is looked at by a manager, for whoever stood there."""

from datetime import timedelta

import pytest

from protocols.values import Standing
from stock import rebuild, rejudge
from stock.doors.care import care_for
from stock.doors.kits import Disinfection, disinfect
from stock.doors.questions import decide_deviation
from stock.judging.load import judged
from stock.models import Batch, DeviationRow, Task
from tests.make import START, asking, make_batch, make_container, make_person, make_shop, move
from tests.stock.telling import HOUR, NOON

pytestmark = pytest.mark.django_db
EMERGENCY = {"standing": Standing.EMERGENCY}
DOSE = {"product": "dechlorinator", "amount": "5", "unit": "mL"}


@pytest.fixture
def shop(db):
    return make_shop()


@pytest.fixture
def ola(shop):
    return make_person(shop, "Ola", "keeper")


@pytest.fixture
def here(shop):
    """A container with a batch in it."""
    container = make_container(shop, "R1-01")
    return container, make_batch(shop, container=container)


def dosed(who, container, at=NOON, **how):
    return care_for(asking(who, at, **how), container=container, care="doses", body=DOSE)


def reviews(batch, at=NOON + HOUR):
    found = judged(batch, at).deviations
    return [one for one in found if one.rule == "emergency_review" and one.is_open]


def test_a_dose_at_once_is_reviewed_for_who_stood_there_and_nobody_else(shop, ola, here):
    container, batch = here
    other = make_batch(shop)

    answer = dosed(ola, container, **EMERGENCY)

    assert [one["rule"] for one in answer.body["deviations"]] == ["emergency_review"]
    assert [len(reviews(one)) for one in (batch, other)] == [1, 0]
    assert Batch.objects.get(uid=batch).series_state == "unproven"
    assert rebuild.check(NOON + HOUR) + rejudge.check(NOON + HOUR) == []


def test_the_same_dose_in_its_course_asks_nothing(ola, here):
    container, batch = here

    dosed(ola, container)

    assert reviews(batch) == []


def test_it_is_to_be_reviewed_within_the_hours_of_the_site(ola, here):
    dosed(ola, here[0], **EMERGENCY)

    (task,) = Task.objects.filter(what="decide", key__contains="emergency_review")
    assert task.limit == NOON + timedelta(hours=12)


def test_a_manager_who_did_not_do_it_closes_it(shop, ola, here):
    container, batch = here
    dosed(ola, container, **EMERGENCY)
    row = DeviationRow.objects.get(rule="emergency_review")

    decide_deviation(
        asking(shop.manager, NOON + HOUR, reason="Chlorine in the mains."),
        deviation=row.uid,
        decision="keep",
        known={},
        from_this_stay=False,
    )

    assert reviews(batch) == []
    assert not Task.objects.filter(key__contains="emergency_review", state="open").exists()


def test_who_had_left_by_then_is_not_asked_about(shop, ola, here):
    container, batch = here
    move(shop, batch, (20,), at=NOON)

    dosed(ola, container, at=NOON + HOUR, **EMERGENCY)

    assert reviews(batch, NOON + 2 * HOUR) == []


def test_what_was_disinfected_around_animals_is_reviewed(shop, ola, here):
    container, batch = here
    done = Disinfection(True, "chlorine", "200", True, START, NOON, rinsed=True)

    disinfect(asking(ola, NOON, **EMERGENCY), site=shop.site, subjects=[container], done=done)

    assert len(reviews(batch)) == 1
