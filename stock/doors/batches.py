"""Placing animals out of their bags: the door through which a batch begins."""

from collections.abc import Sequence
from dataclasses import dataclass
from uuid import UUID

from protocols import permissions, worlds
from protocols.stocking_plan import Stocked
from protocols.versions import UnknownProtocol
from protocols.worlds import AskedLine, AskedPlacement
from stock import access, names
from stock.answers import Answered
from stock.doors.door import Asking, Door, enter
from stock.doors.joins import joins, put_in
from stock.doors.named import refuse_used_name
from stock.judging.worlds import Wanted, world
from stock.ledger import Told
from stock.models import Balance, Line, Log, Site
from stock.queries.protocols import version_at
from stock.queries.shared_tanks import entering
from stock.queries.stocking import kinds_of_lines, stocked_here
from stock.queries.stocking_shown import stocking_told
from stock.refusals import NotFound, Refused, refuse


@dataclass(frozen=True, slots=True)
class PlaceAsked:
    """Who is to be placed where: so many of each line, typed counts, under which protocol."""

    sources: tuple[tuple[UUID, int], ...]
    container: UUID
    kit: UUID | None
    counts: tuple[int, ...]
    protocol: str
    stay: UUID | None = None  # the name of the stay, where the asker's device chose one


def place_batch(asking: Asking, *, site: Site, asked: PlaceAsked) -> Answered:
    """Place animals out of their bags: a new batch, and day 1 of its first series."""
    access.site_for(asking.person, site.uid, access.HANDS)
    batch, stay = asking.new_uid(), asked.stay or names.new_uid(asking.now)
    return enter(
        asking,
        site.uid,
        Door(
            load=lambda log: _load(asking, log, site, asked),
            ask=lambda found: (
                *permissions.may_place(_placement(site, asked), found.world),
                *entering(asked.container, None, asking.performed_at),
                *found.stocked.warnings,
            ),
            tell=lambda found: _placed(asking, asked, batch, stay, found.world),
            show=lambda found: stocking_told(found.stocked),
            batch=batch,
        ),
    )


@dataclass(frozen=True, slots=True)
class _Placing:
    """The world for the rules, and what will become of them in this container."""

    world: worlds.World
    stocked: Stocked


def _load(asking: Asking, log: Log, site: Site, asked: PlaceAsked) -> _Placing:
    if asked.stay is not None:
        refuse_used_name(asked.stay, log, pointer="/stay")
    found = _placing_world(asking, site, asked)
    kinds = kinds_of_lines(dict(asked.sources))
    return _Placing(found, stocked_here(found, kinds, arrival=True))


def _placing_world(asking: Asking, site: Site, asked: PlaceAsked) -> worlds.World:
    try:
        version = version_at(site.uid, asked.protocol)
    except UnknownProtocol as error:
        text = "There is no such protocol."
        raise Refused(refuse("unreadable", text, pointer="/protocol")) from error
    total = sum(count for _, count in asked.sources)
    wanted = Wanted(asked.container, asked.kit, None, balance=total)
    return world(site, wanted, version, asking.performed_at)


def _placement(site: Site, asked: PlaceAsked) -> AskedPlacement:
    """What is asked, with what each line still holds. Lines of other sites are not there."""
    here = Line.objects.filter(consignment__site=site, uid__in=dict(asked.sources))
    lines = {row.uid: row for row in here}
    if len(lines) < len(dict(asked.sources)):
        raise NotFound
    held = dict(
        Balance.objects.filter(holder__in=lines, place="received").values_list("holder", "n")
    )
    return AskedPlacement(
        lines=tuple(
            AskedLine(uid, lines[uid].text, count, held.get(uid, 0))
            for uid, count in asked.sources
        ),
        counts=asked.counts,
    )


def _placed(
    asking: Asking, asked: PlaceAsked, batch: UUID, stay: UUID, found: worlds.World
) -> Sequence[Told]:
    """The placement; where others are in the container, and the join that it is."""
    name, _, version = asked.protocol.partition("@")
    there = joins(found, asking.performed_at)
    body = {
        "batch": batch,
        "from": [{"line": line, "count": count} for line, count in asked.sources],
        "container": asked.container,
        "kit": asked.kit,
        "counts": list(asked.counts),
        "protocol": name,
        "version": int(version),
        "stay": stay,
        "joins": True if there else None,
    }
    uid = names.new_uid(asking.now)
    placed = Told("batch_placed", body, uid=uid, texts=asking.texts)
    return (placed, put_in(uid, batch, there, asked.container)) if there else (placed,)
