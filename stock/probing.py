"""Looking after probes: nothing came for too long, or the same value again and again.

Told once for each silence and each run of equal values; what lies behind many of them at once
is one call (`protocols/calls.py`). A gap proves nothing about the water: nothing is judged.
"""

from collections.abc import Iterator
from datetime import datetime
from uuid import UUID

from django.db import transaction

from protocols.clocks import utc_text
from stock import access, lock
from stock.models import Notice, ProbeSeen, Role
from stock.outbox import Telling, leave
from stock.queries.probes import failing


def tell_probes(site: UUID, at: datetime) -> list[str]:
    """Leave an alarm in the outbox for each probe that is silent or stuck; their effects."""
    if not list(_untold(site, at)):
        return []
    with transaction.atomic():
        lock.take(site)
        return [one.effect for one in _untold(site, at) if leave(site, one, at)]


def _untold(site: UUID, at: datetime) -> Iterator[Telling]:
    found = failing(site, at)
    if not found:
        return
    effects = [_effect(kind, row, since) for kind, row, since in found]
    told = set(Notice.objects.filter(effect__in=effects).values_list("effect", flat=True))
    held = Role.objects.filter(site=site, role__in=access.HANDS)
    to = sorted({str(one) for one in held.values_list("person", flat=True)})
    for effect, (kind, row, since) in zip(effects, found, strict=True):
        if effect not in told:
            body = {
                "container": str(row.container_id),
                "probe": str(row.probe_id),
                "probe_label": row.probe.label,
                "quantity": row.quantity,
                "since": utc_text(since),
                "to": to,
            }
            yield Telling(effect, kind, body)


def _effect(kind: str, row: ProbeSeen, since: datetime) -> str:
    return f"{kind}:{row.probe_id}:{row.container_id}:{row.quantity}:{utc_text(since)}"
