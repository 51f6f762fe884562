"""Handovers: what was said, who read it, and what was odd since the one before."""

from dataclasses import dataclass
from datetime import datetime
from typing import Any
from uuid import UUID

from stock.judging.task_rows import work_of
from stock.models import Container, Fact, FactText, Handover, Person, Room, Task
from stock.queries.work_words import what_text
from stock.refusals import NotFound

SAID = ("odd", "promised", "silenced")
# Rounds before the first handover of a site are looked at so many deep.
MOST = 100


@dataclass(frozen=True, slots=True)
class Reader:
    uid: UUID
    name: str
    at: datetime


@dataclass(frozen=True, slots=True)
class HandoverSeen:
    """One handover. `late` and `taken` are lines of (task, where); `odd` of (where, what)."""

    uid: UUID
    site: UUID
    by: UUID
    name: str
    at: datetime
    open: int
    late: tuple[tuple[str, str], ...]
    taken: tuple[tuple[str, str], ...]
    odd: tuple[tuple[str, str], ...]
    closed: tuple[str, ...]
    said: dict[str, str]
    readers: tuple[Reader, ...]


@dataclass(frozen=True, slots=True)
class HandoverLine:
    """What the shift says of the newest handover."""

    uid: UUID
    by: UUID
    at: datetime
    open: int
    late: int
    readers: tuple[UUID, ...]


def newest_line(site: UUID, at: datetime) -> HandoverLine | None:
    """The newest handover of a site, and who has read it. Two queries, one without any."""
    found = Handover.objects.filter(site=site, at__lte=at).order_by("-at", "-fact").first()
    if found is None:
        return None
    readers = tuple(found.readings.values_list("by", flat=True))
    return HandoverLine(found.fact, found.by, found.at, found.open, len(found.late), readers)


def handover_of(uid: UUID) -> Handover:
    """The row of a handover. One query. Raises NotFound."""
    found = Handover.objects.filter(fact=uid).first()
    if found is None:
        raise NotFound
    return found


def handover_seen(uid: UUID) -> HandoverSeen:
    """One handover with everything in it. Eight queries. Raises NotFound."""
    row = handover_of(uid)
    readings = list(row.readings.order_by("at", "fact"))
    people = {row.by, *(one.by for one in readings)}
    names = dict(Person.objects.filter(uid__in=people).values_list("uid", "name"))
    before = Handover.objects.filter(site=row.site_id, at__lt=row.at).order_by("-at").first()
    lines = _lines({*row.late, *row.taken})
    return HandoverSeen(
        uid=row.fact,
        site=row.site_id,
        by=row.by,
        name=names.get(row.by, ""),
        at=row.at,
        open=row.open,
        late=tuple(lines[uid] for uid in row.late if uid in lines),
        taken=tuple(lines[uid] for uid in row.taken if uid in lines),
        odd=odd_between(row.site_id, before.at if before else None, row.at),
        closed=tuple(
            Room.objects.filter(uid__in=row.closed)
            .order_by("label")
            .values_list("label", flat=True)
        ),
        said=dict(
            FactText.objects.filter(fact=uid, name__in=SAID).values_list("name", "value")
        ),
        readers=tuple(Reader(one.by, names.get(one.by, ""), one.at) for one in readings),
    )


def odd_between(
    site: UUID, since: datetime | None, until: datetime
) -> tuple[tuple[str, str], ...]:
    """What rounds found that was not as it should be, by time. Two queries."""
    rounds = Fact.objects.filter(log=site, kind="round_made", performed_at__lte=until)
    if since is not None:
        rounds = rounds.filter(performed_at__gt=since)
    bodies = rounds.order_by("-performed_at", "-seq").values_list("body", flat=True)[:MOST]
    said = [one for body in reversed(list(bodies)) for one in body["exceptions"]]
    uids = {one["container"] for one in said}
    labels = {str(uid): label for uid, label in _labels(uids)}
    return tuple((labels.get(one["container"], ""), one["what"]) for one in said)


def handover_shown(uid: UUID) -> dict[str, Any]:
    """One handover as programs read it."""
    seen = handover_seen(uid)
    return {
        "uid": str(seen.uid),
        "by": str(seen.by),
        "by_name": seen.name,
        "at": seen.at,
        "open": seen.open,
        "late": [{"text": text, "where": where} for text, where in seen.late],
        "taken": [{"text": text, "where": where} for text, where in seen.taken],
        "found_odd": [{"where": where, "what": what} for where, what in seen.odd],
        "closed": list(seen.closed),
        **{name: seen.said.get(name) for name in SAID},
        "read_by": [
            {"person": str(one.uid), "name": one.name, "at": one.at} for one in seen.readers
        ],
    }


def handover_page(site: UUID) -> list[dict[str, Any]]:
    """The newest handovers of a site."""
    rows = Handover.objects.filter(site=site).order_by("-at", "-fact")
    return [handover_shown(uid) for uid in rows.values_list("fact", flat=True)[:10]]


def _lines(uids: set[str]) -> dict[str, tuple[str, str]]:
    """Tasks as (what, where) by uid. Two queries."""
    rows = list(Task.objects.filter(uid__in=uids))
    labels = dict(_labels({row.container for row in rows if row.container}))
    return {
        str(row.uid): (
            what_text(work_of(row)),
            labels.get(row.container, "") if row.container else "",
        )
        for row in rows
    }


def _labels(uids: set[Any]) -> Any:
    return Container.objects.filter(uid__in=uids).values_list("uid", "label")
