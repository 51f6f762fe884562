"""Losses, animals nobody finds, those found again, and those born here."""

from stock.apply.closing import batch_of, close_if_nobody_is_left, reopen
from stock.apply.counts import Going, Spot, transfer
from stock.apply.found import missing_of, place_found, take_back
from stock.apply.loss_rows import lose_as_told, lose_missing
from stock.apply.not_found import miss
from stock.apply.registry import applies
from stock.models import Container, Fact
from stock.refusals import CannotApply, not_here, refuse


@applies("loss_recorded")
def record_loss(fact: Fact) -> None:
    body = fact.body
    batch = batch_of(fact)
    alive, gone = Spot(batch.uid, "alive"), Spot(batch.uid, body["fate"])
    transfer(fact, Going(alive, gone, body["count"]))
    lose_as_told(fact, batch, body)
    close_if_nobody_is_left(batch)


@applies("missing_recorded")
def record_missing(fact: Fact) -> None:
    body = fact.body
    batch = batch_of(fact)
    container = Container.read(uid=body["container"], site=fact.log_id)
    if container is None:
        raise not_here("container")
    miss(fact, batch, container, body["count"])


@applies("found_again")
def find_again(fact: Fact) -> None:
    """Found dead is a loss; found alive where the others are, they are one batch again."""
    body, missing = fact.body, missing_of(fact)
    batch = missing.batch
    if not body["alive"]:
        take_back(fact, missing, Spot(batch.uid, "dead"))
        lose_missing(fact, missing, "dead", body["count"])
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
    lose_missing(fact, missing, "presumed_lost", count)
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
