"""Whom a fact reaches, found in two ways: by marks, and by judging everything."""

from datetime import timedelta
from io import StringIO
from uuid import UUID

import pytest
from django.core.management import CommandError, call_command

from stock import clock, rejudge
from stock.doors.questions import withdraw_fact
from stock.doors.signs import record_contact, record_sign
from stock.doors.things import SORTS, change_thing
from stock.models import Batch, Container, DeviationRow, writing_projections
from tests.make import (
    START,
    asking,
    make_batch,
    make_container,
    make_person,
    make_rack,
    make_shop,
    move,
)

pytestmark = pytest.mark.django_db

HOUR = timedelta(hours=1)


@pytest.fixture
def shop():
    return make_shop()


@pytest.fixture
def first(shop):
    """In the first container of a rack."""
    return make_batch(shop, 12, container=make_container(shop, "R1-01", rack=make_rack(shop)))


@pytest.fixture
def second(shop, first):
    """In another one of the same rack."""
    rack = Container.objects.get(label="R1-01").rack_id
    return make_batch(shop, 9, container=make_container(shop, "R1-02", rack=rack))


@pytest.fixture
def far(shop):
    """In another room."""
    return make_batch(shop, 5)


def told(shop, hours, door, by=None, **what):
    """Tell it so many hours after the start; whom it reached."""
    at = START + hours * HOUR
    asked = asking(by or shop.manager, at, reason="so it was")
    answer, reached = rejudge.reach_of(lambda: door(asked, **what), at)
    assert reached.missed == frozenset()
    return answer, set(reached.changed)


def sign(shop, batch, hours=1):
    return told(shop, hours, record_sign, batch=batch, signs=["velvet"], affected=1)


def near(batch):
    return DeviationRow.objects.filter(batch=batch, rule="proximity").exists()


def test_a_sign_reaches_whoever_stands_near_though_nobody_names_them(shop, first, second, far):
    _, changed = sign(shop, first)

    assert changed == {first, second}
    assert near(second)
    assert not near(far)


def test_taken_back_by_a_second_person_it_was_never_near(shop, first, second):
    answer, _ = sign(shop, first)
    uid = UUID(str(answer.body["fact"]["uid"]))

    other = make_person(shop, "Eve", "manager")
    _, changed = told(shop, 2, withdraw_fact, by=other, fact=uid)

    assert changed == {first, second}
    assert not near(second)


def test_who_moves_beside_them_later_is_reached_as_well(shop, first, second, far):
    sign(shop, first)
    rack = Container.objects.get(label="R1-01").rack_id
    target = make_container(shop, "R1-03", rack=rack)

    at = START + 2 * HOUR
    _, reached = rejudge.reach_of(lambda: move(shop, far, (5,), at=at, container=target), at)

    assert (reached.missed, set(reached.changed)) == (frozenset(), {far})
    assert near(far)


def test_where_a_container_stood_at_the_sign_does_not_change_by_moving_it(shop, first, second):
    sign(shop, first)
    row = Container.objects.get(label="R1-02")
    body = {"label": "R1-02", "rack": str(row.rack_id), "x_m": "40", "y_m": "0", "z_m": "0"}
    more = {"fill_mark_l": "60", "shape": "box", "lid": True, "air_stone": True, "in_use": True}

    _, changed = told(
        shop,
        3,
        change_thing,
        sort=SORTS["containers"],
        uid=row.uid,
        version=row.version,
        body=body | more,
    )

    assert changed == set()
    assert near(second)


def test_a_contact_reaches_whom_it_went_to(shop, first, second):
    where = Container.objects.get(label="R1-02").uid

    _, changed = told(shop, 1, record_contact, begin=first, end=where, way="tool", thing=None)

    assert changed == {second}


def test_a_judgement_that_nobody_marked_and_that_is_wrong_is_found(shop, first):
    at = START + HOUR
    assert rejudge.compare(at).missed == []
    code = Batch.objects.get(uid=first).code
    with writing_projections():
        Batch.objects.filter(uid=first).update(moves=3, stale=False, fresh_until=None)

    wrong = rejudge.compare(at)
    with writing_projections():
        Batch.objects.filter(uid=first).update(stale=True)

    assert (wrong.missed, rejudge.compare(at).missed) == ([code], [])
    assert rejudge.compare(at).differing == (code,)


def test_the_command_says_which(shop):
    first = make_batch(shop, 12, at=clock.now() - HOUR)
    said = StringIO()
    call_command("rejudge", check=True, stdout=said)
    with writing_projections():
        Batch.objects.filter(uid=first).update(moves=3, stale=False, fresh_until=None)

    with pytest.raises(CommandError, match=Batch.objects.get(uid=first).code):
        call_command("rejudge", check=True)
    assert "1 judged anew" in said.getvalue()
