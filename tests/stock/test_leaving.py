"""Animals that leave, and those that come back."""

import pytest

from stock.apply.counts import balances
from stock.doors.leaving import take_back
from stock.refusals import Refused
from stock.sums import wrong_sums
from tests.make import asking, make_batch, make_shop
from tests.stock.telling import NOON, dispatch

pytestmark = pytest.mark.django_db


@pytest.fixture
def shop():
    return make_shop()


# -- Leaving ---------------------------------------------------------------------------------


def test_handed_over_to_a_buyer_they_are_sold(shop):
    batch = make_batch(shop, 12)

    answer = dispatch(shop, batch, 4)

    assert (balances(batch), answer.body["left"]) == ({"alive": 8, "sold": 4}, 8)


def test_back_again_they_are_returned_and_not_alive(shop):
    batch = make_batch(shop, 12)
    dispatch(shop, batch, 4)

    take_back(asking(shop.manager, NOON), batch=batch, count=1, state="alive")

    assert balances(batch) == {"alive": 8, "sold": 3, "returned": 1}
    assert wrong_sums() == []


def test_no_more_come_back_than_left(shop):
    batch = make_batch(shop, 12)
    dispatch(shop, batch, 4)

    with pytest.raises(Refused) as refused:
        take_back(asking(shop.manager, NOON), batch=batch, count=5, state="alive")

    assert refused.value.code == "contradicts_record"


def test_with_the_last_one_sold_the_batch_closes_and_its_series_is_not_broken(shop):
    batch = make_batch(shop, 4)

    answer = dispatch(shop, batch, 4)

    assert (answer.body["batch"]["state"], answer.body["batch"]["why"]) == (
        "closed",
        "dispatched",
    )
    assert answer.body["batch"]["past_series"] == []
