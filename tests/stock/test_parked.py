"""What was parked is tried again when something new is told of what it speaks of."""

import pytest

from stock import rebuild, rejudge
from stock.apply.counts import balances
from stock.models import Parked, StayRow
from tests.make import START, make, make_batch, make_shop, move
from tests.stock.telling import HAPPENED, HOUR, NOON, bear, lose

pytestmark = pytest.mark.django_db
LATE = START + 80 * HOUR


@pytest.fixture
def shop(db):
    return make_shop()


def test_a_loss_that_was_too_many_fits_once_more_are_known_to_live(shop):
    batch = make_batch(shop, 3)
    lose(shop, batch, 4, at=NOON + HOUR, **HAPPENED)
    assert Parked.objects.count() == 1

    answer = bear(shop, batch, 2, at=NOON + HOUR, performed_at=NOON, **HAPPENED)

    assert answer.body["fact"]["parked"] is False
    assert not Parked.objects.exists()
    assert balances(batch)["alive"] == 1
    assert balances(batch)["dead"] == 4


def test_what_still_does_not_fit_stays_parked(shop):
    batch = make_batch(shop, 3)
    lose(shop, batch, 9, at=NOON + HOUR, **HAPPENED)

    bear(shop, batch, 2, at=NOON + HOUR, **HAPPENED)

    assert Parked.objects.count() == 1
    assert balances(batch)["alive"] == 5


def test_a_move_with_a_kit_told_before_that_kit_was_known_to_be_free_fits_afterwards(shop):
    # One batch gets the kit that the other has left; the tablets send in the wrong order.
    kit = make(shop, "kits", "A-9", needs=[])
    first, second = make_batch(shop, 5, kit=kit), make_batch(shop, 6)
    moved = START + 60 * HOUR
    told = move(shop, second, (6,), at=moved + HOUR, kit=kit, **HAPPENED)
    assert told.body["fact"]["parked"] is True

    move(shop, first, (5,), at=moved + HOUR, performed_at=moved, **HAPPENED)

    assert not Parked.objects.exists()
    assert StayRow.objects.get(batch=second, ended_latest=None).kit_id == kit
    assert rejudge.check(moved + HOUR) == []


def test_a_rebuild_parks_and_fits_as_it_was_told(shop):
    batch = make_batch(shop, 3)
    lose(shop, batch, 4, at=NOON + HOUR, **HAPPENED)
    bear(shop, batch, 2, at=NOON + HOUR, performed_at=NOON, **HAPPENED)
    lose(shop, batch, 7, at=NOON + 2 * HOUR, **HAPPENED)

    assert rebuild.check(LATE) == []
    assert rejudge.check(LATE) == []


def test_what_waits_longest_by_its_own_time_is_tried_first(shop):
    batch = make_batch(shop, 3)
    lose(shop, batch, 5, at=NOON + 3 * HOUR, **HAPPENED)
    lose(shop, batch, 4, at=NOON + 3 * HOUR, performed_at=NOON + HOUR, reason="-", **HAPPENED)

    bear(shop, batch, 2, at=NOON + 4 * HOUR, **HAPPENED)

    assert Parked.objects.count() == 1
    assert balances(batch)["dead"] == 4
