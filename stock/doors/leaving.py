"""Animals leave, to a buyer or to another site of ours, and some come back."""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any
from uuid import UUID

from protocols.leaving import Leaving, may_dispatch
from protocols.losses import certificate_covers, is_settled, may_return
from protocols.values import Judgement, Reason
from stock import access
from stock.answers import Answered
from stock.doors.door import Asking, Door, enter
from stock.judging.load import judged
from stock.ledger import Told
from stock.models import Certificate, Dispatch, Site
from stock.queries.certificates import worth_of
from stock.queries.counts import batches_now, dispatch_shown, living
from stock.queries.leaving import covered_by, newest_dispatch, parked_about, standing_cover
from stock.refusals import NotFound, Refused, refuse


@dataclass(frozen=True, slots=True)
class DispatchAsked:
    """So many of a batch for somebody: a buyer (a name or a uid), or another site of ours."""

    batch: UUID
    count: int
    buyer: str | None = None
    site: UUID | None = None
    certificate: UUID | None = None


@dataclass(frozen=True, slots=True)
class Departure:
    """What is true of the batch, and of the certificate that is to go with the animals."""

    now: Leaving
    parked: int
    certificate: Certificate | None
    worth: str = ""  # what the certificate is worth now, bad news counted in


def dispatch_animals(asking: Asking, *, asked: DispatchAsked) -> Answered:
    """Hand over some of a batch."""
    _, site = access.batch_for(asking.person, asked.batch, access.HANDS)
    _somebody_gets_them(asked, site)
    uid, buyer = asking.new_uid(), _as_uid(asked.buyer)
    name = {} if asked.buyer is None or buyer else {"buyer": asked.buyer}
    body = {
        "dispatch": uid,
        "batch": asked.batch,
        "count": asked.count,
        "certificate": asked.certificate,
        "buyer": buyer,
        "site": asked.site,
    }
    return enter(
        asking,
        site.uid,
        Door(
            load=lambda log: _departure(asking, asked),
            ask=lambda world: _reasons(world, asked.count),
            tell=lambda _: (Told("animals_dispatched", body, texts={**asking.texts, **name}),),
            show=lambda world: {
                "dispatch": dispatch_shown(uid),
                "warnings": _warnings(world, asked.count),
                **_left(asking, asked.batch),
            },
            shows_parked=True,
        ),
    )


def take_back(
    asking: Asking, *, batch: UUID, count: int, state: str, dispatch: UUID | None = None
) -> Answered:
    """Some of those that left come back: counted, but unsafe until they are placed anew."""
    _, site = access.batch_for(asking.person, batch, access.HANDS)
    sent = newest_dispatch(batch) if dispatch is None else dispatch
    if sent is None or not Dispatch.objects.filter(uid=sent, batch=batch).exists():
        raise NotFound
    body = {"dispatch": sent, "count": count, "state": state}
    return enter(
        asking,
        site.uid,
        Door(
            load=lambda log: Dispatch.objects.get(uid=sent),
            ask=lambda row: may_return(row.count, row.returned, count),
            tell=lambda _: (Told("animals_returned", body, about=batch, texts=asking.texts),),
            show=lambda _: {"dispatch": dispatch_shown(sent), **_left(asking, batch)},
            shows_parked=True,
        ),
    )


def _departure(asking: Asking, asked: DispatchAsked) -> Departure:
    judgement = judged(asked.batch, asking.performed_at)
    certificate = None
    if asked.certificate is not None:
        certificate = Certificate.read(uid=asked.certificate, batch=asked.batch)
        if certificate is None:
            raise NotFound
    worth = worth_of(certificate, asking.now).state.state if certificate else ""
    now = _now(asking, judgement, asked)
    return Departure(now, parked_about(asked.batch), certificate, worth)


def _now(asking: Asking, judgement: Judgement, asked: DispatchAsked) -> Leaving:
    alive = living([asked.batch])[asked.batch]
    return Leaving(
        state="closed" if alive.closed else judgement.state,
        alive=alive.alive,
        certified=standing_cover(asked.batch, asking.now),
        held=bool(judgement.holds),
        to_buyer=asked.site is None,
    )


def _reasons(world: Departure, count: int) -> Iterator[Reason]:
    yield from may_dispatch(count, world.now)
    yield from is_settled(world.parked)
    if world.certificate is not None:
        left = covered_by(world.certificate)
        yield from certificate_covers(world.worth, left, count)


def _warnings(world: Departure, count: int) -> list[dict[str, Any]]:
    """What does not stand against it, but should be known to whoever does it."""
    found = (one for one in _reasons(world, count) if not one.blocks)
    return [{"code": one.code, "text": one.text, "numbers": dict(one.numbers)} for one in found]


def _somebody_gets_them(asked: DispatchAsked, site: Site) -> None:
    if (asked.buyer is None) == (asked.site is None):
        text = "Say who gets them: a buyer, or another site."
        raise Refused(refuse("unreadable", text, pointer="/buyer"))
    ours = Site.objects.filter(organisation=site.organisation_id).exclude(uid=site.uid)
    if asked.site is not None and not ours.filter(uid=asked.site).exists():
        raise NotFound


def _left(asking: Asking, batch: UUID) -> dict[str, Any]:
    return {
        "batch": batches_now([batch], asking.now)[0],
        "left": living([batch])[batch].alive,
    }


def _as_uid(text: str | None) -> UUID | None:
    """A buyer is known by a uid, or by a name that can be erased."""
    try:
        return None if text is None else UUID(text)
    except ValueError:
        return None
