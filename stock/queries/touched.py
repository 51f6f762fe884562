"""What touched what on a day of a site, graded; and which animals may have been there."""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from typing import Any
from uuid import UUID
from zoneinfo import ZoneInfo

from django.db.models import Q

from protocols.exposure import GRADES
from protocols.order import happenings
from protocols.uids import as_uid
from protocols.values import Happening
from protocols.whereabouts import Standing, who_may_have_been
from stock.judging.facts import value_of
from stock.judging.neighbours import standing_of
from stock.judging.words import words_about
from stock.models import Fact, Site, StayRow
from stock.queries.batches import timed
from stock.queries.sites import rules_history
from stock.queries.told import named

# A correction may bring a contact of another day to this one.
CORRECTED_WITHIN = timedelta(days=7)


@dataclass(frozen=True, slots=True)
class End:
    """One end of a contact: what was named, and the batches that may have been there."""

    uid: UUID
    label: str
    batches: tuple[tuple[UUID, str], ...]

    def shown(self) -> dict[str, Any]:
        batches = [{"uid": str(uid), "code": code} for uid, code in self.batches]
        return {"uid": str(self.uid), "label": self.label, "batches": batches}


@dataclass(frozen=True, slots=True)
class Touch:
    """Something went from one end to the other."""

    uid: UUID
    at: datetime
    recorded_at: datetime
    begin: End
    end: End
    way: str
    grade: str
    thing: tuple[UUID, str] | None
    doer: tuple[UUID, str]

    def shown(self, zone: ZoneInfo) -> dict[str, Any]:
        thing = self.thing and {"uid": str(self.thing[0]), "label": self.thing[1]}
        return {
            "uid": str(self.uid),
            **timed("at", self.at, zone),
            "recorded_at": self.recorded_at,
            "from": self.begin.shown(),
            "to": self.end.shown(),
            "way": self.way,
            "grade": self.grade,
            "thing": thing,
            "doer": {"uid": str(self.doer[0]), "name": self.doer[1]},
        }


def touched_on(
    site: Site, day: date, now: datetime, *, known_by: int | None = None
) -> tuple[Touch, ...]:
    """Every contact of a day of the site's wall clock, in order. Seven queries at most.

    With `known_by` as the record book told it at that position.
    """
    zone = ZoneInfo(site.zone)
    begins = datetime.combine(day, time(0), zone)
    ends = datetime.combine(day + timedelta(days=1), time(0), zone)
    told = list(_told(site.uid, begins, ends, now, known_by))
    stays = _stays(told)
    names = named({uid for one in told for uid in _uids(one)} | {str(s.batch) for s in stays})
    return tuple(_touch(one, stays, names) for one in told)


def _told(
    site: UUID, begins: datetime, ends: datetime, now: datetime, known_by: int | None
) -> Iterator[Happening]:
    rows = Fact.objects.filter(
        log=site,
        kind="contact_seen",
        parked=None,
        performed_at__gte=begins - CORRECTED_WITHIN,
        performed_at__lt=ends + CORRECTED_WITHIN,
    )
    if known_by is not None:
        rows = rows.filter(seq__lte=known_by)
    facts = [value_of(fact) for fact in rows.order_by("seq")]
    words = words_about((fact.uid for fact in facts), known_by=known_by)
    for one in happenings([*facts, *words], at=now, rules=rules_history(site)):
        if one.kind == "contact_seen" and begins <= one.when.earliest < ends:
            yield one


def _stays(told: Sequence[Happening]) -> list[Standing]:
    """Stays in the places and with the kits that are named, about the time. One query."""
    places = {as_uid(one.body[name]) for one in told for name in ("from", "to")}
    if not places:
        return []
    rows = StayRow.objects.filter(
        Q(ended_latest=None) | Q(ended_latest__gte=min(one.when.earliest for one in told)),
        Q(container__in=places) | Q(kit__in=places),
        began_earliest__lte=max(one.when.latest for one in told),
    )
    return [standing_of(row) for row in rows.order_by("began_earliest", "uid")]


def _uids(one: Happening) -> Iterable[str]:
    named = (one.body.get(name) for name in ("from", "to", "thing"))
    return [*(str(uid) for uid in named if uid), str(one.first.doer)]


def _touch(one: Happening, stays: Sequence[Standing], names: Mapping[str, str]) -> Touch:
    thing = one.body.get("thing")
    return Touch(
        uid=one.uid,
        at=one.when.earliest,
        recorded_at=one.first.recorded_at,
        begin=_end(one, "from", stays, names),
        end=_end(one, "to", stays, names),
        way=one.body["way"],
        grade=str(GRADES[one.body["way"]]),
        thing=None if thing is None else (as_uid(thing), names.get(str(thing), "?")),
        doer=(one.first.doer, names.get(str(one.first.doer), "?")),
    )


def _end(one: Happening, name: str, stays: Sequence[Standing], names: Mapping[str, str]) -> End:
    uid = as_uid(one.body[name])
    there = {stay.batch: None for stay in who_may_have_been([uid], one.when, stays)}
    batches = tuple((batch, names.get(str(batch), "?")) for batch in there)
    return End(uid, names.get(str(uid), "?"), batches)
