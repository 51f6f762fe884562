"""Visits as managers see them, and what the holder of a link or a session may see."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime
from typing import Any
from uuid import UUID
from zoneinfo import ZoneInfo

from protocols.visits import Page
from stock.models import Batch, FactText, Person, Site, Visit
from stock.queries.batches import timed
from stock.queries.people import token_digest
from stock.refusals import NotFound

SHOWN_MOST = 100
VISITOR, AUTHORITY = "visitor", "authority"


@dataclass(frozen=True, slots=True)
class VisitSeen:
    """A visit with its site and who came, as far as that was not erased."""

    row: Visit
    site: Site
    visitor: str | None
    authority: str | None

    def goes_on(self, now: datetime) -> bool:
        return self.row.closed_at is None and now < self.row.ends_at


def visit_by_link(secret: str) -> VisitSeen | None:
    """The visit that a link begins, also when it was begun. Three queries."""
    return _seen(Visit.objects.filter(link=token_digest(secret)).first())


def visit_by_session(secret: str | None) -> VisitSeen | None:
    """The visit of the browser that began it. Three queries."""
    if not secret:
        return None
    return _seen(Visit.objects.filter(session=token_digest(secret)).first())


def visit_of(uid: UUID) -> Visit:
    """Raises NotFound."""
    row = Visit.objects.filter(uid=uid).first()
    if row is None:
        raise NotFound
    return row


def pages_of(visit: Visit) -> list[Page]:
    """What was shown, in order. One query."""
    names = ("n", "at", "report", "how", "begins", "ends", "known_by", "sha256")
    return [Page(**one) for one in visit.pages.order_by("n").values(*names)]


def visits_shown(site: UUID, zone: ZoneInfo) -> list[dict[str, Any]]:
    """The newest visits of a site. Five queries."""
    rows = list(Visit.objects.filter(site=site).order_by("-opened_at", "uid")[:SHOWN_MOST])
    texts = _texts(one.uid for one in rows)
    people = dict(
        Person.objects.filter(uid__in={one.opened_by for one in rows}).values_list(
            "uid", "name"
        )
    )
    codes = _codes(rows)
    return [_shown(one, texts.get(one.uid, {}), people, codes, zone) for one in rows]


def visit_shown(visit: Visit, zone: ZoneInfo) -> dict[str, Any]:
    """One visit with everything that was shown in it. Five queries."""
    people = dict(Person.objects.filter(uid=visit.opened_by).values_list("uid", "name"))
    texts = _texts([visit.uid]).get(visit.uid, {})
    pages = [
        {
            "n": one.n,
            **timed("at", one.at, zone),
            "report": one.report,
            "how": one.how,
            "from": one.begins,
            "to": one.ends,
            "known_by": one.known_by,
            "sha256": one.sha256,
        }
        for one in pages_of(visit)
    ]
    return {**_shown(visit, texts, people, _codes([visit]), zone), "pages": pages}


def _shown(
    one: Visit,
    texts: dict[str, str],
    people: dict[UUID, str],
    codes: dict[str, str],
    zone: ZoneInfo,
) -> dict[str, Any]:
    return {
        "uid": str(one.uid),
        "visitor": texts.get(VISITOR),
        "authority": texts.get(AUTHORITY),
        "opened_by": str(one.opened_by),
        "opened_by_name": people.get(one.opened_by),
        **timed("opened_at", one.opened_at, zone),
        **timed("begun_at", one.begun_at, zone),
        **timed("ends_at", one.ends_at, zone),
        **timed("closed_at", one.closed_at, zone),
        "from": one.begins,
        "to": one.ends,
        "reports": one.reports,
        "batches": [codes.get(uid, uid) for uid in one.batches],
        "may_take": one.may_take,
    }


def _codes(rows: Iterable[Visit]) -> dict[str, str]:
    uids = {uid for one in rows for uid in one.batches}
    found = Batch.objects.filter(uid__in=uids).values_list("uid", "code")
    return {str(uid): code for uid, code in found}


def _texts(visits: Iterable[UUID]) -> dict[UUID, dict[str, str]]:
    """Who came and from where, by visit; what was erased is not there. One query."""
    rows = FactText.objects.filter(
        fact__kind="visit_opened", fact__subjects__subject__in=set(visits)
    )
    found: dict[UUID, dict[str, str]] = {}
    for body, name, value in rows.values_list("fact__body", "name", "value"):
        found.setdefault(UUID(body["visit"]), {})[name] = value
    return found


def _seen(row: Visit | None) -> VisitSeen | None:
    if row is None:
        return None
    texts = _texts([row.uid]).get(row.uid, {})
    site = Site.objects.select_related("organisation").get(uid=row.site)
    return VisitSeen(row, site, texts.get(VISITOR), texts.get(AUTHORITY))
