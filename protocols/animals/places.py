"""Placements, moves, splits and joins: which batch there is, and where it stands."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from typing import Any
from uuid import UUID

from protocols.animals.headcounts import leave_behind
from protocols.animals.kept import Animals, Begun, Came, Misfit, Spot, Stood
from protocols.codes import join_of
from protocols.told import Happening
from protocols.uids import as_uid
from protocols.versions import Versions


def place(found: Animals, one: Happening) -> None:
    """A new batch, out of lines."""
    body = one.body
    uid = _unused(found, as_uid(body["batch"]))
    stay = _stay(found, one, uid, body)
    name = f"{body['protocol']}@{body['version']}"
    found.begun[uid] = Begun(uid, one.uid, name, one.first.performed_at)
    for source in body["from"]:
        if "line" in source:
            line = as_uid(source["line"])
            found.came.append(Came(one.uid, uid, line, source["count"]))
            found.go(one, Spot(line, "received"), Spot(uid, "alive"), source["count"])
    found.put(stay)


def move(found: Animals, one: Happening) -> None:
    """One stay ends, the next begins; who was not found there is unaccounted."""
    body = one.body
    batch = found.batch(as_uid(body["batch"])).uid
    ended = found.stood.get(as_uid(body["ended_stay"]))
    if ended is None or ended.batch != batch:
        raise Misfit("contradicts_record", "The batch never was in that stay.")
    if ended.ended_by is not None:
        text = "They were split or joined out of that stay."
        raise Misfit("contradicts_record", text)
    stay = _stay(found, one, batch, body)
    found.put(replace(ended, ended=one.when, ended_by=one.uid), stay)
    leave_behind(found, one, ended)


def split(found: Animals, one: Happening) -> None:
    """The batch goes on in its parts, each a batch of its own in its own stay."""
    parent = found.batch(as_uid(one.body["batch"]))
    parts: Sequence[Mapping[str, Any]] = one.body["parts"]
    stay = _stay_to_end(found, parent)
    if sum(part["count"] for part in parts) != found.n(parent.uid, "alive"):
        raise Misfit("split_sum", "The parts must add up to those alive.")
    if any(
        part["stays_here"] and as_uid(part["container"]) != stay.container for part in parts
    ):
        raise Misfit("contradicts_record", "They were in another container.")
    children = [_unused(found, as_uid(part["batch"])) for part in parts]
    stays = [_stay(found, one, uid, part) for uid, part in zip(children, parts, strict=True)]
    _end(found, parent, stay, one)
    for uid, part in zip(children, parts, strict=True):
        _begin(found, one, uid, [parent])
        found.go(one, Spot(parent.uid, "alive"), Spot(uid, "alive"), part["count"])
    found.put(*stays)


def join(found: Animals, one: Happening) -> None:
    """All members go on as one batch, in one stay.

    A join made by rule, as others were in the container, is none once they had left by then.
    """
    body = one.body
    names = dict.fromkeys(as_uid(uid) for uid in body["members"])
    members = [found.batch(uid) for uid in names]
    if len(members) < 2:
        raise Misfit("contradicts_record", "A join is of two batches or more.")
    put_in = [stay for member in members if (stay := _put_in(found, member, one))]
    if put_in and not _is_anybody_there(found, members, as_uid(body["container"])):
        _never_joined(found, one, put_in)
        return
    stays = [_put_in(found, member, one) or _stay_to_end(found, member) for member in members]
    there = [stay for stay in stays if str(stay.batch) not in body["came_in"]]
    if any(stay.container != as_uid(body["container"]) for stay in there):
        raise Misfit("contradicts_record", "They were in another container.")
    uid = _unused(found, as_uid(body["batch"]))
    kits = [stay.kit for stay in there if stay.kit is not None]
    kit = body.get("kit") or next(iter(kits), None)
    stay = _stay(found, one, uid, {**body, "kit": kit})
    for member, left in zip(members, stays, strict=True):
        _end(found, member, left, one)
        alive = max(found.n(member.uid, "alive"), 0)
        found.go(one, Spot(member.uid, "alive"), Spot(uid, "alive"), alive)
    _begin(found, one, uid, members)
    found.put(stay)


def _is_anybody_there(found: Animals, members: Sequence[Begun], container: UUID) -> bool:
    stays = (found.open_stay(member.uid) for member in members)
    return any(stay is not None and stay.container == container for stay in stays)


def _never_joined(found: Animals, one: Happening, put_in: Sequence[Stood]) -> None:
    """Those to be joined had left by then: who was put in stood there alone."""
    found.put(*(replace(stay, ended=None, ended_by=None) for stay in put_in))
    found.void.add(one.uid)
    found.never.add(as_uid(one.body["batch"]))


def _begin(found: Animals, one: Happening, uid: UUID, parents: Sequence[Begun]) -> None:
    """A batch that came out of others, under the strictest of their protocols."""
    found.begun[uid] = Begun(
        uid=uid,
        by=one.uid,
        protocol=_strictest(found.versions, (parent.protocol for parent in parents)),
        placed_at=max(parent.placed_at for parent in parents),
        parents=tuple(parent.uid for parent in parents),
    )


def _unused(found: Animals, uid: UUID) -> UUID:
    if uid in found.begun:
        raise Misfit("contradicts_record", "There is such a batch already.")
    return uid


def _stay(found: Animals, one: Happening, batch: UUID, body: Mapping[str, Any]) -> Stood:
    """The stay that begins. Who is put in with others is there for no time."""
    uid, kit = as_uid(body["stay"]), body.get("kit")
    if uid in found.stood:
        raise Misfit("contradicts_record", "There is such a stay already.")
    joins = bool(body.get("joins"))
    return Stood(
        uid=uid,
        batch=batch,
        container=as_uid(body["container"]),
        kit=None if kit is None else as_uid(kit),
        began=one.when,
        began_by=one.uid,
        ended=one.when if joins else None,
        ended_by=join_of(one.uid, batch) if joins else None,
    )


def _stay_to_end(found: Animals, batch: Begun) -> Stood:
    """The stay the batch is in."""
    stay = found.open_stay(batch.uid)
    if stay is None or batch.passed_on is not None or not found.is_somebody_left(batch.uid):
        raise Misfit("batch_closed", "Nobody of the batch is here any more.")
    return stay


def _put_in(found: Animals, batch: Begun, join: Happening) -> Stood | None:
    """The stay for no time, into which the batch was put for this join."""
    stays = (stay for stay in found.stays_of(batch.uid) if stay.ended_by == join.uid)
    return next(stays, None)


def _end(found: Animals, batch: Begun, stay: Stood, one: Happening) -> None:
    found.put(replace(stay, ended=one.when, ended_by=one.uid))
    found.begun[batch.uid] = replace(batch, passed_on=one.uid, closed_at=one.first.performed_at)


def _strictest(versions: Versions, keys: Iterable[str]) -> str:
    def strictness(key: str) -> tuple[Any, ...]:
        version = versions.of(key)
        return version.span_least, version.moves_least, key

    return max(keys, key=strictness)
