"""S-35: the reminder comes eleven times. Four workers at once; so not over REST alone."""

from datetime import timedelta

import pytest

from stock import sweeps
from stock.calling import hand_out
from stock.doors.calls import add_address
from stock.models import CallItem
from stock.sending import send_due
from tests.make import START, make_batch, make_shop
from tests.service import listening
from tests.stock.telling import HOUR

pytestmark = pytest.mark.django_db(transaction=True)

SECOND = timedelta(seconds=1)


def test_s35_1_sixty_runs_of_four_workers_are_one_reminder(together, settings):
    settings.PRIVATE_ADDRESSES, settings.TEST_CLOCK = True, False
    shop = make_shop()
    make_batch(shop)
    begins = START + 60 * HOUR

    with listening() as service:
        add_address(shop.manager, label="Telephone", address=service.address, now=START)

        def work():
            for n in range(15):
                at = begins + n * SECOND
                sweeps.tell_times(shop.site, at)
                hand_out(shop.site, at)
                send_due(at)

        assert together(work, work, work, work) == [None] * 4

    told = [one for one in service.came if one["title"] == "Coming up"]
    assert len(told) == 1
    assert "limit Thu 7 Jan 2027 09:00 CET" in told[0]["message"]
    assert CallItem.objects.filter(call__kind="reminder").count() == 1
