"""Two processes that send at the same moment: each delivery goes out once."""

import pytest

from stock.doors.signs import place_hold
from stock.doors.webhooks import make_webhook
from stock.webhook_sending import deliver_due
from tests.make import START, asking, make_batch, make_shop
from tests.receiver import receiving

pytestmark = pytest.mark.django_db(transaction=True)


def test_two_that_send_at_once_send_each_delivery_once(together, settings):
    settings.PRIVATE_ADDRESSES = True
    shop = make_shop()
    batch = make_batch(shop)
    with receiving() as receiver:
        make_webhook(
            shop.manager,
            site=shop.site,
            label="Shop program",
            address=receiver.address,
            kinds=["hold.placed"],
            at=START,
        )
        for _ in range(4):
            place_hold(asking(shop.manager), batch=batch, why="White spots")

        taken = together(*[lambda: deliver_due(START)] * 3)

    assert sum(taken) == 4
    assert len({one.name for one in receiver.came}) == len(receiver.came) == 4
