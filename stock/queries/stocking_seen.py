"""What the ready containers of a site take, for the pages on which somebody chooses one."""

from collections.abc import Collection, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from uuid import UUID

from protocols.stocking_plan import Kind, Read, Stocked, stocked
from protocols.versions import DEFAULT
from stock.models import Batch, Container
from stock.queries.protocols import version_at
from stock.queries.sites import rules_history
from stock.queries.stocking import kinds_of_batch, kinds_of_lines, vessel_of

CLASSES_MOST = 3


@dataclass(frozen=True, slots=True)
class Class:
    """Containers that are alike for stocking, and what they take of each kind alone."""

    labels: tuple[str, ...]
    volume_l: str
    lid: bool
    air_stone: bool
    answers: tuple[Stocked, ...]


def takes_of_lines(
    site: UUID, lines: dict[UUID, int], containers: Collection[UUID], at: datetime
) -> list[Class]:
    """How many of each of these lines fit, out of their bags. Four queries."""
    return _takes(site, kinds_of_lines(lines), containers, at, DEFAULT, arrival=True)


def takes_of_batch(batch: Batch, containers: Collection[UUID], at: datetime) -> list[Class]:
    """How many of each kind of a batch fit; how many there are is not told. Four queries."""
    kinds = kinds_of_batch(batch.uid, 0)
    return _takes(batch.site_id, kinds, containers, at, batch.protocol, arrival=False)


def _takes(
    site: UUID,
    kinds: Sequence[Kind],
    containers: Collection[UUID],
    at: datetime,
    protocol: str,
    *,
    arrival: bool,
) -> list[Class]:
    rules, version = rules_history(site).at(at), version_at(site, protocol)
    alike: dict[tuple[str, bool, bool], list[Container]] = {}
    for row in Container.objects.filter(uid__in=containers).order_by("label"):
        alike.setdefault((row.fill_mark_l, row.lid, row.air_stone), []).append(row)
    found = []
    for (volume_l, lid, air_stone), rows in sorted(alike.items(), key=lambda one: -len(one[1])):
        answers = tuple(
            # Nothing is known of water that is not filled in yet.
            stocked(
                (replace(kind, count=1),),
                vessel_of(rows[0]),
                Read(),
                rules=rules,
                protocol=version,
                arrival=arrival,
            )
            for kind in kinds
        )
        labels = tuple(row.label for row in rows)
        found.append(Class(labels, volume_l, lid, air_stone, answers))
    return found[:CLASSES_MOST]
