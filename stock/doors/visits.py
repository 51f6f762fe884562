"""An inspector's visit: a reading right for a while, opened on the spot by a manager.

They get a link that is good once; the browser that begins the visit reads with a secret of its
own. Only digests of both are kept. What they are shown is listed, and its digest entered when
the visit is closed.
"""

import secrets
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from uuid import UUID

from django.db import transaction
from django.db.models import Max

from protocols.clocks import utc_text
from protocols.values import Reason
from protocols.visits import may_open
from stock import access
from stock.answers import Answered
from stock.doors.door import Asking, Door, enter
from stock.ledger import Told
from stock.models import Batch, Visit, VisitPage
from stock.queries.people import token_digest
from stock.queries.reports import REPORTS, Asked
from stock.queries.visits import AUTHORITY, VISITOR, visit_of
from stock.refusals import NotFound, Refused, refuse
from stock.visiting import closing


@dataclass(frozen=True, slots=True)
class VisitAsked:
    """Who comes, and which reports of which days and batches they may see; none: all batches.

    `may_take` lets them take files away as well.
    """

    visitor: str
    authority: str
    begins: datetime
    ends: datetime
    reports: Sequence[str]
    batches: Sequence[UUID]
    lasts: timedelta
    may_take: bool = False


def open_visit(asking: Asking, *, site: UUID, asked: VisitAsked) -> tuple[Answered, str]:
    """Open it; the secret of its link is told this once.

    Asked again under the same key before it is begun, it is the same visit with another link.
    Raises NotFound, Refused (unreadable).
    """
    access.site_for(asking.person, site, access.MANAGERS)
    codes = _codes(site, asked.batches)
    uid, secret = asking.new_uid(), secrets.token_urlsafe(32)
    body = {
        "visit": uid,
        "from": utc_text(asked.begins),
        "to": utc_text(asked.ends),
        "reports": list(asked.reports),
        "batches": codes,
        "may_take": asked.may_take,
        "ends": utc_text(asking.now + asked.lasts),
    }
    texts = {**asking.texts, VISITOR: asked.visitor, AUTHORITY: asked.authority}

    def ask(_: object) -> Iterator[Reason]:
        yield from may_open(
            asked.begins, asked.ends, reports=asked.reports, known=REPORTS, lasts=asked.lasts
        )

    def make(_: object) -> None:
        Visit.objects.create(
            uid=uid,
            site=site,
            link=token_digest(secret),
            opened_by=asking.person.uid,
            opened_at=asking.now,
            ends_at=asking.now + asked.lasts,
            begins=asked.begins,
            ends=asked.ends,
            reports=list(asked.reports),
            batches=[str(one) for one in asked.batches],
            may_take=asked.may_take,
        )

    answer = enter(
        asking,
        site,
        Door(
            load=lambda log: None,
            ask=ask,
            tell=lambda _: (Told("visit_opened", body, texts=texts),),
            act=make,
            show=lambda _: {"visit": {"uid": str(uid), "ends_at": body["ends"]}},
        ),
    )
    if answer.replayed:
        _link_anew(UUID(str(answer.body["visit"]["uid"])), secret)
    return answer, secret


def _link_anew(uid: UUID, secret: str) -> None:
    changed = Visit.objects.filter(uid=uid, begun_at=None, closed_at=None)
    if not changed.update(link=token_digest(secret)):
        raise Refused(refuse("already_applied", "This visit has begun or is over."))


def begin_visit(visit: Visit, *, now: datetime) -> str:
    """Bind it to the browser that asks; its secret, told this once.

    Raises Refused (already_applied) where another browser was sooner, or it is over.
    """
    secret = secrets.token_urlsafe(32)
    unbegun = Visit.objects.filter(uid=visit.uid, begun_at=None, closed_at=None)
    if not unbegun.filter(ends_at__gt=now).update(session=token_digest(secret), begun_at=now):
        raise Refused(refuse("already_applied", "This link was used, or its time is over."))
    return secret


def note_shown(
    visit: Visit, *, report: str, how: str, asked: Asked, sha256: str, now: datetime
) -> None:
    """Write down that something was shown, before it is; the same again stands there again.

    Raises Refused (already_applied) where the visit was closed meanwhile.
    """
    with transaction.atomic():
        row = Visit.objects.select_for_update().filter(uid=visit.uid, closed_at=None).first()
        if row is None:
            raise Refused(refuse("already_applied", "This visit is over."))
        last = row.pages.aggregate(n=Max("n"))["n"] or 0
        VisitPage.objects.create(
            visit=row,
            n=last + 1,
            at=now,
            report=report,
            how=how,
            begins=asked.begins,
            ends=asked.ends,
            known_by=asked.known_by,
            sha256=sha256,
        )


def close_visit(asking: Asking, *, visit: UUID) -> Answered:
    """A manager ends it: nothing more is shown, and what was is entered."""
    row = visit_of(visit)
    access.site_for(asking.person, row.site, access.MANAGERS)

    def load(_: object) -> Visit:
        return Visit.objects.select_for_update().get(uid=visit)

    def ask(found: Visit) -> Iterator[Reason]:
        if found.closed_at is not None:
            yield refuse("already_applied", "This visit is over.")

    def end(_: Visit) -> None:
        Visit.objects.filter(uid=visit).update(closed_at=asking.now, session=None)

    return enter(
        asking,
        row.site,
        Door(
            load=load,
            ask=ask,
            tell=lambda found: (closing(found),),
            act=end,
            show=lambda _: {"visit": {"uid": str(visit), "closed_at": utc_text(asking.now)}},
        ),
    )


def _codes(site: UUID, batches: Sequence[UUID]) -> list[str]:
    """The codes of these batches; one of another site is not there."""
    found = Batch.objects.filter(site=site, uid__in=batches)
    codes = sorted(found.values_list("code", flat=True))
    if len(codes) < len(set(batches)):
        raise NotFound
    return codes
