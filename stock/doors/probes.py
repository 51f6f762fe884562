"""What probes send: series with gaps, tables of many series, and by what a probe may send."""

import secrets
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from uuid import UUID

from protocols import probes
from protocols.probes import Row, Run
from protocols.values import Reason
from stock import access
from stock.answers import Answered
from stock.doors.door import Asking, Door, enter
from stock.doors.measured import Known, Value, known_of
from stock.doors.readings import Series, value_faults
from stock.ledger import Told
from stock.models import Container, Device, DeviceToken, Instrument, Person
from stock.queries.people import token_digest
from stock.refusals import NotFound, Refused, refuse

# A word before the secret says what it is, so that a lost one can be recognised.
PREFIX = "probe-"


@dataclass(frozen=True, slots=True)
class _Part:
    """One run of values of one probe in one container: the fact that will tell it."""

    fact: UUID
    container: UUID
    series: Series
    pointers: tuple[str, ...]

    def values(self) -> list[Value]:
        return self.series.each(self.container, self.fact)

    def told(self, texts: Mapping[str, str]) -> Told:
        return Told("readings_taken", self.series.body(self.container), self.fact, texts=texts)


def take_series(
    asking: Asking,
    *,
    container: UUID,
    series: Series,
    values: Sequence[str | None] | None = None,
) -> Answered:
    """What a probe measured in a container, evenly spaced, with None where it has no value.

    A gap ends a series and begins another: what is not known is not made up.
    """
    _, site = access.thing_for(asking.person, Container, container, access.HANDS)
    values = series.values if values is None else values
    found = probes.runs(series.start, series.step_s, values)
    if not found:
        raise Refused(refuse("unreadable", "There is no value in it.", pointer="/values"))
    parts = [_part(asking, n, container, series, run, "/values") for n, run in enumerate(found)]
    return _enter(asking, site.uid, parts, gaps=sum(one is None for one in values))


def take_table(asking: Asking, *, site: UUID, text: str) -> Answered:
    """A table of values of any of the site's probes: every row of it, or nothing.

    Probes and containers are named by label or uid.
    """
    access.site_for(asking.person, site, access.HANDS)
    read = probes.read_table(text, at="/csv")
    rows = [one for one in read if isinstance(one, Row)]
    wrong = [one for one in read if isinstance(one, Reason)]
    wrong += probes.differing(rows, at="/csv")
    labels = _Labels(site)
    wrong += labels.faults(rows)
    if wrong:
        raise Refused(*wrong)
    parts = []
    for n, (first, run) in enumerate(probes.series_of(rows)):
        probe = labels.instruments[first.probe]
        series = Series(probe, first.quantity, first.unit, run.start, run.step_s, run.values)
        parts.append(_part(asking, n, labels.containers[first.container], series, run, "/csv"))
    if not parts:
        raise Refused(refuse("unreadable", "There is no value in it.", pointer="/csv"))
    return _enter(asking, site, parts, gaps=sum(one.value is None for one in rows))


def make_token(person: Person, *, device: UUID, now: datetime, end: bool = False) -> str | None:
    """By this text a probe or its gateway sends values, and does nothing else; shown once.

    An older one of the same device is worth nothing from now on; with `end` there is none.
    """
    row = Device.read(uid=device)
    if row is None:
        raise NotFound
    access.site_for(person, row.site_id, access.MANAGERS)
    if end:
        DeviceToken.objects.filter(device=row).delete()
        return None
    text = PREFIX + secrets.token_urlsafe(32)
    DeviceToken.objects.update_or_create(
        device=row, defaults={"digest": token_digest(text), "person": person, "made_at": now}
    )
    return text


def _part(
    asking: Asking, n: int, container: UUID, series: Series, run: Run, where: str
) -> _Part:
    uid = asking.new_uid() if n == 0 else replace(asking, uid=None).new_uid()
    found = replace(series, start=run.start, step_s=run.step_s, values=run.values)
    return _Part(uid, container, found, tuple(f"{where}/{one}" for one in run.at))


def _enter(asking: Asking, site: UUID, parts: Sequence[_Part], *, gaps: int) -> Answered:
    each = [one for part in parts for one in part.values()]
    pointers = [one for part in parts for one in part.pointers]

    def ask(known: Known) -> Iterator[Reason]:
        return value_faults(asking, site, each, known, pointers)

    return enter(
        asking,
        site,
        Door(
            load=lambda log: known_of(site, each),
            ask=ask,
            tell=lambda _: [
                part.told(asking.texts if n == 0 else {}) for n, part in enumerate(parts)
            ],
            show=lambda _: {
                "series": {
                    "uid": str(parts[0].fact),
                    "uids": [str(part.fact) for part in parts],
                    "readings": len(each),
                    "gaps": gaps,
                }
            },
        ),
    )


class _Labels:
    """Which instrument and container a text names: by label, else by uid."""

    def __init__(self, site: UUID) -> None:
        self.instruments = self._named(Instrument, site)
        self.containers = self._named(Container, site)

    @staticmethod
    def _named(sort: type[Instrument] | type[Container], site: UUID) -> dict[str, UUID]:
        rows = list(sort.objects.filter(site=site).values_list("uid", "label"))
        return {str(uid): uid for uid, _ in rows} | {label: uid for uid, label in rows}

    def faults(self, rows: Sequence[Row]) -> Iterator[Reason]:
        for one in rows:
            if one.probe not in self.instruments:
                text = f"Row {one.number}: there is no instrument {one.probe} here."
                yield refuse("unreadable", text, pointer=f"/csv/{one.number}/probe")
            if one.container not in self.containers:
                text = f"Row {one.number}: there is no container {one.container} here."
                yield refuse("unreadable", text, pointer=f"/csv/{one.number}/container")
