"""Addresses of buyers: left by a stranger, confirmed by whoever reads the letters, taken back.

No fact: an address says nothing of animals, and must be gone without a trace.
"""

import hashlib
import hmac
import json
import secrets
from datetime import datetime
from uuid import UUID

from django.conf import settings
from django.db import transaction

from protocols import codes
from protocols.notice_me import ABOUT_ONE, FROM_ONE, TO_ONE, is_over
from stock import names
from stock.doors import tries
from stock.models import BuyerAddress, Certificate, CertificateEvent, Fact
from stock.sealing import OF_BUYERS, seal


def leave_address(
    certificate: Certificate, address: str, *, language: str, place: str, at: datetime
) -> None:
    """Keep an address until it is confirmed; one that is there already is asked again.

    Raises Refused (too_many) where strangers would cause too many letters.
    """
    subject = subject_of(certificate.uid, address)
    if place:
        tries.take(tries.subject("notice-from", place), FROM_ONE, at)
    tries.take(tries.subject("notice-about", certificate.uid), ABOUT_ONE, at)
    tries.take(tries.subject("notice-to", _digest(address)), TO_ONE, at)
    secret = codes.token_text(secrets.token_bytes(20))
    said = {"address": address, "link": secret, "language": language}
    with transaction.atomic():
        known = BuyerAddress.objects.select_for_update().filter(
            certificate=certificate.uid, subject=subject
        )
        if known.filter(confirmed_at__isnull=False).exists():
            return
        known.delete()
        BuyerAddress.objects.create(
            uid=names.new_uid(at),
            site=certificate.site_id,
            certificate=certificate.uid,
            subject=subject,
            link=_digest(secret),
            sealed=seal(json.dumps(said), OF_BUYERS),
            asked_at=at,
            again_at=at,
        )


def confirm_address(row: BuyerAddress, at: datetime) -> None:
    """From now on it is told; what happened before stands on the page."""
    BuyerAddress.objects.filter(uid=row.uid, confirmed_at=None).update(
        confirmed_at=at, told_seq=newest_event(row.certificate), tries=0, again_at=at
    )


def remove_address(row: BuyerAddress) -> None:
    """Nothing of it is left."""
    BuyerAddress.objects.filter(uid=row.uid).delete()


def forget_unconfirmed(site: UUID, at: datetime) -> int:
    """Those that nobody confirmed in time; how many."""
    waiting = BuyerAddress.objects.filter(site=site, confirmed_at=None)
    over = [row.uid for row in waiting if is_over(row.asked_at, row.confirmed_at, at)]
    return BuyerAddress.objects.filter(uid__in=over).delete()[0] if over else 0


def claim_letter(row: BuyerAddress, again_at: datetime) -> bool:
    """Whether this process sends the next letter; it is tried again then unless it says so."""
    mine = BuyerAddress.objects.filter(uid=row.uid, tries=row.tries, again_at=row.again_at)
    return mine.update(tries=row.tries + 1, again_at=again_at) > 0


def letter_sent(row: BuyerAddress, seq: int, at: datetime) -> None:
    """It was taken; it told of everything up to this entry."""
    BuyerAddress.objects.filter(uid=row.uid).update(
        tries=0, again_at=at, mailed_at=at, told_seq=seq
    )


def address_by_link(secret: str, at: datetime) -> BuyerAddress | None:
    """Whose letters held this link; None where it is over or was taken back. One query."""
    row = BuyerAddress.objects.filter(link=_digest(secret)).first()
    return None if row is None or is_over(row.asked_at, row.confirmed_at, at) else row


def newest_event(certificate: UUID) -> int:
    """The newest entry that changed a certificate; -1 for none."""
    events = CertificateEvent.objects.filter(certificate=certificate).values("fact")
    newest = Fact.objects.filter(uid__in=events).order_by("-seq")
    found = newest.values_list("seq", flat=True).first()
    return -1 if found is None else found


def subject_of(certificate: UUID, address: str) -> str:
    """The same address for the same certificate again; nobody without the key can guess it."""
    said = f"{certificate}/{address.casefold()}".encode()
    return hmac.new(settings.SECRET_KEY.encode(), said, hashlib.sha256).hexdigest()


def _digest(text: str) -> str:
    return hashlib.sha256(f"fillmark/notice/{text.casefold()}".encode()).hexdigest()
