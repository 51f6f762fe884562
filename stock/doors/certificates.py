"""Certificates: issued, suspended, lifted, superseded, revoked."""

from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import Any
from uuid import UUID

from protocols import issuing
from protocols.seller_words import against_record
from protocols.values import Reason, Standing
from stock import access, names
from stock.answers import Answered
from stock.certificates import told_of
from stock.doors.certified_text import Text, seal, write
from stock.doors.door import Asking, Door, enter, shown_fact
from stock.doors.signing_keys import publish_key
from stock.ledger import Told
from stock.models import Batch, Certificate, Fact, Log, Site
from stock.queries.certificates import shown_certificate, standing_of
from stock.queries.certified import borne_out, leaves_of
from stock.queries.examined import Examined, examine, with_tasks
from stock.refusals import Refused, refuse

ATTEMPTS = 3


@dataclass(frozen=True, slots=True)
class Wanted:
    """A certificate to be: for how many of which batch, under which address of the service.

    `adds` are words of the seller's own.
    """

    batch: UUID
    count: int
    address: str
    adds: str
    uid: UUID
    fact: UUID
    instead_of: Certificate | None = None


@dataclass(frozen=True, slots=True)
class Ground:
    """What was read under the lock."""

    log: Log
    batch: Batch
    examined: Examined


def issue_certificate(
    asking: Asking, *, site: Site, batch: UUID, count: int, address: str, adds: str = ""
) -> Answered:
    """Sign what is known of a batch now. Only what nothing stands against is certified."""
    access.site_for(asking.person, site.uid, access.MANAGERS)
    asking = _at_once(asking)
    return _until_numbered(asking, site, _wanted(asking, batch, count, address, adds))


def supersede_certificate(
    asking: Asking, *, certificate: UUID, count: int | None, address: str, adds: str = ""
) -> Answered:
    """It stands no longer. With a count, another one takes its place in the same change."""
    row, site = access.certificate_for(asking.person, certificate, access.MANAGERS)
    if count is None:
        return _change(asking, row, site, "certificate_superseded", address)
    asking = _at_once(asking)
    wanted = _wanted(asking, row.batch_id, count, address, adds)
    return _until_numbered(asking, site, replace(wanted, instead_of=row))


def suspend_certificate(asking: Asking, *, certificate: UUID, address: str) -> Answered:
    """It is worth nothing until it is lifted."""
    row, site = access.certificate_for(asking.person, certificate, access.DECIDERS)
    return _change(asking, row, site, "certificate_suspended", address)


def lift_certificate(asking: Asking, *, certificate: UUID, address: str) -> Answered:
    """What it was suspended for is settled."""
    row, site = access.certificate_for(asking.person, certificate, access.MANAGERS)
    return _change(asking, row, site, "certificate_lifted", address)


def revoke_certificate(asking: Asking, *, certificate: UUID, address: str) -> Answered:
    """It must not count any more, for good. Its number stays, visibly revoked."""
    row, site = access.certificate_for(asking.person, certificate, access.MANAGERS)
    return _change(asking, row, site, "certificate_revoked", address)


def _at_once(asking: Asking) -> Asking:
    """The service itself does it, now: nothing of it can have happened elsewhere before."""
    performed_at = max(asking.performed_at, asking.now)
    return replace(asking, standing=Standing.ASKED, performed_at=performed_at, device=None)


def _wanted(asking: Asking, batch: UUID, count: int, address: str, adds: str) -> Wanted:
    fact = names.new_uid(asking.now)
    return Wanted(batch, count, address, adds.strip(), asking.new_uid(), fact)


def _until_numbered(asking: Asking, site: Site, wanted: Wanted) -> Answered:
    """Two sites of one organisation that certify at once want the same number.

    The database gives it to one; the other begins anew, with the next number. A lock on the
    organisation would decide the same, but whoever holds two locks needs an order of locks,
    and something so rare would make all sites wait for each other.
    """
    publish_key(asking)
    for _ in range(ATTEMPTS - 1):
        try:
            return _issue(asking, site, wanted)
        except Refused as refused:
            if refused.code != "busy":
                raise
    return _issue(asking, site, wanted)


def _issue(asking: Asking, site: Site, wanted: Wanted) -> Answered:
    return enter(
        asking,
        site.uid,
        Door(
            load=lambda log: _ground(asking, log, wanted),
            ask=lambda ground: _reasons(asking, ground, wanted),
            tell=lambda ground: _told(asking, ground, wanted),
            show=lambda ground: {
                "fact": shown_fact(Fact.objects.get(uid=wanted.fact)),
                **_shown(asking, wanted.uid, wanted.address),
            },
        ),
    )


def _ground(asking: Asking, log: Log, wanted: Wanted) -> Ground:
    batch = Batch.objects.select_related("site__organisation").get(uid=wanted.batch)
    standing, instead_of = standing_of(batch.uid), wanted.instead_of
    if standing is not None and (instead_of is None or standing.uid != instead_of.uid):
        raise Refused(
            issuing.standing_reason(standing.number),
            existing=shown_certificate(standing, asking.now, wanted.address),
        )
    return Ground(log, batch, examine(batch.uid, asking.now))


def _reasons(asking: Asking, ground: Ground, wanted: Wanted) -> Iterator[Reason]:
    """Everything at once, and the warnings too where something blocks."""
    found, row = ground.examined.found, wanted.instead_of
    steps = () if row is None else _step_reasons(asking, row, "certificate_superseded")
    borne = borne_out(ground.batch, ground.examined) if wanted.adds else None
    words = () if borne is None else against_record(wanted.adds, borne)
    reasons = (*steps, *issuing.may_issue(wanted.count, found), *words)
    if reasons and not found.may_be_issued:
        raise Refused(*with_tasks(wanted.batch, reasons), code="not_certifiable")
    yield from reasons


def _told(asking: Asking, ground: Ground, wanted: Wanted) -> Iterator[Told]:
    """The batch sealed, then the certificate, which says where the book stands after that."""
    batch = ground.batch
    if wanted.instead_of is not None:
        yield _step(asking, wanted.instead_of, "certificate_superseded", by=wanted.uid)
    leaves = leaves_of(ground.examined.family)
    sealed = seal(ground.log, leaves)
    entries, head = sealed.batch_entries, sealed.batch_head.hex()
    yield Told("batch_sealed", {"batch": batch.uid, "entries": entries, "head": head})
    text = Text(wanted.uid, batch, wanted.count, wanted.address, asking.now, wanted.adds)
    body = write(text, ground.examined, seal(ground.log, leaves))
    yield Told("certificate_issued", body, uid=wanted.fact, texts=asking.texts)


def _change(asking: Asking, row: Certificate, site: Site, step: str, address: str) -> Answered:
    at_once = _at_once(asking)
    return enter(
        at_once,
        site.uid,
        Door(
            load=lambda log: None,
            ask=lambda _: _step_reasons(at_once, row, step),
            tell=lambda _: (_step(at_once, row, step),),
            show=lambda _: _shown(at_once, row.uid, address),
        ),
    )


def _step_reasons(asking: Asking, row: Certificate, step: str) -> Iterator[Reason]:
    if not asking.reason:
        yield refuse("reason_missing", "Say why.", pointer="/reason")
    told = told_of(row)
    yield from issuing.may_follow(step, told.state, held_by_rule=told.by_rule)


def _step(asking: Asking, row: Certificate, step: str, by: UUID | None = None) -> Told:
    body = {"certificate": row.uid, "batch": row.batch_id, "cause": asking.reason, "by": by}
    return Told(step, body, texts=asking.texts if by is None else {})


def _shown(asking: Asking, uid: UUID, address: str) -> dict[str, Any]:
    row = Certificate.objects.select_related("site").get(uid=uid)
    return {"certificate": shown_certificate(row, asking.now, address)}
