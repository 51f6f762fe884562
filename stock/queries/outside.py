"""What somebody from outside is asked to confirm, and what they confirmed of a batch."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime
from typing import Any
from uuid import UUID

from stock.models import Fact, OutsideSecond, Person, Site
from stock.queries.people import token_digest


@dataclass(frozen=True, slots=True)
class OutsideSeen:
    """A late entry as the holder of a link sees it; `told_by` is the name of its doer."""

    digest: str
    person: Person
    site: Site
    fact: UUID
    kind: str
    body: dict[str, Any]
    performed_at: datetime
    recorded_at: datetime
    reason: str
    told_by: str
    expires_at: datetime
    used_at: datetime | None


def outside_seen(secret: str) -> OutsideSeen | None:
    """What this link is about, also when it was used; None for no link. Four queries."""
    row = (
        OutsideSecond.objects.select_related("person")
        .filter(digest=token_digest(secret))
        .first()
    )
    if row is None:
        return None
    fact = Fact.objects.filter(uid=row.fact).first()
    if fact is None:
        return None
    doer = Person.objects.filter(uid=fact.doer).first()
    return OutsideSeen(
        digest=row.digest,
        person=row.person,
        site=Site.objects.select_related("organisation").get(uid=row.site),
        fact=fact.uid,
        kind=fact.kind,
        body=fact.body,
        performed_at=fact.performed_at,
        recorded_at=fact.recorded_at,
        reason=fact.reason or "",
        told_by=doer.name if doer else "",
        expires_at=row.expires_at,
        used_at=row.used_at,
    )


def outside_confirmations(batches: Iterable[UUID]) -> int:
    """How many entries about these batches somebody from outside confirmed. One query."""
    told = Fact.objects.filter(subjects__subject__in=set(batches)).values("uid")
    said = Fact.objects.filter(kind="confirmed", body__outside=True, about__in=told)
    withdrawn = Fact.objects.filter(kind="fact_withdrawn").values("about")
    return said.exclude(uid__in=withdrawn).values("about").distinct().count()
