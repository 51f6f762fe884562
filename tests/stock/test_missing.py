"""Animals nobody finds, those found again, and those given up."""

from datetime import timedelta

import pytest

from stock import rebuild
from stock.apply.counts import balances
from stock.models import Batch, Loss, Missing, StayRow
from stock.refusals import Refused
from stock.sums import wrong_sums
from tests.make import START, make_batch, make_shop, move
from tests.stock.telling import (
    HAPPENED,
    HOUR,
    NOON,
    container_of,
    find,
    miss,
    presume,
)

pytestmark = pytest.mark.django_db


@pytest.fixture
def shop():
    return make_shop()


# -- Missing and found -----------------------------------------------------------------------


def test_missing_is_not_dead(shop):
    batch = make_batch(shop, 12)

    missing = miss(shop, batch, 1)

    assert balances(batch) == {"alive": 11, "unaccounted": 1}
    row = Missing.objects.get(fact=missing)
    assert (row.open, row.container_id) == (1, container_of(batch))


def test_found_alive_where_the_others_are_they_are_one_batch_again(shop):
    batch = make_batch(shop, 12)
    missing = miss(shop, batch, 2)

    find(shop, missing, 2, container_of(batch))

    assert balances(batch) == {"alive": 12, "unaccounted": 0}
    assert Missing.objects.get(fact=missing).open == 0


def test_found_dead_is_a_loss_since_it_was_missed(shop):
    batch = make_batch(shop, 12)
    missing = miss(shop, batch, 1)

    find(shop, missing, 1, container_of(batch), NOON + HOUR, alive=False)

    loss = Loss.objects.get()
    assert (loss.fate, loss.last_seen_at, loss.found_at) == ("dead", NOON, NOON + HOUR)
    assert (balances(batch)["dead"], wrong_sums()) == (1, [])


def test_more_than_were_missed_cannot_be_found(shop):
    batch = make_batch(shop, 12)
    missing = miss(shop, batch, 1)

    with pytest.raises(Refused) as refused:
        find(shop, missing, 2, container_of(batch))

    assert refused.value.code == "contradicts_record"


def test_found_in_the_old_container_it_is_a_batch_of_its_own_in_the_old_stay(shop):
    batch = make_batch(shop, 12)
    left = StayRow.objects.get(batch=batch)
    at = START + 70 * HOUR
    move(shop, batch, (11,), missing=1, at=at)
    missing = Missing.objects.get().fact

    answer = find(shop, missing, 1, left.container_id, at + HOUR)

    found = StayRow.objects.exclude(batch=batch).get()
    assert str(found.batch_id) == answer.body["found"]["uid"]
    assert (found.began_earliest, found.ended_latest) == (START, None)
    assert (balances(batch)["alive"], balances(found.batch_id)) == (11, {"alive": 1})
    assert wrong_sums() == []
    assert rebuild.check(at + HOUR) == []


def test_found_where_another_batch_is_by_now_it_is_parked(shop):
    batch = make_batch(shop, 12)
    left = container_of(batch)
    at = START + 70 * HOUR
    move(shop, batch, (11,), missing=1, at=at)
    make_batch(shop, 5, container=left, at=at)

    answer = find(shop, Missing.objects.get().fact, 1, left, at + HOUR, **HAPPENED)

    assert answer.body["fact"]["parked"]
    assert (balances(batch)["unaccounted"], wrong_sums()) == (1, [])


# -- Presumed lost ---------------------------------------------------------------------------


def test_they_are_presumed_lost_only_after_they_were_looked_for(shop):
    missing = miss(shop, make_batch(shop, 12), 1)

    with pytest.raises(Refused) as refused:
        presume(shop, missing, 1, NOON + 48 * HOUR - timedelta(seconds=1))

    assert refused.value.code == "too_early"


def test_calling_it_happened_does_not_shorten_the_search(shop):
    missing = miss(shop, make_batch(shop, 12), 1)

    with pytest.raises(Refused) as refused:
        presume(shop, missing, 1, NOON + HOUR, **HAPPENED)

    assert refused.value.code == "too_early"


def test_presumed_lost_is_a_loss_that_says_so(shop):
    batch = make_batch(shop, 12)
    missing = miss(shop, batch, 1)

    presume(shop, missing, 1)

    assert balances(batch) == {"alive": 11, "unaccounted": 0, "presumed_lost": 1}
    assert Loss.objects.get().presumed
    assert wrong_sums() == []


def test_giving_up_needs_a_reason(shop):
    missing = miss(shop, make_batch(shop, 12), 1)

    with pytest.raises(Refused) as refused:
        presume(shop, missing, 1, reason=None)

    assert refused.value.code == "reason_missing"


def test_found_after_all_they_come_back_from_presumed_lost(shop):
    batch = make_batch(shop, 12)
    missing = miss(shop, batch, 3)
    presume(shop, missing, 2)

    find(shop, missing, 2, container_of(batch), NOON + 50 * HOUR)

    assert balances(batch) == {"alive": 11, "unaccounted": 0, "presumed_lost": 1}
    assert Loss.objects.get().count == 1
    assert wrong_sums() == []


def test_a_presumption_reversed_as_a_whole_leaves_no_loss(shop):
    batch = make_batch(shop, 12)
    missing = miss(shop, batch, 1)
    presume(shop, missing, 1)

    find(shop, missing, 1, container_of(batch), NOON + 50 * HOUR)

    assert (balances(batch)["alive"], Loss.objects.count()) == (12, 0)


def test_a_batch_presumed_lost_as_a_whole_goes_on_when_somebody_is_found(shop):
    batch = make_batch(shop, 1)
    container = container_of(batch)
    missing = miss(shop, batch, 1)
    presume(shop, missing, 1)

    at = NOON + 50 * HOUR
    find(shop, missing, 1, container, at)

    kept = Batch.objects.get(uid=batch)
    assert (kept.closed_at, kept.state) == (None, "moves")
    assert StayRow.objects.get(batch=batch).ended_latest is None
    assert rebuild.check(at) == []
