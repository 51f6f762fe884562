"""What was told of a certificate since it was issued, as the rules read it."""

from collections.abc import Sequence
from datetime import datetime

from protocols.certificate_states import (
    CertificateState,
    CertifiedPart,
    Issued,
    certificate_state,
)
from protocols.values import Happening, When
from stock.models import Certificate, Fact


def told_of(
    row: Certificate, parts: Sequence[CertifiedPart] = (), *, at: datetime | None = None
) -> CertificateState:
    """What follows from the steps told by `at`; `parts` are where the animals are. One query.

    Steps are taken in the service itself, so the record book has them in their order, those
    of one second too.
    """
    events = row.events.all() if at is None else row.events.filter(at__lte=at)
    taken = Fact.objects.filter(uid__in=events.values("fact")).order_by("seq")
    return certificate_state(
        Issued(row.uid, row.count, row.issued_at), parts, [_happening(one) for one in taken]
    )


def _happening(fact: Fact) -> Happening:
    when = When.exactly(fact.performed_at)
    return Happening(uid=fact.uid, kind=fact.kind, when=when, body=fact.body, accounts=())
