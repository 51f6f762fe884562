"""Rows about a family of batches brought in line with what follows from its facts."""

from collections.abc import Iterable, Mapping
from datetime import datetime
from typing import Any
from uuid import UUID

from django.db.models import Min, Q

from protocols.animals import Animals, Lost, Sent, Stood
from protocols.uids import as_uid
from stock.apply.codes import free_code
from stock.apply.goings import Plan, take
from stock.apply.kin import kin_of
from stock.models import (
    Batch,
    DeviationRow,
    Dispatch,
    Fact,
    FactSubject,
    Kin,
    Loss,
    Missing,
    Origin,
    Reliance,
    StayRow,
)

Wanted = Mapping[Any, Mapping[str, Any]]
OfABatch = type[Origin] | type[Kin] | type[Missing] | type[Loss] | type[Dispatch]
MISSED_BY = frozenset({"missing_recorded", "batch_moved"})
LOST_BY = frozenset({"loss_recorded", "presumed_lost", "found_again", "parked_settled"})
SENT_BY = frozenset({"animals_dispatched"})


def bring_in_line(fact: Fact, facts: Iterable[Fact], found: Animals, steps: Plan) -> None:
    """Write what is not on record as it follows. A batch whose rows change is judged anew."""
    told = {one.kind for one in facts}
    changed = _batches(fact, facts, found)
    changed |= _kin(found)
    _forget(found)
    changed |= _rows(Origin, ("fact", "line_id"), found, _origins(found))
    changed |= _stays(found)
    if told & MISSED_BY:
        changed |= _missing(fact, found)
    if told & LOST_BY:
        wanted = {one.by: _loss(one) for one in found.lost.values()}
        changed |= _rows(Loss, ("fact",), found, wanted)
    if told & SENT_BY:
        wanted = {one.uid: _dispatch(fact, one) for one in found.sent.values()}
        changed |= _rows(Dispatch, ("uid",), found, wanted)
    take(steps)
    Batch.objects.filter(uid__in=changed).update(stale=True)


def _batches(fact: Fact, facts: Iterable[Fact], found: Animals) -> set[UUID]:
    kept = Batch.objects.in_bulk(found.begun)
    seq = {one.uid: one.seq for one in facts}
    changed = set()
    for uid, one in found.begun.items():
        wanted = {
            "protocol": one.protocol,
            "placed_at": one.placed_at,
            "closed_at": one.closed_at,
        }
        if uid not in kept:
            Batch.objects.create(
                uid=uid,
                version=seq[one.by],
                site_id=fact.log_id,
                code=free_code(Batch, fact.log_id, str(uid)),
                **wanted,
            )
        elif _differ(kept[uid], wanted):
            Batch.objects.filter(uid=uid).update(**wanted)
        else:
            continue
        changed.add(uid)
    return changed


def _forget(found: Animals) -> None:
    """Batches that never were: only judgements speak of them, and nothing rests on those."""
    never = found.never - found.begun.keys()
    if not never:
        return
    StayRow.objects.filter(batch__in=never).delete()
    DeviationRow.objects.filter(batch__in=never).delete()
    Reliance.objects.filter(batch__in=never).delete()
    Kin.objects.filter(Q(batch__in=never) | Q(of__in=never)).delete()
    Batch.objects.filter(uid__in=never).delete()


def _kin(found: Animals) -> set[UUID]:
    """Every batch with those whose histories its judgement needs."""
    if not found.never and not any(one.parents for one in found.begun.values()):
        return set()
    return _rows(Kin, ("batch_id", "of_id"), found, kin_of(found.begun.values()))


def _stays(found: Animals) -> set[UUID]:
    """Stays that begin, end or stand otherwise.

    Those that change are written anew: the database allows one open stay in a container.
    """
    kept = {row.uid: row for row in StayRow.objects.filter(batch__in=found.begun)}
    wanted = {uid: _stay(one) for uid, one in found.stood.items()}
    gone = [uid for uid, row in kept.items() if uid not in wanted or _differ(row, wanted[uid])]
    new = [uid for uid in wanted if uid not in kept or uid in gone]
    if gone:
        StayRow.objects.filter(uid__in=gone).delete()
    StayRow.objects.bulk_create(StayRow(uid=uid, **wanted[uid]) for uid in new)
    return {kept[uid].batch_id for uid in gone} | {found.stood[uid].batch for uid in new}


def _missing(fact: Fact, found: Animals) -> set[UUID]:
    """Who is missing; a search that was told before counts for whom it was made."""
    wanted: dict[UUID, dict[str, Any]] = {
        one.by: {
            "batch_id": one.batch,
            "container_id": one.container,
            "count": one.count,
            "open": one.open,
            "at": one.at,
        }
        for one in found.missed.values()
        if one.count
    }
    rows = Missing.objects.filter(batch__in=found.begun)
    known = set(rows.values_list("fact", flat=True))
    changed = _rows(Missing, ("fact",), found, wanted)
    for uid in wanted.keys() - known:
        at = _searched_at(fact, wanted[uid]["container_id"], wanted[uid]["at"])
        if at is not None:
            Missing.objects.filter(fact=uid).update(searched_at=at)
    return changed


def _searched_at(fact: Fact, container: UUID, since: datetime) -> datetime | None:
    about = FactSubject.objects.filter(subject=container, fact__kind="emptied")
    told = Fact.objects.filter(
        uid__in=about.values("fact"),
        log=fact.log_id,
        parked=None,
        body__searched=True,
        performed_at__gte=since,
    )
    first: datetime | None = told.aggregate(at=Min("performed_at"))["at"]
    return first


def _rows(model: OfABatch, key: tuple[str, ...], found: Animals, wanted: Wanted) -> set[UUID]:
    """Delete, change and add rows of these batches; the batches whose rows that were."""
    left = dict(wanted)
    changed: set[UUID] = set()
    for row in model._default_manager.filter(batch__in=found.begun):
        names = tuple(getattr(row, name) for name in key)
        values = left.pop(names if len(key) > 1 else names[0], None)
        if values is None:
            changed.add(row.batch_id)
            row.delete()
        elif _differ(row, values):
            changed |= {row.batch_id, values["batch_id"]}
            for name, value in values.items():
                setattr(row, name, value)
            row.save()
    fresh = [
        model(**dict(zip(key, one if len(key) > 1 else (one,), strict=True)), **values)
        for one, values in left.items()
    ]
    model._default_manager.bulk_create(fresh)
    return changed | {row.batch_id for row in fresh}


def _differ(row: Any, wanted: Mapping[str, Any]) -> bool:
    return any(getattr(row, name) != value for name, value in wanted.items())


def _origins(found: Animals) -> Wanted:
    return {
        (one.by, one.line): {"batch_id": one.batch, "count": one.count} for one in found.came
    }


def _stay(one: Stood) -> Mapping[str, Any]:
    return {
        "batch_id": one.batch,
        "container_id": one.container,
        "kit_id": one.kit,
        "began_earliest": one.began.earliest,
        "began_latest": one.began.latest,
        "ended_earliest": one.ended and one.ended.earliest,
        "ended_latest": one.ended and one.ended.latest,
        "began_by": one.began_by,
        "ended_by": one.ended_by,
    }


def _loss(one: Lost) -> Mapping[str, Any]:
    body = one.body
    incident = body.get("incident")
    return {
        "batch_id": one.batch,
        "fate": one.fate,
        "count": one.count,
        "cause": body.get("cause", []),
        "certainty": body.get("certainty"),
        "found_at": one.at,
        "last_seen_at": one.seen_at,
        "origin": body.get("origin", []),
        "incident": incident and as_uid(incident),
        "of": one.of,
        "presumed": one.fate == "presumed_lost",
    }


def _dispatch(fact: Fact, one: Sent) -> Mapping[str, Any]:
    body = one.body
    return {
        "version": one.seq,
        "fact": one.by,
        "site_id": fact.log_id,
        "batch_id": one.batch,
        "count": one.count,
        "returned": one.returned,
        "certificate": _uid(body.get("certificate")),
        "buyer": _uid(body.get("buyer")),
        "to_site_id": _uid(body.get("site")),
        "at": one.at,
    }


def _uid(text: str | None) -> UUID | None:
    return None if text is None else as_uid(text)
