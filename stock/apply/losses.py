"""Losses, animals nobody finds, those found again, and those born here."""

from typing import Any

from stock.apply.batches import miss
from stock.apply.closing import batch_of, close_if_nobody_is_left, reopen
from stock.apply.counts import Going, Spot, transfer
from stock.apply.found import missing_of, place_found, take_back
from stock.apply.registry import applies, moment
from stock.models import Batch, Container, Fact, Loss
from stock.refusals import CannotApply, refuse


@applies("loss_recorded")
def record_loss(fact: Fact) -> None:
    body = fact.body
    batch = batch_of(fact)
    alive, gone = Spot(batch.uid, "alive"), Spot(batch.uid, body["fate"])
    transfer(fact, Going(alive, gone, body["count"]))
    seen = body.get("last_seen_at")
    lose(
        fact,
        batch,
        body["fate"],
        cause=body["cause"],
        certainty=body.get("certainty"),
        found_at=moment(body["found_at"]),
        last_seen_at=moment(seen) if seen else None,
        origin=body.get("origin", []),
        incident=body.get("incident"),
    )
    close_if_nobody_is_left(batch)


@applies("missing_recorded")
def record_missing(fact: Fact) -> None:
    body = fact.body
    batch = batch_of(fact)
    container = Container.read(uid=body["container"], site=fact.log_id)
    if container is None:
        raise CannotApply(refuse("not_found", "There is no such container here."))
    miss(fact, batch, container, body["count"])


@applies("found_again")
def find_again(fact: Fact) -> None:
    """Found dead is a loss; found alive where the others are, they are one batch again."""
    body, missing = fact.body, missing_of(fact)
    batch = missing.batch
    if not body["alive"]:
        take_back(fact, missing, Spot(batch.uid, "dead"))
        lose(fact, batch, "dead", of=missing.fact, last_seen_at=missing.at)
        close_if_nobody_is_left(batch)
    elif "batch" in body and body["batch"] != str(batch.uid):
        place_found(fact, missing)
        close_if_nobody_is_left(batch)
    else:
        take_back(fact, missing, Spot(batch.uid, "alive"))
        reopen(batch)


@applies("presumed_lost")
def presume_lost(fact: Fact) -> None:
    missing, count = missing_of(fact), fact.body["count"]
    if missing.open < count:
        raise CannotApply(refuse("contradicts_record", "So many are not missing there."))
    batch = missing.batch
    unaccounted, lost = Spot(batch.uid, "unaccounted"), Spot(batch.uid, "presumed_lost")
    transfer(fact, Going(unaccounted, lost, count))
    missing.open -= count
    missing.save()
    lose(
        fact,
        batch,
        "presumed_lost",
        of=missing.fact,
        last_seen_at=missing.at,
        presumed=True,
    )
    close_if_nobody_is_left(batch)


@applies("born_here")
def bear(fact: Fact) -> None:
    batch = batch_of(fact)
    outside, alive = Spot(batch.uid, "outside"), Spot(batch.uid, "alive")
    transfer(fact, Going(outside, alive, fact.body["count"]))
    reopen(batch)


@applies("counted")
def count(fact: Fact) -> None:
    """A count changes no balance: where it differs, that is a question for a person."""
    batch_of(fact)


def lose(fact: Fact, batch: Batch, fate: str, **columns: Any) -> None:
    """One row beside the transfer: why, and between which moments."""
    columns.setdefault("found_at", fact.performed_at)
    Loss.objects.create(
        fact=fact.uid, batch=batch, fate=fate, count=fact.body["count"], **columns
    )
