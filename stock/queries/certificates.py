"""Certificates as they stand now, and whether one may be issued. Always judged afresh."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import datetime
from types import MappingProxyType
from typing import Any
from uuid import UUID
from zoneinfo import ZoneInfo

from protocols.certificate_states import CertificateState, CertifiedPart
from protocols.issuing import STANDING, bad_news, standing_reason, worth_now
from protocols.notice_me import FINAL
from protocols.values import Reason
from stock.certificates import told_of
from stock.judging.load import judged_many
from stock.models import Batch, Certificate, CertificateText, Fact
from stock.queries.batches import timed
from stock.queries.certified import places_of
from stock.queries.examined import examine, weigh, with_tasks
from stock.queries.shared_tanks import left_already
from stock.queries.species_then import other_species

# Animals that left with the certificate are still those that it speaks of.
STILL_COVERED = ("alive", "sold", "on_the_way")


@dataclass(frozen=True, slots=True)
class Worth:
    """What a certificate is worth at a moment, where the animals are, what speaks against.

    It is being checked while something stands against it that nobody has decided.
    """

    told: CertificateState  # by what was told of it alone
    state: CertificateState
    here: int
    left: int
    news: tuple[Reason, ...]
    began: datetime  # the first placement: what was in force then holds for the course

    @property
    def is_final(self) -> bool:
        return self.state.state in FINAL

    @property
    def is_being_checked(self) -> bool:
        return self.state.state == "suspended" and (bool(self.news) or self.state.by_rule)


def worth_of(row: Certificate, at: datetime) -> Worth:
    """What a certificate is worth at `at`, by what was told of it and by its batches now."""
    certified = parts_of(row.batch_id, row.count, left_already(row))
    places = {batch: places_of(batch) for batch in certified}
    parts = [
        CertifiedPart(batch, count, sum(places[batch].get(one, 0) for one in STILL_COVERED))
        for batch, count in certified.items()
    ]
    judgements = judged_many(certified, at)
    news = tuple(one for batch in judgements.values() for one in bad_news(weigh(batch, at)))
    news += other_species(row, at)
    here = sum(found.get("alive", 0) for found in places.values())
    told = told_of(row, parts, at=at)
    state = worth_now(told, news)
    left = sum(found.get(one, 0) for found in places.values() for one in STILL_COVERED[1:])
    began = min(
        (one.stays[0].began.earliest for one in judgements.values() if one.stays),
        default=row.issued_at,
    )
    return Worth(told, state, min(here, state.count), left, news, began)


def parts_of(
    batch: UUID, certified: int, left: Mapping[UUID, int] = MappingProxyType({})
) -> dict[UUID, int]:
    """The batches in which certified animals are or were last, with how many of them at most.

    A split takes them along into its parts, a join into the batch it makes. Those that `left`
    certified conditions, by the batch they were in then, are no longer among them.
    """
    certified -= left.get(batch, 0)
    if certified <= 0:
        return {}
    facts = Fact.objects.filter(
        kind__in=("batch_split", "batches_joined"), subjects__subject=batch, parked=None
    ).order_by("seq")
    found = {batch: certified}
    for fact in facts:
        for child, count in _children(fact, batch):
            for uid, n in parts_of(child, min(count, certified), left).items():
                found[uid] = found.get(uid, 0) + n
    return found


def standing_of(batch: UUID, at: datetime | None = None) -> Certificate | None:
    """The certificate of a batch that stands by what was told of it. One query."""
    rows = Certificate.objects.filter(batch=batch, state__in=STANDING)
    return rows.first() if at is None else rows.filter(issued_at__lte=at).first()


def certificate_check(
    batch: Batch, at: datetime, *, known_by: int | None = None
) -> dict[str, Any]:
    """May this batch be certified, and if not, everything that stands against it."""
    found = examine(batch.uid, at, known_by=known_by).found
    row = standing_of(batch.uid, at)
    standing = () if row is None else (standing_reason(row.number),)
    return {
        "may_be_issued": found.may_be_issued and row is None,
        "count": found.count,
        "at": at,
        "reasons": (*standing, *with_tasks(batch.uid, found.reasons)),
    }


def certificates_of(batch: UUID, at: datetime, address: str) -> list[dict[str, Any]]:
    """Every certificate that was ever issued for a batch, those revoked too, oldest first."""
    rows = Certificate.objects.filter(batch=batch).select_related("site").order_by("version")
    return [shown_certificate(row, at, address) for row in rows]


def shown_certificate(row: Certificate, at: datetime, address: str) -> dict[str, Any]:
    """A certificate for those who work with it: what it said, and what it is worth now."""
    worth = worth_of(row, at)
    zone = ZoneInfo(row.site.zone)
    return {
        "uid": str(row.uid),
        "batch": str(row.batch_id),
        "site": str(row.site_id),
        "number": row.number,
        "url": f"{address}/c/{text_of(row.uid).address}",
        "state": worth.state.state,
        "being_checked": worth.is_being_checked,
        "count": row.count,
        "count_now": worth.state.alive,
        "here": worth.here,
        "left": worth.left,
        **timed("issued_at", row.issued_at, zone),
        **timed("since", worth.state.since, zone),
        "token_sha256": row.token_sha256,
        "events": list(row.events.order_by("at").values("kind", "at", "count", "why")),
        "bad_news": [one.text for one in worth.news],
    }


def text_of(certificate: UUID) -> CertificateText:
    return CertificateText.objects.get(certificate=certificate)


def next_number(organisation: UUID, year: int) -> int:
    """The counter after the highest in use. Two sites that ask at once get the same."""
    rows = Certificate.objects.filter(organisation=organisation, year=year)
    return (rows.order_by("-counter").values_list("counter", flat=True).first() or 0) + 1


def _children(fact: Fact, batch: UUID) -> Iterator[tuple[UUID, int]]:
    body = fact.body
    if fact.kind == "batches_joined" and str(batch) in body["members"]:
        yield UUID(body["batch"]), sum(places_of(UUID(body["batch"])).values())
    elif fact.kind == "batch_split" and body["batch"] == str(batch):
        for part in body["parts"]:
            yield UUID(part["batch"]), part["count"]
