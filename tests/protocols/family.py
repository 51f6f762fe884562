"""Makes facts of batches that split and join, on the ground of a story of one batch."""

from collections.abc import Iterable, Sequence
from typing import Any
from uuid import UUID

from protocols.judged import Judgement
from protocols.judgement import judge
from protocols.lineage import history, lineage, placements
from protocols.order import happenings
from protocols.ruled import RulesHistory
from protocols.told import Fact
from protocols.versions import protocol
from tests.protocols.story import BATCH, READY, START, Story, container, hour, kit, tell, uid

OTHER, JOINED, NINE, THREE = uid("other"), uid("joined"), uid("nine"), uid("three")


def part(batch: UUID, count: int, where: int, *, stays: bool = False) -> dict[str, Any]:
    return {
        "batch": str(batch),
        "stay": str(uid(f"stay of {batch}")),
        "count": count,
        "container": str(container(where)),
        "kit": str(kit(where)),
        "stays_here": stays,
    }


def split(
    hours: float, parts: Sequence[dict[str, Any]], of: UUID = BATCH, **given: Any
) -> Fact:
    name = f"split of {of}"
    return tell(name, "batch_split", hour(hours), batch=of, parts=list(parts), **given)


def joined(
    hours: float, members: Sequence[UUID], came_in: Sequence[UUID], where: int, **given: Any
) -> Fact:
    body = {
        "members": [str(one) for one in members],
        "batch": str(given.pop("into", JOINED)),
        "stay": str(given.pop("stay", uid("stay of the joined"))),
        "container": str(container(where)),
        "kit": str(kit(where)),
        "came_in": [str(one) for one in came_in],
        "told_apart": False,
    }
    return tell(f"join {hours}", "batches_joined", hour(hours), body=body, **given)


def placed(hours: float, batch: UUID, count: int, where: int, *, joins: bool = False) -> Fact:
    return tell(
        f"placed {batch}",
        "batch_placed",
        hour(hours),
        batch=batch,
        from_=[{"line": str(uid(f"line of {batch}")), "count": count}],
        container=container(where),
        kit=kit(where),
        counts=[count],
        protocol="transfer-288",
        version=1,
        stay=uid(f"stay of {batch}"),
        joins=joins,
    )


def moved(hours: float, batch: UUID, ended: UUID, where: int, count: int) -> Fact:
    return tell(
        f"move {batch} {hours}",
        "batch_moved",
        hour(hours),
        batch=batch,
        ended_stay=ended,
        stay=uid(f"stay {batch} {hours}"),
        container=container(where),
        kit=kit(where),
        counts=[count],
        missing=0,
        readings=[],
    )


def judged(
    batch: UUID, facts: Iterable[Fact], hours: float, places: dict[UUID, Any] | None = None
) -> Judgement:
    rules = RulesHistory(((START - (hour(1000) - START), Story().rules),))
    told = happenings(facts, at=hour(hours), rules=rules)
    found = history(batch, told, lineage(told))
    known = {one.stay: READY for one in placements(found)} | (places or {})
    return judge(
        found,
        protocol=protocol("transfer-288@1"),
        rules=rules,
        places=known,
        cover={},
        at=hour(hours),
    )
