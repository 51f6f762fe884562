"""Whether what a report of animals names is at its own site."""

from collections.abc import Iterator, Mapping
from typing import Any
from uuid import UUID

from protocols.animals import Animals
from protocols.uids import as_uid
from stock.models import Container, Fact, Kit, Line, Site, StayRow
from stock.refusals import CannotApply, not_here, refuse


def are_here(fact: Fact, body: Mapping[str, Any]) -> None:
    """Containers, kits, lines and sites that the body names. Raises CannotApply."""
    _every(fact, Container, set(_named(body, "container")), "container or kit")
    _every(fact, Kit, set(_named(body, "kit")), "container or kit")
    lines = {as_uid(one["line"]) for one in body.get("from", ()) if "line" in one}
    here = Line.objects.filter(uid__in=lines, consignment__site=fact.log_id)
    if lines and here.count() < len(lines):
        raise not_here("line")
    if "site" in body:
        ours = Site.objects.filter(uid=body["site"], organisation=fact.log.organisation)
        if not ours.exists():
            raise not_here("site")


def is_somebody_there(fact: Fact, found: Animals) -> None:
    """Who is put in with others finds somebody there. One query, for such a report only."""
    if not fact.body.get("joins"):
        return
    container, at = as_uid(fact.body["container"]), fact.performed_at
    stays = (stay for stay in found.stood.values() if stay.container == container)
    if any(stay.ended is None and stay.began.earliest <= at for stay in stays):
        return
    others = StayRow.objects.filter(container=container, ended_latest=None)
    if not others.filter(began_earliest__lte=at).exclude(batch__in=found.begun).exists():
        raise CannotApply(refuse("contradicts_record", "Nobody is there to be joined."))


def _named(body: Mapping[str, Any], name: str) -> Iterator[UUID]:
    for part in (body, *body.get("parts", ())):
        if part.get(name):
            yield as_uid(part[name])


def _every(fact: Fact, sort: type[Container] | type[Kit], uids: set[UUID], what: str) -> None:
    if uids and sort.objects.filter(uid__in=uids, site=fact.log_id).count() < len(uids):
        raise not_here(what)
