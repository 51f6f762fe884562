"""What raises a question: signs, incidents, contacts; and holds until it is answered."""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any
from uuid import UUID

from protocols.incidents import WithinReach, may_have_come_from
from protocols.losses import may_show_sign, may_touch
from protocols.values import Reason
from stock import access
from stock.access import Person, Site
from stock.answers import Answered
from stock.doors.door import Asking, Door, enter
from stock.ledger import Told
from stock.models import Batch, Container, HoldRow, Instrument, Kit, Piece, Thing
from stock.queries.contacts import batches_there, container_of, exposures_shown
from stock.queries.counts import batches_now, hold_for, hold_shown, living
from stock.queries.neighbours import proximities_shown, within_reach
from stock.refusals import NotFound, Refused, refuse

# What can touch, or be touched.
TOUCHED: tuple[type[Thing], ...] = (Batch, Container, Kit, Piece, Instrument)


def record_sign(
    asking: Asking, *, batch: UUID, signs: Iterable[str], affected: int
) -> Answered:
    """A sign of illness on so many of a batch: all of it is suspected, as it shares water."""
    _, site = access.batch_for(asking.person, batch, access.HANDS)
    uid = asking.new_uid()
    body = {"batch": batch, "signs": list(signs), "affected": affected}
    return enter(
        asking,
        site.uid,
        Door(
            load=lambda log: living([batch])[batch],
            ask=lambda alive: may_show_sign(alive, affected),
            tell=lambda _: (Told("sign_seen", body, uid=uid, texts=asking.texts),),
            show=lambda _: {
                "sign": {"uid": uid, **body},
                **_concerned(asking, site, [batch], sign=uid),
            },
            shows_parked=True,
        ),
    )


@dataclass(frozen=True, slots=True)
class Near:
    """The batches that an incident names, and where else its animals may have come from."""

    batches: list[UUID]
    reach: Sequence[WithinReach] = ()


def record_incident(
    asking: Asking,
    *,
    batch: UUID | None,
    container: UUID | None,
    kind: str,
    what: Mapping[str, Any],
    container_unsure: bool = False,
) -> Answered:
    """Something that may become a loss, or has to be looked after. No count changes.

    Where nobody is sure which container it came from, all within reach are counted first.
    """
    named = [uid for uid in (batch, container) if uid is not None]
    site = site_of_named(asking.person, named)
    uid = asking.new_uid()
    said = {**what, **({"container_unsure": True} if container_unsure else {})}
    body = {"batch": batch, "container": container, "kind": kind, "what": said}

    def load(_: object) -> Near:
        batches = batches_there(named, asking.performed_at)
        where = container or container_of(batches, asking.performed_at)
        if not container_unsure or where is None:
            return Near(batches)
        return Near(batches, within_reach(site.uid, where, asking.performed_at))

    return enter(
        asking,
        site.uid,
        Door(
            load=load,
            ask=lambda near: may_have_come_from(near.reach),
            tell=lambda _: (Told("incident_recorded", body, uid=uid, texts=asking.texts),),
            show=lambda near: {
                "incident": {"uid": uid, **body},
                **_concerned(asking, site, near.batches),
            },
            shows_parked=True,
        ),
    )


def record_contact(
    asking: Asking, *, begin: UUID, end: UUID, way: str, thing: UUID | None
) -> Answered:
    """Something went from one to the other: a question for whoever was there."""
    named = [begin, end]
    site = site_of_named(asking.person, [*named, *([thing] if thing else [])])
    uid = asking.new_uid()
    body = {"from": begin, "to": end, "way": way, "thing": thing}
    return enter(
        asking,
        site.uid,
        Door(
            load=lambda log: batches_there(named, asking.performed_at),
            ask=lambda _: may_touch(begin, end),
            tell=lambda _: (Told("contact_seen", body, uid=uid, texts=asking.texts),),
            show=lambda there: {
                "contact": {"uid": uid, **body},
                **_concerned(asking, site, there),
            },
            shows_parked=True,
        ),
    )


def place_hold(asking: Asking, *, batch: UUID, why: str) -> Answered:
    """From now on nothing of the batch is certified or leaves."""
    _, site = access.batch_for(asking.person, batch, access.DECIDERS)
    uid = asking.new_uid()
    return enter(
        asking,
        site.uid,
        Door(
            load=lambda log: None,
            ask=lambda _: (),
            tell=lambda _: (
                Told("hold_placed", {"batch": batch, "why": why}, uid=uid, texts=asking.texts),
            ),
            show=lambda _: {"hold": hold_shown(uid), "batch": _batch(asking, batch)},
            shows_parked=True,
        ),
    )


def lift_hold(asking: Asking, *, hold: UUID, why: str) -> Answered:
    """What the hold was for is answered."""
    row, site = hold_for(asking.person, hold, access.DECIDERS)

    def ask(now: HoldRow) -> Iterator[Reason]:
        if now.lifted_at is not None:
            text = "This hold was lifted before."
            yield refuse("contradicts_record", text, lifted_at=now.lifted_at)

    return enter(
        replace(asking, reason=asking.reason or why),
        site.uid,
        Door(
            load=lambda log: HoldRow.objects.get(fact=hold),
            ask=ask,
            tell=lambda _: (
                Told("hold_lifted", {"hold": hold}, about=row.batch_id, texts=asking.texts),
            ),
            show=lambda _: {"hold": hold_shown(hold), "batch": _batch(asking, row.batch_id)},
            shows_parked=True,
        ),
    )


def site_of_named(person: Person, named: Iterable[UUID]) -> Site:
    """The one site of everything named, if this person works there; else not found."""
    sites = {_site_of(person, uid) for uid in named}
    if not sites:
        text = "Say which batch or container."
        raise Refused(refuse("unreadable", text, pointer="/container"))
    if len(sites) > 1:
        raise NotFound
    return sites.pop()


def _site_of(person: Person, uid: UUID) -> Site:
    for sort in TOUCHED:
        if sort.read(uid=uid) is not None:
            return access.thing_for(person, sort, uid, access.HANDS)[1]
    raise NotFound


def _concerned(
    asking: Asking, site: Site, batches: list[UUID], sign: UUID | None = None
) -> dict[str, Any]:
    """These batches now, and by which ways something could have reached them; of a sign also
    whom it could have reached from them."""
    near = proximities_shown(batches=batches, signs=[sign] if sign else [])
    return {
        "batches": batches_now(batches, asking.now),
        "exposures": [*exposures_shown(site.uid, batches, asking.now), *near],
    }


def _batch(asking: Asking, batch: UUID) -> dict[str, Any]:
    return batches_now([batch], asking.now)[0]
