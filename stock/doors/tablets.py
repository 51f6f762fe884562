"""Enrolling the browser of a tablet, so that it is known again without anybody's sign-in."""

import secrets
from uuid import UUID

from django.db import transaction

from stock import access
from stock.answers import Answered
from stock.doors.door import Asking
from stock.doors.sites import DeviceAsked, set_device
from stock.models import Tablet
from stock.queries.people import token_digest


def enrol_tablet(asking: Asking, *, site: UUID, label: str, mine: bool) -> tuple[Answered, str]:
    """A new device, and the secret for the cookie of its browser, which is kept nowhere.

    A shared one is enrolled by a manager, one's own telephone by whoever works here. Always a
    new device: another browser would count its entries from 1 again. Asked again under the
    same key, it is the same device with another secret. Raises Refused (label_taken).
    """
    roles = access.HANDS if mine else access.MANAGERS
    answer = set_device(asking, asked=DeviceAsked(site=site, label=label), roles=roles)
    device = UUID(str(answer.body["device"]["uid"]))
    secret = secrets.token_urlsafe(32)
    with transaction.atomic():
        Tablet.objects.filter(device=device).delete()
        Tablet.objects.create(
            digest=token_digest(secret),
            device=device,
            enrolled_by=asking.person,
            enrolled_at=asking.now,
            owner=asking.person if mine else None,
        )
    return answer, secret
