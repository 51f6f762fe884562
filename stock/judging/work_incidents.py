"""What incidents leave to be done: lids to fix, animals to look at again."""

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import datetime, time, timedelta
from uuid import UUID

from protocols.incidents import jumped_alive, leaves_lid_off, looks_due
from protocols.order import happenings
from protocols.tasks import LidOff, LookAgain
from protocols.values import Happening
from protocols.whereabouts import who_may_have_been
from stock.judging.facts import value_of
from stock.judging.neighbours import standing_of
from stock.judging.words import words_about
from stock.models import Container, Fact, FactSubject, Loss, StayRow
from stock.queries.sites import rules_history

# What nobody did for so long is not asked for any more.
ASKED_FOR = timedelta(days=14)
# Whoever told one of these has looked at the animals.
LOOKED = ("round_made", "counted", "sign_seen")


@dataclass(frozen=True, slots=True)
class Incidents:
    """Lids by container, looks by batch."""

    lids: Mapping[UUID, Sequence[LidOff]] = field(default_factory=dict)
    looks: Mapping[UUID, Sequence[LookAgain]] = field(default_factory=dict)


def incidents_known(
    site: UUID, stays: Mapping[UUID, Sequence[StayRow]], at: datetime
) -> Incidents:
    """What incidents of late ask of the batches with these stays.

    One query where there were none, else seven at most.
    """
    rows = Fact.objects.filter(
        log=site,
        kind="incident_recorded",
        performed_at__gt=at - ASKED_FOR,
        performed_at__lte=at,
        parked=None,
    )
    facts = [value_of(fact) for fact in rows.order_by("seq")]
    if not facts:
        return Incidents()
    words = words_about(fact.uid for fact in facts)
    found = happenings([*facts, *words], at=at, rules=rules_history(site))
    told = [one for one in found if one.kind == "incident_recorded"]
    return Incidents(_lids(told, stays), _looks(told, stays))


def _lids(
    told: Iterable[Happening], stays: Mapping[UUID, Sequence[StayRow]]
) -> dict[UUID, list[LidOff]]:
    """Incidents that left a container without a sound lid, by container.

    A report that names only a batch is about the container in which it stands.
    """
    standing = {
        uid: found[-1].container_id
        for uid, found in stays.items()
        if found[-1].ended_latest is None
    }
    off = [
        (where, one)
        for one in told
        if leaves_lid_off(one.body["kind"], one.body["what"])
        and (where := _where(one.body, standing)) is not None
    ]
    here = Container.objects.filter(uid__in=[container for container, _ in off])
    dark = dict(here.values_list("uid", "rack__room__light_off")) if off else {}
    lids: dict[UUID, list[LidOff]] = defaultdict(list)
    for uid, one in off:
        light_off = time.fromisoformat(dark[uid])
        lids[uid].append(LidOff(one.uid, uid, one.when.earliest, light_off))
    return lids


def _where(body: Mapping[str, str], standing: Mapping[UUID, UUID]) -> UUID | None:
    if "container" in body:
        return UUID(body["container"])
    return standing.get(UUID(body["batch"]))


def _looks(
    told: Iterable[Happening], stays: Mapping[UUID, Sequence[StayRow]]
) -> dict[UUID, list[LookAgain]]:
    """Animals that jumped and live, by the batch that they belong to."""
    jumps = [
        (batch, one)
        for one in told
        if jumped_alive(one.body["kind"], one.body["what"])
        for batch in _whose(one, stays)
    ]
    if not jumps:
        return {}
    died = Loss.objects.filter(incident__in=[one.uid for _, one in jumps])
    dead = set(died.values_list("incident", flat=True))
    looked = _looked_at({batch for batch, _ in jumps}, stays)
    found: dict[UUID, list[LookAgain]] = {}
    for batch, one in jumps:
        if one.uid not in dead:
            due = looks_due(one.when.earliest, looked.get(batch, ()))
            again = [LookAgain(one.uid, number, moment) for number, moment in due]
            found.setdefault(batch, []).extend(again)
    return found


def _whose(one: Happening, stays: Mapping[UUID, Sequence[StayRow]]) -> Iterator[UUID]:
    """The batch that is named, else those that may have stood in the container then."""
    if "batch" in one.body:
        yield UUID(one.body["batch"])
        return
    rows = (standing_of(row) for found in stays.values() for row in found)
    there = who_may_have_been([UUID(one.body["container"])], one.when, rows)
    yield from {standing.batch: None for standing in there}


def _looked_at(
    batches: set[UUID], stays: Mapping[UUID, Sequence[StayRow]]
) -> dict[UUID, list[datetime]]:
    """When somebody looked at each of these, or at the container in which it was. One query."""
    whose: dict[UUID, list[tuple[UUID, StayRow | None]]] = {
        uid: [(uid, None)] for uid in batches
    }
    for batch in batches:
        for row in stays.get(batch, ()):
            whose.setdefault(row.container_id, []).append((batch, row))
    told = FactSubject.objects.filter(
        subject__in=list(whose), fact__kind__in=LOOKED, fact__parked=None
    )
    found: dict[UUID, list[datetime]] = {}
    for subject, moment in told.values_list("subject", "fact__performed_at"):
        for batch, there in whose[subject]:
            if there is None or _stood(there, moment):
                found.setdefault(batch, []).append(moment)
    return found


def _stood(row: StayRow, moment: datetime) -> bool:
    ended = row.ended_latest
    return row.began_earliest <= moment and (ended is None or moment <= ended)
