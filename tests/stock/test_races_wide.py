"""One piece of news reaches two hundred batches while eight people go on writing."""

from datetime import timedelta

import pytest

from protocols.values import Standing
from stock import rejudge, sweeps
from stock.doors.batches import PlaceAsked, place_batch
from stock.doors.losses import LossLine, record_losses
from stock.doors.measured import Value
from stock.doors.readings import Comparison, check_instrument, take_readings
from stock.judging.reach import bring_up_to_date, judging_later
from stock.models import Batch, DeviationRow, Log, Site
from stock.sums import wrong_sums
from stock.verify import verify
from tests.make import (
    START,
    asking,
    make,
    make_container,
    make_line,
    make_rack,
    make_shop,
    move,
)
from tests.stock.telling import HOUR, NOON

pytestmark = pytest.mark.django_db(transaction=True)

CLIENTS, EACH = 8, 2
CHECKED = NOON + HOUR


@pytest.fixture
def shop():
    return make_shop()


@pytest.fixture
def thermometer(shop):
    made = make(shop, "instruments", "T-1", quantities=["temperature"])
    check(shop, made, "25.0", START)
    return made


def check(shop, instrument, got, at):
    compared = Comparison(standard="reference", expected="25.0", got=got)
    return check_instrument(asking(shop.manager, at), instrument=instrument, compared=compared)


@pytest.fixture
def crowd(shop, thermometer, engine):
    """So many batches of two, each in a container that was read with the one thermometer.

    SQLite lets one writer in after the other: a few of them show the same there.
    """
    many = {"sqlite": 20, "postgresql": 200}[engine]
    site, rack, line = (
        Site.objects.get(uid=shop.site),
        make_rack(shop),
        make_line(shop, 2 * many),
    )
    with judging_later():
        containers = [make_container(shop, f"W-{n}", rack=rack) for n in range(many)]
        values = [Value(one, "temperature", "25.4", "Cel", thermometer) for one in containers]
        take_readings(asking(shop.manager), site=shop.site, values=values)
        for container in containers:
            asked = PlaceAsked(((line, 2),), container, None, (2,), "transfer-288@1")
            place_batch(
                asking(shop.manager, standing=Standing.HAPPENED), site=site, asked=asked
            )
    bring_up_to_date(START)
    return list(Batch.objects.order_by("code").values_list("uid", flat=True))


def lose(shop, batch):
    line = LossLine(batch, "dead", 1, NOON, ("unknown",))
    return record_losses(asking(shop.manager, CHECKED), lines=[line])


def writes(shop, batches, moves):
    """What one person does one after the other; the answers."""
    return lambda: [
        move(shop, batch, (2,), at=CHECKED) if moves else lose(shop, batch) for batch in batches
    ]


def test_a_failed_check_reaches_every_batch_while_others_write(
    shop, thermometer, crowd, together
):
    # The last to be judged again are not judged before the answer.
    moved = {move(shop, one, (2,), at=NOON).body["fact"]["uid"] for one in crowd[-2:]}
    slices = [crowd[n * EACH : (n + 1) * EACH] for n in range(CLIENTS)]
    clients = [writes(shop, batches, n % 2 == 0) for n, batches in enumerate(slices)]

    failed, *told = together(lambda: check(shop, thermometer, "26.4", CHECKED), *clients)

    assert len(failed.body["doubted"]["readings"]) == len(crowd)
    assert moved <= set(failed.body["doubted"]["moves"])
    assert [answer.status for answers in told for answer in answers] == [201] * CLIENTS * EACH
    sweeps.judge_due(shop.site, CHECKED + timedelta(minutes=1))
    assert not Batch.objects.filter(stale=True).exists()
    assert rejudge.check(CHECKED + timedelta(minutes=1)) == []
    doubted = DeviationRow.objects.filter(rule="instrument_in_doubt").values("batch").distinct()
    assert doubted.count() == len(crowd)
    assert wrong_sums() == []
    assert verify(Log.objects.get(uid=shop.site)) is None
