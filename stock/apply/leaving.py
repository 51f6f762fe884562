"""Animals handed over, to a buyer or to another site of ours, and those that come back."""

from collections.abc import Mapping
from typing import Any

from django.db.models import F

from stock.apply.closing import batch_of, close_if_nobody_is_left
from stock.apply.counts import Going, Spot, transfer
from stock.apply.registry import applies
from stock.models import Batch, Dispatch, Fact, Site
from stock.refusals import not_here


@applies("animals_dispatched")
def dispatch(fact: Fact) -> None:
    """Sold to a buyer, or on the way to another site of the same organisation."""
    body, batch = fact.body, batch_of(fact)
    place = "on_the_way" if "site" in body else "sold"
    if "site" in body and not _is_ours(fact, body["site"]):
        raise not_here("site")
    transfer(fact, Going(Spot(batch.uid, "alive"), Spot(batch.uid, place), body["count"]))
    dispatch_as_told(fact, batch, body)
    close_if_nobody_is_left(batch)


def dispatch_as_told(
    report: Fact, batch: Batch, body: Mapping[str, Any], *, returned: int = 0
) -> None:
    """The row of a dispatch as its report says, or as the report was corrected."""
    Dispatch.objects.create(
        uid=body["dispatch"],
        version=report.seq,
        fact=report.uid,
        site_id=report.log_id,
        batch=batch,
        count=body["count"],
        returned=returned,
        certificate=body.get("certificate"),
        buyer=body.get("buyer"),
        to_site_id=body.get("site"),
        at=report.performed_at,
    )


@applies("animals_returned")
def take_back(fact: Fact) -> None:
    """Who came back is returned, not alive: unsafe until placed anew, as a new batch."""
    sent = Dispatch.read(uid=fact.body["dispatch"], site=fact.log_id)
    if sent is None:
        raise not_here("dispatch")
    place = "on_the_way" if sent.to_site_id else "sold"
    gone, back = Spot(sent.batch_id, place), Spot(sent.batch_id, "returned")
    transfer(fact, Going(gone, back, fact.body["count"]), code="contradicts_record")
    Dispatch.objects.filter(uid=sent.uid).update(
        returned=F("returned") + fact.body["count"], version=fact.seq
    )


def _is_ours(fact: Fact, site: str) -> bool:
    organisation = fact.log.organisation
    return Site.objects.filter(uid=site, organisation=organisation).exists()
