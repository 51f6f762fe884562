"""What went with which certificate, and what stands against more leaving."""

from datetime import datetime
from uuid import UUID

from django.db.models import Sum

from protocols.losses import STANDING
from stock.models import Certificate, Dispatch, Parked
from stock.queries.certificates import worth_of


def covered_by(certificate: Certificate) -> int:
    """How many a certificate covers that have not left with it yet."""
    gone = Dispatch.objects.filter(certificate=certificate.uid)
    left: int = certificate.count - (gone.aggregate(n=Sum("count"))["n"] or 0)
    return max(left, 0)


def standing_cover(batch: UUID, at: datetime) -> int:
    """How many of a batch certificates cover that are worth something now and have not left."""
    told = Certificate.objects.filter(batch=batch, state__in=STANDING)
    return sum(covered_by(one) for one in told if worth_of(one, at).state.state in STANDING)


def newest_dispatch(batch: UUID) -> UUID | None:
    rows = Dispatch.objects.filter(batch=batch).order_by("-at", "-uid")
    return rows.values_list("uid", flat=True).first()


def parked_about(batch: UUID) -> int:
    """Reports that name the batch, do not fit the record, and are not settled."""
    return Parked.objects.filter(fact__subjects__subject=batch, settled_by=None).count()
