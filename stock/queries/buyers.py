"""Which buyers are to be written to, and of what."""

import json
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime
from uuid import UUID

from stock.models import BuyerAddress, Certificate, CertificateEvent, CertificateText, Fact
from stock.queries.certificates import worth_of
from stock.sealing import OF_BUYERS, unseal


@dataclass(frozen=True, slots=True)
class Letter:
    """One letter: to whom, about which certificate; without a state the first one.

    `seq` is the newest entry that it tells of.
    """

    row: BuyerAddress
    address: str
    link: str
    language: str
    number: str
    code: str
    state: str | None
    seq: int


def letters_due(site: UUID, at: datetime, most: int = 50) -> Iterator[Letter]:
    """The letters to be sent now, the oldest first. One query where nobody waits."""
    rows = list(
        BuyerAddress.objects.filter(site=site, again_at__lte=at).order_by("again_at", "uid")
    )
    newest = _newest({row.certificate for row in rows}) if rows else {}
    due = [row for row in rows if _is_due(row, newest.get(row.certificate, -1))]
    for row in due[:most]:
        letter = _letter(row, newest.get(row.certificate, -1), at)
        if letter is not None:
            yield letter


def addresses_for(certificate: UUID) -> int:
    """How many are told of changes to a certificate; nobody is shown who they are."""
    return BuyerAddress.objects.filter(
        certificate=certificate, confirmed_at__isnull=False
    ).count()


def _is_due(row: BuyerAddress, newest: int) -> bool:
    if row.confirmed_at is None:
        return row.mailed_at is None
    return newest > row.told_seq


def _letter(row: BuyerAddress, newest: int, at: datetime) -> Letter | None:
    """None where it cannot be read any more, since the service has another secret key."""
    text = unseal(row.sealed, OF_BUYERS)
    certificate = Certificate.objects.filter(uid=row.certificate).first()
    if text is None or certificate is None:
        return None
    said = json.loads(text)
    state = worth_of(certificate, at).state.state if row.confirmed_at else None
    code = CertificateText.objects.get(certificate=row.certificate).address
    return Letter(
        row,
        said["address"],
        said["link"],
        said["language"],
        certificate.number,
        code,
        state,
        newest,
    )


def _newest(certificates: set[UUID]) -> dict[UUID, int]:
    events = CertificateEvent.objects.filter(certificate__in=certificates)
    told = dict(events.values_list("fact", "certificate"))
    found: dict[UUID, int] = {}
    for uid, seq in Fact.objects.filter(uid__in=told).values_list("uid", "seq"):
        found[told[uid]] = max(seq, found.get(told[uid], -1))
    return found
