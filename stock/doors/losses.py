"""Losses: several batches in one request, all of them or none."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from typing import Any
from uuid import UUID
from zoneinfo import ZoneInfo

from protocols.losses import LossTimes, may_be_found_then
from protocols.typed_counts import AskedLoss, may_record_loss
from protocols.values import Reason, Standing
from stock import access, names
from stock.answers import Answered
from stock.doors.door import Asking, Door, enter
from stock.ledger import Told
from stock.models import Fact, Line, Log, Site
from stock.queries.counts import batches_now, living, losses_shown
from stock.queries.origins import undecided
from stock.refusals import NotFound, Refused, refuse


@dataclass(frozen=True, slots=True)
class LossLine:
    """So many of a batch gone for good: which way, why, found when, last seen alive when.

    `cause` has two levels, the broader first; `origin` names the lines they may have come from
    (of animals nobody can tell apart all of them, where nobody says which);
    `incident` is the report of what happened to them before.
    """

    batch: UUID
    fate: str
    count: int
    found_at: datetime
    cause: tuple[str, ...] = ()
    certainty: str | None = None
    last_seen_at: datetime | None = None
    origin: tuple[UUID, ...] = ()
    incident: UUID | None = None
    method: str | None = None
    authority: str | None = None
    uid: UUID | None = None


@dataclass(frozen=True, slots=True)
class Losing:
    """The lines with the uid of each fact, and what is alive of each batch."""

    lines: tuple[tuple[UUID, LossLine], ...]
    asked: tuple[AskedLoss, ...]

    @property
    def batches(self) -> list[UUID]:
        return [line.batch for _, line in self.lines]


def record_losses(asking: Asking, *, lines: Sequence[LossLine]) -> Answered:
    """Record what is gone of one batch or several of one site."""
    site = _one_site(asking, lines)
    return enter(
        asking,
        site.uid,
        Door(
            load=lambda log: _losing(asking, log, lines),
            ask=lambda world: _reasons(asking, world),
            tell=lambda world: [_told(asking, n, world) for n in range(len(lines))],
            show=lambda world: {
                "losses": losses_shown(_shown(world), ZoneInfo(site.zone)),
                "batches": batches_now(world.batches, asking.now),
            },
            shows_parked=True,
        ),
    )


def _one_site(asking: Asking, lines: Sequence[LossLine]) -> Site:
    """The site of all the batches: a request goes into one record book."""
    sites = {
        site.uid: site
        for site in (_site_of(asking, batch) for batch in {line.batch for line in lines})
    }
    if len(sites) != 1:
        text = "Record the losses of each site by themselves."
        raise Refused(refuse("unreadable", text, pointer="/lines"))
    return sites.popitem()[1]


def _site_of(asking: Asking, batch: UUID) -> Site:
    """What happened may be told of a batch that the record does not know yet: it waits."""
    if asking.standing is Standing.ASKED:
        return access.batch_for(asking.person, batch, access.HANDS)[1]
    return access.site_of_batch(asking.person, batch, access.HANDS)


def _losing(asking: Asking, log: Log, lines: Sequence[LossLine]) -> Losing:
    _are_here(log, lines)
    alive = living({line.batch for line in lines})
    open_ = undecided({line.batch for line in lines if not line.origin})
    told = (
        replace(line, origin=tuple(open_.get(line.batch, ()))) if not line.origin else line
        for line in lines
    )
    return Losing(
        lines=tuple(
            (line.uid or (None if n else asking.uid) or names.new_uid(asking.now), line)
            for n, line in enumerate(told)
        ),
        asked=tuple(
            AskedLoss(
                batch=line.batch,
                label=alive[line.batch].label,
                count=line.count,
                alive=alive[line.batch].alive,
                closed=alive[line.batch].closed,
            )
            for line in lines
            if line.batch in alive
        ),
    )


def _are_here(log: Log, lines: Sequence[LossLine]) -> None:
    """Lines of packing lists and incidents of another site are as if they were not there."""
    origins = {uid for line in lines for uid in line.origin}
    incidents = {line.incident for line in lines if line.incident}
    known = Line.objects.filter(uid__in=origins, consignment__site=log.uid).count()
    told = Fact.objects.filter(uid__in=incidents, log=log, kind="incident_recorded").count()
    if known < len(origins) or told < len(incidents):
        raise NotFound


def _reasons(asking: Asking, world: Losing) -> Iterator[Reason]:
    times = [LossTimes(line.found_at, line.last_seen_at) for _, line in world.lines]
    yield from may_be_found_then(times, now=asking.now)
    yield from may_record_loss(world.asked)


def _told(asking: Asking, n: int, world: Losing) -> Told:
    uid, line = world.lines[n]
    return Told("loss_recorded", _plain(line), uid=uid, texts=asking.texts if n == 0 else {})


def _plain(line: LossLine) -> dict[str, Any]:
    return {
        "batch": line.batch,
        "fate": line.fate,
        "count": line.count,
        "cause": list(line.cause),
        "certainty": line.certainty,
        "found_at": line.found_at,
        "last_seen_at": line.last_seen_at,
        "origin": list(line.origin) or None,
        "incident": line.incident,
        "method": line.method,
        "authority": line.authority,
    }


def _shown(world: Losing) -> list[dict[str, Any]]:
    return [{"uid": uid, **_plain(line)} for uid, line in world.lines]
