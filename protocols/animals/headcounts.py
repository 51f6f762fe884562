"""Losses, the missing and the found, births, and animals that leave or come back."""

from collections.abc import Mapping
from dataclasses import replace
from typing import Any
from uuid import UUID

from protocols.animals.kept import Animals, Begun, Lost, Misfit, Missed, Sent, Spot, Stood
from protocols.clocks import parse_utc
from protocols.codes import fact_uid
from protocols.headcount import not_found
from protocols.told import Happening
from protocols.uids import as_uid


def lose(found: Animals, one: Happening) -> None:
    body, batch = one.body, found.somewhere(as_uid(one.body["batch"]))
    found.go(one, Spot(batch, "alive"), Spot(batch, body["fate"]), body["count"])
    found.lost[one.uid] = _lost(one, body, one.uid, batch, body["fate"], body["count"])


def miss(found: Animals, one: Happening) -> None:
    batch = found.somewhere(as_uid(one.body["batch"]))
    _miss(found, one, batch, as_uid(one.body["container"]), one.body["count"])


def leave_behind(found: Animals, move: Happening, ended: Stood) -> None:
    """Who a move did not find is unaccounted, and was last in the container they left."""
    if missing := not_found(move):
        _miss(found, move, ended.batch, ended.container, missing)


def find(found: Animals, one: Happening) -> None:
    """Found dead is a loss; found alive where the others are, they are one batch again."""
    body, missing = one.body, _missing(found, one)
    batch, count = found.batch(missing.batch), body["count"]
    apart = as_uid(body.get("batch", batch.uid))
    _were_missed(found, missing, count)
    if not body["alive"]:
        _take_back(found, one, missing, Spot(batch.uid, "dead"))
        _lose_missing(found, one, missing, "dead")
    elif apart != batch.uid:
        _set_apart(found, one, missing, apart)
    else:
        _are_one_again(batch)
        _take_back(found, one, missing, Spot(batch.uid, "alive"))


def presume(found: Animals, one: Happening) -> None:
    missing, count = _missing(found, one), one.body["count"]
    if missing.open < count:
        raise Misfit("contradicts_record", "So many are not missing there.")
    batch = missing.batch
    found.go(one, Spot(batch, "unaccounted"), Spot(batch, "presumed_lost"), count)
    found.missed[missing.by] = replace(missing, open=missing.open - count)
    _lose_missing(found, one, missing, "presumed_lost")


def bear(found: Animals, one: Happening) -> None:
    batch = found.batch(as_uid(one.body["batch"]))
    _are_one_again(batch)
    found.go(one, Spot(batch.uid, "outside"), Spot(batch.uid, "alive"), one.body["count"])


def send(found: Animals, one: Happening) -> None:
    """Sold to a buyer, or on the way to another site of the same organisation."""
    body, batch = one.body, found.somewhere(as_uid(one.body["batch"]))
    place = "on_the_way" if "site" in body else "sold"
    uid = as_uid(body["dispatch"])
    if uid in found.sent:
        raise Misfit("contradicts_record", "That dispatch is on record already.")
    found.go(one, Spot(batch, "alive"), Spot(batch, place), body["count"])
    found.sent[uid] = Sent(
        uid=uid,
        by=one.uid,
        batch=batch,
        count=body["count"],
        place=place,
        at=one.first.performed_at,
        body=body,
        seq=one.first.seq,
    )


def take_back(found: Animals, one: Happening) -> None:
    """Who came back is returned, not alive: unsafe until placed anew, as a new batch."""
    sent, count = found.sent.get(as_uid(one.body["dispatch"])), one.body["count"]
    if sent is None:
        raise Misfit("not_found", "There is no such dispatch here.")
    if sent.returned + count > sent.count:
        raise Misfit("contradicts_record", "So many did not leave.")
    found.go(one, Spot(sent.batch, sent.place), Spot(sent.batch, "returned"), count)
    seq = max(sent.seq, one.first.seq)
    found.sent[sent.uid] = replace(sent, returned=sent.returned + count, seq=seq)


def attribute(found: Animals, one: Happening) -> None:
    """A report as somebody settled it: so many of each batch named, as of its own time.

    Lines that the report names are those of its own batch.
    """
    body, fate, report = one.body, one.body["fate"], one.body["report"]
    parts = {as_uid(part["batch"]): part["count"] for part in body["attribution"]}
    for batch in parts:
        found.somewhere(batch)
    for batch, count in parts.items():
        found.go(one, Spot(batch, "alive"), Spot(batch, fate), count)
        by = fact_uid(as_uid(body["settled_by"]), "loss_recorded", batch)
        own = report.get("batch") == str(batch)
        told = report if own else {**report, "origin": []}
        found.lost[by] = _lost(one, told, by, batch, fate, count)


def _lost(
    one: Happening, body: Mapping[str, Any], by: UUID, batch: UUID, fate: str, count: int
) -> Lost:
    found_at, seen = body.get("found_at"), body.get("last_seen_at")
    return Lost(
        by=by,
        batch=batch,
        fate=fate,
        count=count,
        at=parse_utc(found_at) if found_at else one.when.earliest,
        seen_at=parse_utc(seen) if seen else None,
        body=body,
    )


def _miss(found: Animals, one: Happening, batch: UUID, container: UUID, count: int) -> None:
    found.go(one, Spot(batch, "alive"), Spot(batch, "unaccounted"), count)
    at = one.when.earliest
    found.missed[one.uid] = Missed(one.uid, batch, container, count, count, at)


def _missing(found: Animals, one: Happening) -> Missed:
    missing = found.missed.get(as_uid(one.body["of"]))
    if missing is None:
        raise Misfit("contradicts_record", "Nobody was missed there.")
    return missing


def _presumed(found: Animals, missing: Missed) -> list[Lost]:
    lost = (one for one in found.lost.values() if one.of == missing.by)
    return [one for one in lost if one.fate == "presumed_lost"]


def _were_missed(found: Animals, missing: Missed, count: int) -> None:
    presumed = sum(one.count for one in _presumed(found, missing))
    if count > missing.open + presumed:
        raise Misfit("contradicts_record", "So many were not missed there.")


def _take_back(found: Animals, one: Happening, missing: Missed, end: Spot) -> None:
    """Those found go to `end`: first who is still missing, then who was presumed lost."""
    still = min(one.body["count"], missing.open)
    lost = one.body["count"] - still
    found.go(one, Spot(missing.batch, "unaccounted"), end, still)
    found.go(one, Spot(missing.batch, "presumed_lost"), end, lost)
    found.missed[missing.by] = replace(missing, open=missing.open - still)
    for loss in _presumed(found, missing):
        left = max(loss.count - lost, 0)
        lost -= loss.count - left
        found.lost[loss.by] = replace(loss, count=left)
        if not left:
            del found.lost[loss.by]


def _set_apart(found: Animals, one: Happening, missing: Missed, uid: UUID) -> None:
    """A batch of its own, which goes on in the stay in which its animals were left."""
    parent, left = found.batch(missing.batch), _stay_left(found, missing)
    if "stay" not in one.body:
        raise Misfit("not_found", "There is no such container here.")
    if uid in found.begun or as_uid(one.body["stay"]) in found.stood:
        raise Misfit("contradicts_record", "There is such a batch or stay already.")
    found.begun[uid] = Begun(
        uid, one.uid, parent.protocol, parent.placed_at, parents=(parent.uid,)
    )
    _take_back(found, one, missing, Spot(uid, "alive"))
    container = as_uid(one.body["container"])
    stay = as_uid(one.body["stay"])
    found.put(Stood(stay, uid, container, None, began=left.began, began_by=one.uid))


def _stay_left(found: Animals, missing: Missed) -> Stood:
    """Where the batch stood when they were missed, in that container if it was there."""
    stays = found.stays_of(missing.batch)
    before = [stay for stay in stays if stay.began.earliest <= missing.at]
    there = [stay for stay in before if stay.container == missing.container]
    if not before:
        raise Misfit("contradicts_record", "The batch was in no stay then.")
    return max(there or before, key=lambda stay: (stay.began.earliest, stay.uid))


def _lose_missing(found: Animals, one: Happening, missing: Missed, fate: str) -> None:
    """Of those who were missed so many are dead, or presumed lost."""
    found.lost[one.uid] = Lost(
        by=one.uid,
        batch=missing.batch,
        fate=fate,
        count=one.body["count"],
        at=one.when.earliest,
        of=missing.by,
        seen_at=missing.at,
    )


def _are_one_again(batch: Begun) -> None:
    if batch.passed_on is not None:
        text = "They were split or joined: tell it of the batch in which they are now."
        raise Misfit("batch_closed", text)
