"""Batches placed and moved: stays, origins, and where the animals are counted."""

from typing import Any
from uuid import UUID

from django.db import IntegrityError, transaction

from protocols import codes
from stock.apply.came import came_at
from stock.apply.closing import close_if_nobody_is_left
from stock.apply.counts import Going, Spot, transfer
from stock.apply.not_found import miss, settle_left_behind
from stock.apply.registry import applies
from stock.models import Batch, Container, Fact, Kit, Origin, StayRow
from stock.refusals import CannotApply, not_here, refuse

CODE_ATTEMPTS = 20


@applies("batch_placed")
def place_batch(fact: Fact) -> None:
    body = fact.body
    batch = Batch.objects.create(
        uid=body["batch"],
        version=fact.seq,
        site_id=fact.log_id,
        code=free_code(fact.log_id, body["batch"]),
        protocol=f"{body['protocol']}@{body['version']}",
        placed_at=fact.performed_at,
    )
    origins = [(UUID(one["line"]), one["count"]) for one in body["from"] if "line" in one]
    Origin.objects.bulk_create(
        Origin(fact=fact.uid, batch=batch, line_id=line, count=count) for line, count in origins
    )
    alive = Spot(batch.uid, "alive")
    goings = (Going(Spot(line, "received"), alive, count) for line, count in origins)
    transfer(fact, *goings, code="more_than_received")
    begin_stay(fact, batch, body)


@applies("batch_moved")
def move_batch(fact: Fact) -> None:
    body = fact.body
    ended = StayRow.objects.filter(uid=body["ended_stay"], batch=body["batch"]).first()
    if ended is None:
        raise CannotApply(refuse("contradicts_record", "The batch never was in that stay."))
    _has_begun(ended, fact)
    if ended.ended_by is not None:
        _is_of_a_move(ended)
        widen(ended, fact)
        settle_left_behind(fact, ended)
        close_if_nobody_is_left(ended.batch)
        return
    ended.ended_earliest = ended.ended_latest = fact.performed_at
    ended.ended_by = fact.uid
    ended.save()
    begin_stay(fact, ended.batch, body)
    if body["missing"]:
        miss(fact, ended.batch, ended.container, body["missing"])
    # All may have been told to be gone before anybody told of the move.
    close_if_nobody_is_left(ended.batch)


def begin_stay(fact: Fact, batch: Batch, body: dict[str, Any]) -> None:
    """Open a stay. The database allows one in a container, one for a batch, one with a kit.

    Who is put in with others is there for no time: the join that is told with it goes on.
    """
    _are_here(fact, body)
    at, joins = fact.performed_at, bool(body.get("joins"))
    if joins:
        _somebody_is_there(fact, UUID(body["container"]))
    try:
        with transaction.atomic():
            StayRow.objects.create(
                uid=body["stay"],
                batch=batch,
                container_id=body["container"],
                kit_id=body.get("kit"),
                began_earliest=at,
                began_latest=at,
                began_by=fact.uid,
                ended_earliest=at if joins else None,
                ended_latest=at if joins else None,
                ended_by=join_of(fact.uid, batch.uid) if joins else None,
            )
    except IntegrityError as error:
        text = "The container or the kit is in use by another batch."
        raise CannotApply(refuse("container_occupied", text)) from error


def join_of(put_in: UUID, batch: UUID) -> UUID:
    """The uid of the join that is told with a placement or move into an occupied container."""
    return codes.fact_uid(put_in, "batches_joined", batch)


def _somebody_is_there(fact: Fact, container: UUID) -> None:
    there = StayRow.objects.filter(container=container, ended_latest=None).first()
    if there is None or came_at(there) > fact.performed_at:
        raise CannotApply(refuse("contradicts_record", "Nobody is there to be joined."))


def _is_of_a_move(ended: StayRow) -> None:
    """A stay that a split or a join ended cannot have been ended by a move as well."""
    kind = Fact.objects.values_list("kind", flat=True).get(uid=str(ended.ended_by))
    if kind != "batch_moved":
        text = "They were split or joined out of that stay."
        raise CannotApply(refuse("contradicts_record", text))


def widen(ended: StayRow, fact: Fact) -> None:
    """A second account of a move: the time may lie anywhere between the two."""
    following = StayRow.objects.get(began_by=str(ended.ended_by))
    for row, name in ((ended, "ended"), (following, "began")):
        earliest, latest = getattr(row, f"{name}_earliest"), getattr(row, f"{name}_latest")
        setattr(row, f"{name}_earliest", min(earliest, fact.performed_at))
        setattr(row, f"{name}_latest", max(latest, fact.performed_at))
        row.save()


def free_code(site: UUID, uid: str) -> str:
    """The batch's short code; a later attempt where the first is another batch's here."""
    tried = (codes.short_code(uid, attempt) for attempt in range(CODE_ATTEMPTS))
    return next(
        code for code in tried if not Batch.objects.filter(site=site, code=code).exists()
    )


def _has_begun(stay: StayRow, fact: Fact) -> None:
    """Nobody leaves before they came, by the times that were told first.

    The row's own times follow from later words too, which a rebuild knows only afterwards.
    """
    came = Fact.objects.values_list("performed_at", flat=True).get(uid=str(stay.began_by))
    if fact.performed_at < came:
        text = "By then this stay had not begun."
        raise CannotApply(refuse("contradicts_record", text, began_at=came))


def _are_here(fact: Fact, body: dict[str, Any]) -> None:
    here = Container.objects.filter(uid=body["container"], site=fact.log_id).exists()
    kit = body.get("kit")
    if not here or (kit and not Kit.objects.filter(uid=kit, site=fact.log_id).exists()):
        raise not_here("container or kit")
