"""When nobody of a batch is left, and when somebody is again."""

from datetime import datetime

from django.db import IntegrityError, transaction
from django.db.models import Max

from stock.apply.came import came_at
from stock.apply.counts import balances
from stock.models import Batch, Fact, Kin, StayRow, Transfer
from stock.refusals import CannotApply, not_here, refuse

# Who is alive or may be found is still somewhere in the house.
HERE = ("alive", "unaccounted")


def batch_of(fact: Fact) -> Batch:
    """The batch that the fact speaks of, at this site."""
    batch = Batch.read(uid=fact.body["batch"], site=fact.log_id)
    if batch is None:
        raise not_here("batch")
    return batch


def close_if_nobody_is_left(batch: Batch) -> None:
    """With nobody alive or missing the stay ends; kit and container are left as used.

    The end is when the last of them went, in whichever order that was told. No fact ends the
    stay by itself, so that a move told later still can.
    """
    left = balances(batch.uid)
    if any(left.get(place, 0) for place in HERE):
        return
    at = _last_went(batch)
    for stay in StayRow.objects.filter(batch=batch, ended_by=None):
        stay.ended_earliest = stay.ended_latest = max(at, came_at(stay))
        stay.save()
    Batch.objects.filter(uid=batch.uid).update(closed_at=at)


def reopen(batch: Batch) -> None:
    """Somebody of a closed batch lives after all: it goes on in its last stay."""
    if batch.closed_at is None:
        return
    if ended_by_split_or_join(batch):
        text = "They were split or joined: tell it of the batch in which they are now."
        raise CannotApply(refuse("batch_closed", text))
    try:
        with transaction.atomic():
            StayRow.objects.filter(batch=batch, ended_by=None).update(
                ended_earliest=None, ended_latest=None
            )
    except IntegrityError as error:
        text = "Its container or kit has another batch since; this one must be placed anew."
        raise CannotApply(refuse("container_occupied", text)) from error
    Batch.objects.filter(uid=batch.uid).update(closed_at=None)


def ended_by_split_or_join(batch: Batch) -> bool:
    """Whether its animals went on in other batches."""
    told = Kin.objects.filter(of=batch, how="parent").values("fact")
    return Fact.objects.filter(
        uid__in=told, kind__in=("batch_split", "batches_joined")
    ).exists()


def _last_went(batch: Batch) -> datetime:
    gone = Transfer.objects.filter(from_holder=batch.uid, from_place__in=HERE)
    latest: datetime = gone.aggregate(at=Max("performed_at"))["at"]
    return latest
