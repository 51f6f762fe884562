"""Losses, animals nobody finds, and those found again."""

from datetime import datetime

from stock.apply.counts import Going, Spot, balances, transfer
from stock.apply.registry import applies, moment
from stock.models import Batch, Fact, Loss, Missing, StayRow
from stock.refusals import CannotApply, refuse


@applies("loss_recorded")
def record_loss(fact: Fact) -> None:
    body = fact.body
    batch = batch_of(fact)
    alive, gone = Spot(batch.uid, "alive"), Spot(batch.uid, body["fate"])
    transfer(fact, Going(alive, gone, body["count"]))
    seen = body.get("last_seen_at")
    Loss.objects.create(
        fact=fact.uid,
        batch=batch,
        fate=body["fate"],
        count=body["count"],
        cause=body["cause"],
        certainty=body.get("certainty"),
        found_at=moment(body["found_at"]),
        last_seen_at=moment(seen) if seen else None,
    )
    close_if_nobody_is_left(batch, fact.performed_at)


@applies("missing_recorded")
def record_missing(fact: Fact) -> None:
    body = fact.body
    batch = batch_of(fact)
    alive, unaccounted = Spot(batch.uid, "alive"), Spot(batch.uid, "unaccounted")
    transfer(fact, Going(alive, unaccounted, body["count"]))
    Missing.objects.create(
        fact=fact.uid,
        batch=batch,
        container_id=body["container"],
        count=body["count"],
        open=body["count"],
        at=fact.performed_at,
    )


@applies("found_again")
def find_again(fact: Fact) -> None:
    """Found dead is a loss; found alive goes back to the batch it was missed from."""
    body = fact.body
    missing = _open_missing(fact)
    unaccounted = Spot(missing.batch_id, "unaccounted")
    place = "alive" if body["alive"] else "dead"
    transfer(fact, Going(unaccounted, Spot(missing.batch_id, place), body["count"]))
    _found(missing, body["count"])
    if not body["alive"]:
        _loss(fact, missing, "dead", presumed=False)
        close_if_nobody_is_left(missing.batch, fact.performed_at)


@applies("presumed_lost")
def presume_lost(fact: Fact) -> None:
    missing = _open_missing(fact)
    unaccounted = Spot(missing.batch_id, "unaccounted")
    lost = Spot(missing.batch_id, "presumed_lost")
    transfer(fact, Going(unaccounted, lost, fact.body["count"]))
    _found(missing, fact.body["count"])
    _loss(fact, missing, "presumed_lost", presumed=True)
    close_if_nobody_is_left(missing.batch, fact.performed_at)


@applies("counted")
def count(fact: Fact) -> None:
    """A count changes no balance: where it differs, that is a question for a person."""
    batch_of(fact)


def batch_of(fact: Fact) -> Batch:
    """The batch that the fact speaks of, at this site."""
    batch = Batch.objects.filter(uid=fact.body["batch"], site=fact.log_id).first()
    if batch is None:
        raise CannotApply(refuse("not_found", "There is no such batch here."))
    return batch


def close_if_nobody_is_left(batch: Batch, at: datetime) -> None:
    """With nobody alive or missing the stay ends; kit and container are left as used."""
    left = balances(batch.uid)
    if left.get("alive", 0) or left.get("unaccounted", 0):
        return
    StayRow.objects.filter(batch=batch, ended_latest=None).update(
        ended_earliest=at, ended_latest=at
    )
    Batch.objects.filter(uid=batch.uid).update(closed_at=at)


def _open_missing(fact: Fact) -> Missing:
    missing = Missing.objects.filter(fact=fact.body["of"], batch__site=fact.log_id).first()
    if missing is None or missing.open < fact.body["count"]:
        raise CannotApply(refuse("contradicts_record", "So many are not missing there."))
    return missing


def _found(missing: Missing, count: int) -> None:
    missing.open -= count
    missing.save()


def _loss(fact: Fact, missing: Missing, fate: str, *, presumed: bool) -> None:
    Loss.objects.create(
        fact=fact.uid,
        batch=missing.batch,
        fate=fate,
        count=fact.body["count"],
        cause=[],
        certainty=None,
        found_at=fact.performed_at,
        last_seen_at=missing.at,
        presumed=presumed,
    )
