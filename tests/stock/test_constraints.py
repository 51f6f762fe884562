"""What must never be, said to the database itself: raw SQL meets the same refusal."""

from uuid import uuid4

import pytest
from django.db import DatabaseError, IntegrityError

from stock.apply.counts import balances
from stock.models import (
    LineCount,
    Loss,
    Missing,
    Origin,
    StayRow,
    Transfer,
)
from tests.make import (
    START,
    make_batch,
    make_container,
    make_line,
    make_shop,
)
from tests.stock.raw import change, copy, execute, insert, twice
from tests.stock.telling import lose, miss

pytestmark = pytest.mark.django_db


@pytest.fixture
def shop():
    return make_shop()


@pytest.fixture
def batch(shop):
    return make_batch(shop, 20)


def going(batch, count, begin="alive", end="dead"):
    """Columns of a transfer within a batch."""
    return {
        "fact": uuid4(),
        "n": 0,
        "from_holder": batch,
        "from_place": begin,
        "to_holder": batch,
        "to_place": end,
        "count": count,
        "performed_at": START,
    }


# -- Double entry ----------------------------------------------------------------------------


def test_a_transfer_moves_both_balances(batch):
    insert(Transfer, **going(batch, 20))

    assert balances(batch) == {"alive": 0, "dead": 20}


def test_no_balance_is_overdrawn(batch):
    with pytest.raises(IntegrityError, match="balance_not_overdrawn"):
        insert(Transfer, **going(batch, 21))

    assert balances(batch) == {"alive": 20}


def test_a_balance_is_not_overdrawn_by_hand_either(batch):
    with pytest.raises(IntegrityError, match="balance_not_overdrawn"):
        execute("update balance set n = -1 where place = 'alive'")


def test_outside_alone_may_owe(batch):
    insert(Transfer, **going(batch, 500, begin="outside", end="alive"))

    assert balances(batch) == {"alive": 520, "outside": -500}


@pytest.mark.parametrize("count", [0, -1])
def test_a_transfer_is_of_somebody(batch, count):
    with pytest.raises(IntegrityError, match="transfer_of_somebody"):
        insert(Transfer, **going(batch, count))


def test_a_transfer_goes_elsewhere(batch):
    with pytest.raises(IntegrityError, match="transfer_goes_elsewhere"):
        insert(Transfer, **going(batch, 1, end="alive"))


@pytest.mark.parametrize("how", ["update transfer set count = 1", "delete from transfer"])
def test_transfers_are_never_changed(batch, how):
    with pytest.raises(DatabaseError, match="append-only"):
        execute(how)


def test_one_fact_does_not_move_the_same_animals_twice(batch):
    with pytest.raises(IntegrityError, match=twice("fact")):
        copy(Transfer.objects.filter(to_holder=batch).get())


# -- Where they stand ------------------------------------------------------------------------


@pytest.fixture
def stay(batch):
    return StayRow.objects.get(batch=batch)


def test_a_container_has_one_open_stay(shop, stay):
    other = StayRow.objects.get(batch=make_batch(shop, 5))

    with pytest.raises(IntegrityError, match=twice("container_id")):
        change(other, container=stay.container_id)


def test_a_kit_is_in_one_open_stay(shop, stay):
    other = StayRow.objects.get(batch=make_batch(shop, 5))

    with pytest.raises(IntegrityError, match=twice("kit_id")):
        change(other, kit=stay.kit_id)


def test_a_batch_is_in_one_open_stay(shop, stay):
    with pytest.raises(IntegrityError, match=twice("batch_id")):
        copy(stay, uid=uuid4(), container=make_container(shop, "R1-09"), kit=None)


def test_a_container_may_have_any_number_of_past_stays(stay):
    change(stay, ended_earliest=START, ended_latest=START)

    copy(stay, uid=uuid4())

    assert StayRow.objects.filter(container=stay.container_id).count() == 2


def test_a_stay_does_not_begin_before_its_earliest_beginning(stay):
    with pytest.raises(IntegrityError, match="stay_begins_in_order"):
        change(stay, began_latest=START.replace(year=2026))


# -- Numbers that must fit -------------------------------------------------------------------


def test_no_more_are_dead_on_arrival_than_were_received(shop):
    counted = LineCount.objects.get(line=make_line(shop, received=20, doa=3))

    with pytest.raises(IntegrityError, match="doa_within_received"):
        change(counted, doa=21)


def test_no_more_are_missing_than_were_missed(shop, batch):
    row = Missing.objects.get(fact=miss(shop, batch, 2))

    with pytest.raises(IntegrityError, match="missing_within_count"):
        change(row, open=3)


def test_a_loss_is_of_somebody(shop, batch):
    lose(shop, batch, 1)

    with pytest.raises(IntegrityError, match="loss_of_somebody"):
        change(Loss.objects.get(), count=0)


def test_an_origin_is_of_somebody_and_told_once(batch):
    origin = Origin.objects.get(batch=batch)

    with pytest.raises(IntegrityError, match="origin_of_somebody"):
        change(origin, count=0)
    with pytest.raises(IntegrityError, match=twice("fact")):
        copy(origin)
