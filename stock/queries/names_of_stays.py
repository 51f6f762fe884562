"""Stays and missing animals by whatever name somebody knows them."""

from uuid import UUID

from stock.models import Fact, FactSubject, Missing, StayRow


def stay_named(batch: UUID, name: UUID) -> StayRow | None:
    """The stay of the batch that somebody calls so. One query where it is called so here.

    Of several accounts of one move the earliest names the stay that began; another name for it
    leads there by the stay that they all end.
    """
    rows = StayRow.objects.filter(batch=batch)
    found = rows.filter(uid=name).first()
    if found is not None:
        return found
    about = FactSubject.objects.filter(subject=name, fact__kind="batch_moved")
    told = Fact.objects.filter(uid__in=about.values("fact"), body__stay=str(name), parked=None)
    account = told.first()
    if account is None or account.body["batch"] != str(batch):
        return None
    ended = stay_named(batch, UUID(account.body["ended_stay"]))
    if ended is None or ended.ended_by is None:
        return None
    return rows.filter(began_by=ended.ended_by).first()


def missing_named(report: UUID) -> Missing | None:
    """The animals that a report missed; of an account of a move, those the move missed."""
    row = Missing.objects.filter(fact=report).select_related("batch").first()
    account = Fact.objects.filter(uid=report, kind="batch_moved", parked=None).first()
    if row is not None or account is None:
        return row
    ended = stay_named(UUID(account.body["batch"]), UUID(account.body["ended_stay"]))
    if ended is None or ended.ended_by is None:
        return None
    return Missing.objects.filter(fact=ended.ended_by).select_related("batch").first()
