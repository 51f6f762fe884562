"""What is done to equipment: cleaned and disinfected, seen dry, found wet, emptied."""

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any
from uuid import UUID
from zoneinfo import ZoneInfo

from protocols.clocks import utc_text
from protocols.equipping import contact_in_order, may_empty
from protocols.upkeep import may_disinfect, may_see_dry
from protocols.values import Reason
from protocols.worlds import Equipment
from stock import access
from stock.answers import Answered
from stock.doors.door import Asking, Door, enter, told_at
from stock.judging.subjects import as_they_are
from stock.judging.upkeep import drying_rule
from stock.ledger import Told
from stock.models import Container, Shift, Site
from stock.queries.kits import states
from stock.queries.sites import rules_history
from stock.queries.things import shown
from stock.refusals import refuse

Seen = tuple[Equipment, ...]


@dataclass(frozen=True, slots=True)
class Disinfection:
    """How it was done: agent, strength in mg/L as measured, contact from when to when."""

    cleaned: bool
    agent: str
    mg_per_l: str | None
    measured: bool
    started_at: datetime
    ended_at: datetime
    rinsed: bool
    neutralised: bool | None = None

    def body(self) -> dict[str, Any]:
        return {
            "cleaned": self.cleaned,
            "agent": self.agent,
            "mg_per_l": self.mg_per_l,
            "measured": self.measured,
            "started_at": utc_text(self.started_at),
            "ended_at": utc_text(self.ended_at),
            "rinsed": self.rinsed,
            "neutralised": self.neutralised,
        }


def disinfect(
    asking: Asking, *, site: UUID, subjects: Sequence[UUID], done: Disinfection
) -> Answered:
    """Pieces, kits and containers were disinfected; each says whether that was enough."""

    def ask(found: Seen) -> Iterator[Reason]:
        latest = max(asking.now, asking.performed_at)
        if not contact_in_order(done.started_at, done.ended_at, latest):
            text = "Contact begins before it ends, and ends before this is told."
            yield refuse("unreadable", text, pointer="/ended_at")
        yield from may_disinfect(found)

    return _treat(asking, site, subjects, "disinfected", done.body(), ask)


def see_dry(asking: Asking, *, site: UUID, subjects: Sequence[UUID]) -> Answered:
    """Somebody looked and found these dry: the drying hours begin."""

    def ask(found: Seen) -> tuple[Reason, ...]:
        rules = rules_history(site).at(asking.performed_at)
        return may_see_dry(
            asking.performed_at,
            told_at(asking),
            was_on_shift=_was_on_shift(asking, site),
            late_after=timedelta(seconds=rules.late_reason_after_s),
        )

    return _treat(asking, site, subjects, "seen_dry", {}, ask)


def find_wet(
    asking: Asking, *, site: UUID, subjects: Sequence[UUID], contradicts: UUID | None
) -> Answered:
    """Somebody found these wet, perhaps against a dry-sighting: uses since are in question."""
    body = {"contradicts": contradicts}
    return _treat(asking, site, subjects, "found_wet", body, lambda found: ())


def _treat(
    asking: Asking,
    site_uid: UUID,
    subjects: Sequence[UUID],
    kind: str,
    body: Mapping[str, Any],
    ask: Callable[[Seen], Iterable[Reason]],
) -> Answered:
    """One fact about several pieces, kits and containers of a site."""
    site = access.site_for(asking.person, site_uid, access.HANDS)
    each = tuple(dict.fromkeys(subjects))
    uid = asking.new_uid()
    told = Told(kind, {"subjects": list(each), **body}, uid, texts=asking.texts)
    finding = uid if kind == "found_wet" else None
    return enter(
        asking,
        site.uid,
        Door(
            load=lambda log: _seen(asking, site, each),
            ask=ask,
            tell=lambda found: (told,),
            show=lambda found: {"subjects": states_of(asking, site, each, finding=finding)},
        ),
    )


def empty_container(asking: Asking, *, container: UUID, searched: bool) -> Answered:
    """A container was drained; `searched` says that its hollow parts were looked through."""
    row, site = access.thing_for(asking.person, Container, container, access.HANDS)
    told = Told(
        "emptied",
        {"container": container, "searched": searched},
        asking.uid,
        texts=asking.texts,
    )
    return enter(
        asking,
        site.uid,
        Door(
            load=lambda log: _seen(asking, site, (row.uid,)),
            ask=lambda found: may_empty(found[0], searched=searched),
            tell=lambda found: (told,),
            show=lambda found: {
                "container": {
                    **shown(Container, row.uid),
                    **states_of(asking, site, (row.uid,))[0],
                }
            },
        ),
    )


def _seen(asking: Asking, site: Site, subjects: Sequence[UUID]) -> Seen:
    return as_they_are(site.uid, subjects, drying=drying_rule(), at=asking.performed_at)


def states_of(
    asking: Asking, site: Site, subjects: Sequence[UUID], *, finding: UUID | None = None
) -> list[dict[str, Any]]:
    """What became of these by what was told, and whom that reaches."""
    return states(
        site.uid,
        subjects,
        zone=ZoneInfo(site.zone),
        drying=drying_rule(),
        at=max(asking.now, asking.performed_at),
        since=asking.performed_at,
        finding=finding,
    )


def _was_on_shift(asking: Asking, site: UUID) -> bool:
    """Whether whoever saw it was on shift at that moment, both ends included."""
    doer = asking.doer or asking.person.uid
    return Shift.objects.filter(
        site=site, person=doer, begins__lte=asking.performed_at, ends__gte=asking.performed_at
    ).exists()
