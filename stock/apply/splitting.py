"""Splits and joins: the animals of one batch go on in several, those of several in one."""

from typing import Any
from uuid import UUID

from protocols.versions import protocol
from stock.apply.batches import begin_stay, free_code
from stock.apply.came import came_at
from stock.apply.closing import batch_of
from stock.apply.counts import Going, Spot, balances, transfer
from stock.apply.kin import come_out_of, joined_with
from stock.apply.registry import applies
from stock.models import Batch, Fact, StayRow
from stock.refusals import CannotApply, not_here, refuse


@applies("batch_split")
def split_batch(fact: Fact) -> None:
    """The batch is closed; every part is a new one, in its own stay."""
    parent, parts = batch_of(fact), fact.body["parts"]
    stay = _stay_to_end(parent, fact)
    alive = balances(parent.uid).get("alive", 0)
    if sum(part["count"] for part in parts) != alive:
        raise CannotApply(refuse("split_sum", "The parts must add up to those alive."))
    if any(
        part["stays_here"] and UUID(part["container"]) != stay.container_id for part in parts
    ):
        raise CannotApply(refuse("contradicts_record", "They were in another container."))
    _end(parent, stay, fact)
    for part in parts:
        child = _new_batch(fact, part["batch"], [parent])
        begin_stay(fact, child, part)
    transfer(
        fact,
        *(
            Going(Spot(parent.uid, "alive"), Spot(UUID(part["batch"]), "alive"), part["count"])
            for part in parts
        ),
    )


@applies("batches_joined")
def join_batches(fact: Fact) -> None:
    """All members are closed; together they are a new batch, in one stay."""
    body = fact.body
    members = _members(fact)
    stays = [_stay_to_end(one, fact) for one in members]
    there = [stay for stay in stays if str(stay.batch_id) not in body["came_in"]]
    if any(stay.container_id != UUID(body["container"]) for stay in there):
        raise CannotApply(refuse("contradicts_record", "They were in another container."))
    for member, stay in zip(members, stays, strict=True):
        _end(member, stay, fact)
    batch = _new_batch(fact, body["batch"], members)
    joined_with(fact, members)
    begin_stay(fact, batch, {**body, "kit": body.get("kit") or _kit_of(there)})
    transfer(
        fact,
        *(
            Going(Spot(one.uid, "alive"), Spot(batch.uid, "alive"), alive)
            for one in members
            if (alive := balances(one.uid).get("alive", 0))
        ),
    )


def _members(fact: Fact) -> list[Batch]:
    names = list(dict.fromkeys(fact.body["members"]))
    found = {str(one.uid): one for one in Batch.objects.filter(uid__in=names, site=fact.log_id)}
    if len(found) < len(names):
        raise not_here("batch")
    if len(names) < 2:
        raise CannotApply(refuse("contradicts_record", "A join is of two batches or more."))
    return [found[name] for name in names]


def _stay_to_end(batch: Batch, fact: Fact) -> StayRow:
    """The stay the batch is in; or the one for no time, into which it was put for this join."""
    stay = StayRow.objects.filter(batch=batch, ended_by=fact.uid).first()
    if stay is not None:
        return stay
    stay = StayRow.objects.filter(batch=batch, ended_latest=None).first()
    if stay is None:
        raise CannotApply(refuse("batch_closed", "Nobody of the batch is here any more."))
    if fact.performed_at < came_at(stay):
        text = "By then this stay had not begun."
        raise CannotApply(refuse("contradicts_record", text))
    return stay


def _end(batch: Batch, stay: StayRow, fact: Fact) -> None:
    stay.ended_earliest = stay.ended_latest = fact.performed_at
    stay.ended_by = fact.uid
    stay.save()
    Batch.objects.filter(uid=batch.uid).update(closed_at=fact.performed_at)


def _new_batch(fact: Fact, uid: str, parents: list[Batch]) -> Batch:
    batch = Batch.objects.create(
        uid=uid,
        version=fact.seq,
        site_id=fact.log_id,
        code=free_code(fact.log_id, uid),
        protocol=max((one.protocol for one in parents), key=_strictness),
        placed_at=max(one.placed_at for one in parents),
    )
    come_out_of(fact, batch, parents)
    return batch


def _strictness(key: str) -> tuple[Any, ...]:
    version = protocol(key)
    return version.span_least, version.moves_least, key


def _kit_of(stays: list[StayRow]) -> str | None:
    kits = [stay.kit_id for stay in stays if stay.kit_id is not None]
    return str(kits[0]) if kits else None
