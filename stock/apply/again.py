"""Parked reports, tried again whenever something new is told of what they speak of."""

from collections.abc import Sequence
from datetime import datetime
from uuid import UUID

from django.db import IntegrityError, transaction
from django.db.models import Q

from protocols.kinds import rank
from stock.apply.registry import DOES_NOT_FIT, apply, apply_indexed, park, subjects
from stock.models import Fact, FactSubject, Parked, StayRow, writing_projections
from stock.refusals import CannotApply


def apply_then_parked(fact: Fact) -> list[Fact]:
    """Apply a fact, then what was parked and fits now; those that fit now, in their order.

    Raises CannotApply or IntegrityError where the fact itself does not fit.
    """
    with transaction.atomic():
        fitting = apply(fact)
    while found := next(filter(None, map(_fits_now, _waiting([fact, *fitting]))), None):
        fitting += found
    return fitting


def apply_or_park_again(fact: Fact) -> None:
    """Apply a fact on rebuild; what does not fit now did not fit then either."""
    try:
        apply_then_parked(fact)
    except CannotApply as misfit:
        park(fact, misfit.reason)
    except IntegrityError:
        park(fact, DOES_NOT_FIT)


def order_of(fact: Fact) -> tuple[datetime, int, str, int, str]:
    """The order of happenings, which never depends on arrival."""
    device = str(fact.device or "")
    return fact.performed_at, rank(fact.kind), device, fact.entry_no or 0, str(fact.uid)


def _waiting(news: Sequence[Fact]) -> list[Fact]:
    """What is parked about anything that these facts touch, in the order of happenings."""
    site = {fact.log_id for fact in news}
    parked = Parked.objects.filter(site__in=site, settled_by=None)
    if not parked.exists():
        return []
    about = FactSubject.objects.filter(subject__in=_touched(news)).values("fact")
    rows = Fact.objects.filter(uid__in=parked.filter(fact__in=about).values("fact"))
    return sorted(rows.select_related("log"), key=order_of)


def _touched(news: Sequence[Fact]) -> set[UUID]:
    """These facts, what they speak of, and where the batches among that stood, with which kit.

    A move frees a container that it does not name.
    """
    named = {uid for fact in news for uid in (fact.uid, *subjects(fact))}
    abouts = [fact.about for fact in news if fact.about is not None]
    meant = FactSubject.objects.filter(fact__in=abouts).values_list("subject", flat=True)
    named.update(meant)
    stays = StayRow.objects.filter(Q(uid__in=named) | Q(batch__in=named))
    for row in stays.values_list("uid", "batch", "container", "kit"):
        named.update(uid for uid in row if uid is not None)
    return named


def _fits_now(fact: Fact) -> list[Fact]:
    """The fact and those that fit with it, or nothing where it does not fit yet."""
    try:
        with transaction.atomic(), writing_projections():
            # First: what is parked is left out wherever words and accounts are read.
            Parked.objects.filter(fact=fact).delete()
            fitting = apply_indexed(fact)
    except (CannotApply, IntegrityError):
        return []
    return [fact, *fitting]
