"""Keeping what was said of a move before it is recorded. No fact: nothing has happened yet."""

from collections.abc import Mapping
from datetime import datetime
from uuid import UUID

from django.db import transaction

from stock import access, lock
from stock.access import HANDS, Person
from stock.models import BegunMove, StayRow
from stock.queries.begun_moves import Begun, begun_of
from stock.refusals import NotFound, Refused, refuse

PEOPLE_MOST = 8


def keep_begun_move(
    person: Person,
    *,
    batch: UUID,
    stay: UUID,
    step: str,
    values: Mapping[str, list[str]],
    known: int,
    at: datetime,
) -> Begun:
    """Keep what was said so far, for whoever goes on with it on whichever tablet.

    `known` is the version that was seen, 0 for none. Raises NotFound; Refused with
    `stay_ended` where the move was told meanwhile, and with `changed` where somebody else
    said more meanwhile. The same again changes nothing.
    """
    row = StayRow.objects.filter(uid=stay, batch=batch).select_related("batch").first()
    if row is None:
        raise NotFound
    access.site_for(person, row.batch.site_id, HANDS)
    with transaction.atomic():
        lock.take(row.batch.site_id)  # two tablets that begin at once stand in line
        if not StayRow.objects.filter(uid=stay, ended_latest=None).exists():
            raise Refused(refuse("stay_ended", "Somebody else has told of this move."))
        return begun_of(_kept(row, person, step, values, known, at))


def forget_begun_move(stay: UUID) -> None:
    """The move out of this stay is told, or somebody begins anew. One query."""
    BegunMove.objects.filter(stay=stay).delete()


def _kept(
    stay: StayRow,
    person: Person,
    step: str,
    values: Mapping[str, list[str]],
    known: int,
    at: datetime,
) -> BegunMove:
    row = BegunMove.objects.filter(stay=stay.uid).first()
    if row is None:
        return BegunMove.objects.create(
            stay=stay.uid,
            site=stay.batch.site_id,
            batch=stay.batch_id,
            step=step,
            values=dict(values),
            people=[str(person.uid)],
            began_at=at,
            saved_at=at,
        )
    if (row.step, row.values) == (step, dict(values)) and row.people[-1] == str(person.uid):
        return row
    if row.version != known:
        raise Refused(refuse("changed", "Somebody else went on with this move meanwhile."))
    row.step, row.values, row.version = step, dict(values), row.version + 1
    row.people = _with(row.people, str(person.uid))
    row.saved_at = max(at, row.began_at)
    row.save()
    return row


def _with(people: list[str], person: str) -> list[str]:
    """The first stays the first; whoever said the last word is the last."""
    first, *others = people
    if people[-1] == person:
        return people
    later = [one for one in others if one != person]
    return [first, *later[-(PEOPLE_MOST - 2) :], person]
