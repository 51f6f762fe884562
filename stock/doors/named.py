"""Names that devices choose: a uid names one thing, at one site of one organisation."""

from uuid import UUID

from protocols.values import Reason
from stock.models import Fact, FactSubject, Log, Parked
from stock.refusals import NotFound, Refused, refuse


def refuse_used_name(uid: UUID, log: Log, *, pointer: str) -> None:
    """Raises Refused at this field where the name is used here, NotFound where elsewhere."""
    text = "This uid names something else."
    refuse_taken(uid, log, refuse("contradicts_record", text, pointer=pointer))


def refuse_taken(uid: UUID, log: Log, reason: Reason) -> None:
    """Ours is refused for this reason, another organisation's is not there. Three queries.

    What only reports speak of that wait for it is not taken: it is what they wait for.
    """
    whose = _organisations_with(uid)
    if log.organisation in whose:
        raise Refused(reason)
    if whose:
        raise NotFound


def _organisations_with(uid: UUID) -> set[UUID]:
    """Whose record books are, hold or speak of what bears this uid. Three queries."""
    waiting = Parked.objects.filter(settled_by=None, fact__subjects__subject=uid)
    named = FactSubject.objects.filter(subject=uid).exclude(fact__in=waiting.values("fact"))
    return {
        *Log.objects.filter(uid=uid).values_list("organisation", flat=True),
        *Fact.objects.filter(uid=uid).values_list("log__organisation", flat=True),
        *named.values_list("fact__log__organisation", flat=True)[:1],
    }
