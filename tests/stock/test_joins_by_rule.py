"""Put in with others, as far as anybody knew; then it is told that these had left before."""

import pytest

from stock import rebuild, rejudge
from stock.apply.counts import balances
from stock.doors.batches import PlaceAsked, place_batch
from stock.doors.moves import MoveAsked, move_batch
from stock.judging.load import judged
from stock.models import Batch, Parked, Site, StayRow
from stock.sums import wrong_sums
from tests.make import START, asking, make, make_batch, make_container, make_line, make_shop
from tests.stock.telling import HAPPENED, HOUR, container_of, lose

pytestmark = pytest.mark.django_db

PUT_IN, LATER = START + 30 * HOUR, START + 40 * HOUR


@pytest.fixture
def shop():
    return make_shop()


@pytest.fixture
def there(shop):
    return make_batch(shop, 8)


@pytest.fixture
def joined(shop, there):
    """Five more put into their container; made one batch by rule."""
    asked = PlaceAsked(
        sources=((make_line(shop, 5), 5),),
        container=container_of(there),
        kit=make(shop, "kits", "Z-1", needs=[]),
        counts=(5,),
        protocol="transfer-288@1",
    )
    told = asking(shop.manager, PUT_IN, **HAPPENED)
    answer = place_batch(told, site=Site.objects.get(uid=shop.site), asked=asked)
    return Batch.objects.get(uid=answer.body["batch"]["uid"])


def had_left(shop, there, hours):
    """Told only now: before the others came, or after, those who were there had moved on."""
    asked = MoveAsked(
        batch=there,
        ended_stay=StayRow.objects.filter(batch=there).earliest("began_latest").uid,
        container=make_container(shop, "R9-01"),
        kit=make(shop, "kits", "Z-2", needs=[]),
        counts=(8,),
    )
    at = START + hours * HOUR
    told = asking(shop.manager, LATER, performed_at=at, reason="No network.", **HAPPENED)
    return move_batch(told, site=Site.objects.get(uid=shop.site), asked=asked)


def as_built():
    return [*rebuild.check(LATER), *rejudge.check(LATER), *wrong_sums()]


def test_who_came_after_they_had_left_joined_nobody(shop, there, joined):
    answer = had_left(shop, there, 20)

    assert not answer.body["fact"]["parked"]
    assert not Batch.objects.filter(uid=joined.uid).exists()
    alone = Batch.objects.exclude(uid=there).get()
    assert (balances(there)["alive"], balances(alone.uid)["alive"]) == (8, 5)
    assert (alone.series_started, alone.limit) == (PUT_IN, PUT_IN + 72 * HOUR)
    assert judged(there, LATER).past_series == ()
    assert container_of(alone.uid) != container_of(there)
    assert as_built() == []


def test_who_was_there_still_was_joined(shop, there, joined):
    answer = had_left(shop, there, 35)

    assert answer.body["fact"]["parked"]
    assert balances(joined.uid)["alive"] == 13
    assert as_built() == []


def test_once_more_was_told_of_the_joined_batch_somebody_has_to_say(shop, there, joined):
    lose(shop, joined.uid, 1, at=PUT_IN + HOUR)

    answer = had_left(shop, there, 20)

    assert answer.body["fact"]["parked"]
    assert Parked.objects.get().why.startswith("Later reports rest on")
    assert balances(joined.uid)["alive"] == 12
    assert as_built() == []


def test_two_batches_that_changed_places_at_once_are_two_still(shop, there):
    other = make_batch(shop, 6)
    before = {one: container_of(one) for one in (there, other)}
    stays = {one: StayRow.objects.get(batch=one) for one in (there, other)}

    for one, goes_to in ((there, other), (other, there)):
        asked = MoveAsked(
            batch=one,
            ended_stay=stays[one].uid,
            container=before[goes_to],
            kit=stays[one].kit_id,
            counts=(8 if one == there else 6,),
        )
        told = asking(shop.manager, PUT_IN, **HAPPENED)
        move_batch(told, site=Site.objects.get(uid=shop.site), asked=asked)

    assert (container_of(there), container_of(other)) == (before[other], before[there])
    assert Batch.objects.count() == 2
    assert not Parked.objects.filter(settled_by=None).exists()
    assert as_built() == []
