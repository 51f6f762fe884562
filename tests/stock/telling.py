"""What is said of animals in tests, in few words and through the doors."""

from datetime import timedelta
from uuid import UUID

from protocols.values import Standing
from stock.doors.counts import find_again, presume_lost, record_birth, record_missing
from stock.doors.leaving import DispatchAsked, dispatch_animals
from stock.doors.losses import LossLine, record_losses
from stock.models import StayRow
from tests.make import START, asking

HOUR = timedelta(hours=1)
NOON = START + 4 * HOUR
HAPPENED = {"standing": Standing.HAPPENED}


def lose(shop, batch, count, at=NOON, fate="dead", **how):
    line = LossLine(batch=batch, fate=fate, count=count, found_at=at, cause=("unknown",))
    return record_losses(asking(shop.manager, at, **how), lines=[line])


def miss(shop, batch, count, at=NOON, **how):
    """So many missing in the container where they are; the uid of the report."""
    asked = asking(shop.manager, at, **how)
    return UUID(record_missing(asked, batch=batch, count=count).body["missing"]["uid"])


def find(shop, missing, count, container, at=NOON, *, alive=True, **how):
    return find_again(
        asking(shop.manager, at, **how),
        missing=missing,
        count=count,
        container=container,
        alive=alive,
    )


def presume(shop, missing, count, at=NOON + 48 * HOUR, **how):
    how.setdefault("reason", "Searched twice.")
    return presume_lost(asking(shop.manager, at, **how), missing=missing, count=count)


def bear(shop, batch, count, at=NOON, **how):
    asked = asking(shop.manager, at, **how)
    return record_birth(asked, batch=batch, count=count, estimated=False)


def dispatch(shop, batch, count, at=NOON, **how):
    asked = DispatchAsked(batch=batch, count=count, buyer="Coral House")
    return dispatch_animals(asking(shop.manager, at, **how), asked=asked)


def container_of(batch):
    return StayRow.objects.get(batch=batch, ended_latest=None).container_id
