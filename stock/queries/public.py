"""What anybody with the address of a certificate may see. Nobody is named, nothing is sold.

It is put together from the signed text, the judgement of today, and numbers. Notes, names of
people, suppliers, buyers, prices and containers are never read here.
"""

import base64
import json
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any
from uuid import UUID
from zoneinfo import ZoneInfo

from django.db.models import Q, QuerySet

from protocols.signing import kid_of
from stock.models import Certificate, CertificateText, Loss, StayRow, WaterReading
from stock.queries.certificates import Worth, parts_of, worth_of
from stock.queries.certified import origin_of_lines, sources_of
from stock.queries.signing_keys import is_compromised
from stock.queries.sites import rules_history

# What was told of a certificate, in the words of its states.
STEP_WORDS: Mapping[str, str] = {
    "certificate_suspended": "suspended",
    "certificate_lifted": "valid",
    "certificate_superseded": "superseded",
    "certificate_revoked": "revoked",
    "certificate_ended": "ended",
}


@dataclass(frozen=True, slots=True)
class Gone:
    """So many that were lost on a day of the site."""

    on: date
    fate: str
    count: int


@dataclass(frozen=True, slots=True)
class Step:
    """What became of the certificate at a moment; `count` where it concerns some only."""

    at: datetime
    state: str
    count: int | None


@dataclass(frozen=True, slots=True)
class Held:
    """A value of the water in which the animals were read last, as it was typed."""

    quantity: str
    value: str
    unit: str
    convention: str | None
    at: datetime


@dataclass(frozen=True, slots=True)
class PublicRecord:
    """A certificate in public: its text as signed, and what is true now.

    `losses` is None where the site leaves days out, by a rule older than the course.
    """

    number: str
    token: str
    credential: Mapping[str, Any]
    worth: Worth
    as_of: datetime
    zone: ZoneInfo
    site: UUID
    losses: tuple[Gone, ...] | None
    origins: tuple[Mapping[str, Any], ...]
    steps: tuple[Step, ...]
    water: tuple[Held, ...]
    replaced_by: tuple[str, str] | None  # number and address
    kid: str
    key_compromised: bool  # then anybody who has that key could have signed such a text

    @property
    def quarantine(self) -> Mapping[str, Any]:
        """Our own part of what was signed."""
        found: Mapping[str, Any] = self.credential["credentialSubject"]["quarantine"]
        return found


def site_of(code: str) -> UUID | None:
    """Whose clock an address goes by; None where there is no such certificate. One query."""
    rows = Certificate.objects.filter(uid__in=_texts(code).values("certificate"))
    return rows.values_list("site", flat=True).first()


def certificate_at(code: str) -> Certificate | None:
    """The certificate of an address. One query."""
    return Certificate.objects.filter(uid__in=_texts(code).values("certificate")).first()


def number_of(certificate: UUID) -> str:
    """One query."""
    return Certificate.objects.values_list("number", flat=True).get(uid=certificate)


def token_of(code: str) -> str | None:
    """The signed text, byte for byte. One query."""
    return _texts(code).values_list("token", flat=True).first()


def public_record(code: str, at: datetime) -> PublicRecord | None:
    """Everything a buyer may see at `at`, judged afresh; None for an unknown address."""
    text = _texts(code).first()
    if text is None:
        return None
    row = Certificate.objects.select_related("site", "batch").get(uid=text.certificate)
    zone = ZoneInfo(row.site.zone)
    worth = worth_of(row, at)
    hides = rules_history(row.site_id).at(worth.began).public_hides
    family = parts_of(row.batch_id, row.count)
    return PublicRecord(
        number=row.number,
        token=text.token,
        credential=payload_of(text.token),
        worth=worth,
        as_of=at,
        zone=zone,
        site=row.site_id,
        losses=None if "deaths_by_day" in hides else tuple(_losses(family, zone, at)),
        origins=() if "origin" in hides else _origins(row.batch_id),
        steps=tuple(_steps(row, at)),
        water=tuple(_water(row.batch_id, at)),
        replaced_by=_replacement(row),
        kid=kid_of(text.token),
        key_compromised=is_compromised(row.organisation_id, kid_of(text.token)),
    )


def payload_of(token: str) -> dict[str, Any]:
    """What a token of ours says; nothing is checked."""
    part = token.split(".")[1]
    found: dict[str, Any] = json.loads(base64.urlsafe_b64decode(part + "=" * (-len(part) % 4)))
    return found


def _texts(code: str) -> QuerySet[CertificateText]:
    return CertificateText.objects.filter(address=code)


def _losses(batches: Iterable[UUID], zone: ZoneInfo, at: datetime) -> list[Gone]:
    """Losses of all animals that the certificate speaks of, by day and kind. One query."""
    rows = Loss.objects.filter(batch__in=list(batches), found_at__lte=at)
    days: dict[tuple[date, str], int] = {}
    for found_at, fate, count in rows.values_list("found_at", "fate", "count"):
        key = found_at.astimezone(zone).date(), fate
        days[key] = days.get(key, 0) + count
    return [Gone(on, fate, count) for (on, fate), count in sorted(days.items())]


def _origins(batch: UUID) -> tuple[Mapping[str, Any], ...]:
    return tuple(origin_of_lines(sources_of((), batch).holders))


# What somebody who takes the animals over can match their own water to.
MATCHED = ("temperature", "salinity", "specific_gravity", "ph")


def _water(batch: UUID, at: datetime) -> Iterator[Held]:
    """The newest value of each quantity in the container where they stood last. Two queries.

    Of the certified batch itself: its parts may be in water that nobody certified.
    """
    stays = StayRow.objects.filter(batch=batch, began_latest__lte=at)
    stay = stays.order_by("-began_latest", "uid").first()
    if stay is None:
        return
    rows = WaterReading.objects.filter(
        container=stay.container_id,
        quantity__in=MATCHED,
        in_doubt=False,
        performed_at__gte=stay.began_earliest,
        performed_at__lte=min(at, stay.ended_latest or at),
    ).select_related("instrument")
    newest = {row.quantity: row for row in rows.order_by("performed_at", "uid")}
    for quantity in MATCHED:
        if (row := newest.get(quantity)) is not None:
            convention = row.instrument.convention if row.instrument else None
            yield Held(quantity, row.value, row.unit, convention, row.performed_at)


def _steps(row: Certificate, at: datetime) -> list[Step]:
    """What was told of it since, never why: a reason may name somebody."""
    events = row.events.filter(at__lte=at).order_by("at")
    return [
        Step(moment, STEP_WORDS[kind], count)
        for moment, kind, count in events.values_list("at", "kind", "count")
    ]


def _replacement(row: Certificate) -> tuple[str, str] | None:
    """The certificate that followed for the same animals, where this one was superseded."""
    if row.state != "superseded":
        return None
    later = Q(year__gt=row.year) | Q(year=row.year, counter__gt=row.counter)
    newer = Certificate.objects.filter(later, batch=row.batch_id)
    found = newer.order_by("year", "counter").first()
    if found is None:
        return None
    text = CertificateText.objects.get(certificate=found.uid)
    return found.number, text.address
