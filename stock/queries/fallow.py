"""A system without fish: since when, what was put in since, and how long that has to last."""

from collections.abc import Collection, Iterator
from datetime import datetime
from typing import Any
from uuid import UUID

from protocols.library.fallow import Added, LeftAlone, left_alone
from protocols.library.values import Fallow
from protocols.order import happenings
from protocols.said import said
from protocols.values import Happening, RulesHistory
from stock.judging.facts import facts_about
from stock.judging.words import words_about
from stock.models import Container, Missing, StayRow, System
from stock.queries.numbers import numbers_of
from stock.refusals import NotFound

# By which anything comes into a container from elsewhere.
BRINGS = ("contact_seen", "piece_fitted", "container_set")
ANY_TIME = RulesHistory(())


def system_left_alone(
    system: System, rule: Fallow, at: datetime, *, poor_oxygen: bool = False
) -> LeftAlone:
    """The clock of a system at a moment. Nine queries.

    Salt water freshly made is none of what is put in; fish that nobody found may be in it.
    """
    known = facts_about([system.uid], kinds=("system_set", "container_set"))
    containers = set(Container.objects.filter(system=system).values_list("uid", flat=True))
    begins = _begins(containers, [one.performed_at for one in known[system.uid]], at)
    since = begins or at
    numbers = numbers_of(containers, "temperature", begins=since, at=at)
    return left_alone(
        rule,
        begins=begins,
        added=list(_added(system.uid, containers, at)) if begins else (),
        temperatures=list(numbers.values()),
        at=at,
        poor_oxygen=poor_oxygen,
    )


def system_head(uid: UUID) -> System:
    """The system with its site. One query. Raises NotFound."""
    found = System.objects.select_related("site").filter(uid=uid).first()
    if found is None:
        raise NotFound
    return found


def systems_of(site: UUID) -> list[System]:
    """The systems of a site, by label. One query."""
    return list(System.objects.filter(site=site).order_by("label"))


def shown_left_alone(found: LeftAlone) -> dict[str, Any]:
    return {
        "since": found.since,
        "last_added": found.last and {"at": found.last.at, "what": found.last.what},
        "coldest_c": None if found.coldest_c is None else str(found.coldest_c),
        "unknown_s": int(found.unknown.total_seconds()),
        "organisms": [
            {
                "organism": one.organism,
                "state": one.state,
                "days": one.days,
                "ends_at": one.ends_at,
                "why": one.why or None,
            }
            for one in found.against
        ],
    }


def _begins(
    containers: Collection[UUID], told: list[datetime], at: datetime
) -> datetime | None:
    """When the last fish left it, or it was set up; None while some are or may be in it."""
    rows = StayRow.objects.filter(container__in=containers, began_earliest__lte=at)
    ended = list(rows.values_list("ended_latest", flat=True))
    if any(one is None or one > at for one in ended):
        return None
    if Missing.objects.filter(container__in=containers, open__gt=0, at__lte=at).exists():
        return None
    moments = [one for one in (*ended, *told[:1]) if one is not None]
    return max(moments, default=None)


def _added(system: UUID, containers: Collection[UUID], at: datetime) -> Iterator[Added]:
    """What came in, as it is told now: withdrawn reports are none."""
    found = facts_about(containers, kinds=BRINGS)
    told = {one.uid: one for facts in found.values() for one in facts}
    was: dict[str, str | None] = {}
    for one in happenings([*told.values(), *words_about(told)], at=at, rules=ANY_TIME):
        if one.kind == "container_set":
            before = was.get(one.body["container"])
            was[one.body["container"]] = one.body.get("system")
            if one.body.get("system") == str(system) != before:
                yield Added(one.when.latest, said("container {label}", label=one.body["label"]))
        elif what := _brought(one, containers):
            yield Added(one.when.latest, what)


def _brought(one: Happening, containers: Collection[UUID]) -> str:
    if one.kind == "piece_fitted":
        return "a piece of equipment" if _is_in(one.body.get("container"), containers) else ""
    if _is_in(one.body["to"], containers) and not _is_in(one.body["from"], containers):
        return said("a contact by {way}", way=one.body["way"])
    return ""


def _is_in(uid: Any, containers: Collection[UUID]) -> bool:
    return uid is not None and UUID(str(uid)) in containers
