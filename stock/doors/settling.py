"""What becomes of reports that do not fit the record: somebody else says what counts."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Any
from uuid import UUID

from protocols.amended import in_force
from protocols.losses import has_reason
from protocols.settling import Part, Unsettled, may_settle
from protocols.values import Reason, Standing
from stock import access
from stock.answers import Answered
from stock.doors.door import Asking, Door, enter
from stock.judging.facts import value_of
from stock.judging.words import words_about
from stock.ledger import Told
from stock.models import Batch, Fact, Parked, Site
from stock.queries.counts import living
from stock.refusals import NotFound


@dataclass(frozen=True, slots=True)
class PartAsked:
    """So many of the animals of the report count for this batch."""

    batch: UUID
    count: int


@dataclass(frozen=True, slots=True)
class Settling:
    """The report, and the batches for which its animals are to count."""

    report: Unsettled
    parts: tuple[Part, ...]


def settle_report(
    asking: Asking, *, fact: UUID, parts: Sequence[PartAsked], void: bool
) -> Answered:
    """Say for which batches the animals of a parked report count, or that it is void."""
    row = Fact.objects.select_related("log").filter(uid=fact).first()
    if row is None or not row.log.is_of_site:
        raise NotFound
    site = access.site_for(asking.person, row.log_id, access.DECIDERS)
    body = {
        "of": fact,
        "attribution": [{"batch": one.batch, "count": one.count} for one in parts] or None,
        "void": void or None,
    }

    def ask(found: Settling) -> Iterator[Reason]:
        yield from has_reason(asking.reason)
        yield from may_settle(asking.people, found.report, found.parts, void=void)

    # A decision: whatever a report calls it, it is asked for and must fit.
    return enter(
        replace(asking, standing=Standing.ASKED),
        site.uid,
        Door(
            load=lambda log: _settling(row, site, parts),
            ask=ask,
            tell=lambda _: (Told("parked_settled", body, about=fact, texts=asking.texts),),
            show=lambda found: _shown(row, found),
        ),
    )


def _settling(row: Fact, site: Site, parts: Sequence[PartAsked]) -> Settling:
    kept = Parked.objects.filter(fact=row).first()
    body = in_force(value_of(row), words_about([row.uid])) or {}
    report = Unsettled(
        value_of(row),
        body,
        waits=kept is not None and kept.settled_by is None,
        settled=kept is not None and kept.settled_by is not None,
    )
    wanted = {part.batch for part in parts}
    batches = {one.uid: one for one in Batch.objects.filter(uid__in=wanted, site=site)}
    if len(batches) < len(wanted):
        raise NotFound
    alive = living(batches)
    return Settling(
        report,
        tuple(
            Part(
                batch=part.batch,
                label=alive[part.batch].label,
                count=part.count,
                alive=alive[part.batch].alive,
                placed_at=batches[part.batch].placed_at,
                closed=alive[part.batch].closed,
            )
            for part in parts
        ),
    )


def _shown(row: Fact, found: Settling) -> dict[str, Any]:
    named = {row.body.get("batch"), *(str(part.batch) for part in found.parts)}
    return {"about": str(row.uid), "batches": sorted(one for one in named if one)}
