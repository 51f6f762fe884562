"""What is done to equipment: cleaned and disinfected, seen dry, found wet, fitted, emptied."""

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any
from uuid import UUID
from zoneinfo import ZoneInfo

from protocols.clocks import utc_text
from protocols.equipping import Fitted, contact_in_order, may_empty, may_fit
from protocols.permissions import Equipment
from protocols.upkeep import may_disinfect, may_see_dry
from protocols.values import Reason
from stock import access
from stock.answers import Answered
from stock.doors.door import Asking, Door, enter, told_at
from stock.judging.subjects import as_they_are
from stock.judging.upkeep import drying_rule
from stock.ledger import Told
from stock.models import Container, Kit, Piece, Shift, Site
from stock.queries.kits import states
from stock.queries.sites import rules_history
from stock.queries.things import shown
from stock.refusals import NotFound, refuse

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


@dataclass(frozen=True, slots=True)
class Fitting:
    """A piece, the kit or container it goes into, and the one it takes the place of."""

    piece: UUID
    kit: UUID | None = None
    container: UUID | None = None
    replaces: UUID | None = None
    replaced_is_defective: bool = False


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
    told = Told(kind, {"subjects": list(each), **body}, asking.uid, texts=asking.texts)
    return enter(
        asking,
        site.uid,
        Door(
            load=lambda log: _seen(asking, site, each),
            ask=ask,
            tell=lambda found: (told,),
            show=lambda found: {"subjects": _states(asking, site, each)},
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
                    **_states(asking, site, (row.uid,))[0],
                }
            },
        ),
    )


def fit_piece(asking: Asking, *, fitting: Fitting) -> Answered:
    """Put a piece into a kit or a container, perhaps in place of another one."""
    row, site = access.thing_for(asking.person, Piece, fitting.piece, access.HANDS)
    _same_site(site, {Kit: fitting.kit, Container: fitting.container})
    kits = tuple(uid for uid in dict.fromkeys((fitting.kit, row.kit_id)) if uid is not None)

    def load(_: object) -> tuple[Fitted, Fitted | None]:
        replaced = fitting.replaces
        return _fitted(site, fitting.piece), _fitted(site, replaced) if replaced else None

    return enter(
        asking,
        site.uid,
        Door(
            load=load,
            ask=lambda found: may_fit(found[0], fitting.kit, found[1]),
            tell=lambda found: _fitting_told(asking, fitting),
            show=lambda found: _piece_and_kits(asking, site, fitting.piece, kits),
        ),
    )


def _piece_and_kits(
    asking: Asking, site: Site, piece: UUID, kits: Sequence[UUID]
) -> dict[str, Any]:
    """A piece as it is now, and the kits it concerns; loaded together."""
    own, *others = _states(asking, site, (piece, *kits))
    return {"piece": {**shown(Piece, piece), **own}, "kits": others}


def mark_defective(asking: Asking, *, piece: UUID, what: str) -> Answered:
    """A piece is broken: nothing that it belongs to is complete until another one is in."""
    row, site = access.thing_for(asking.person, Piece, piece, access.HANDS)
    told = Told(
        "piece_defective", {"piece": piece, "what": what}, asking.uid, texts=asking.texts
    )
    kits = (row.kit_id,) if row.kit_id else ()
    return enter(
        asking,
        site.uid,
        Door(
            load=lambda log: None,
            ask=lambda _: (),
            tell=lambda _: (told,),
            show=lambda _: _piece_and_kits(asking, site, piece, kits),
        ),
    )


def _fitting_told(asking: Asking, fitting: Fitting) -> Sequence[Told]:
    body = {
        "piece": fitting.piece,
        "kit": fitting.kit,
        "container": fitting.container,
        "replaces": fitting.replaces,
    }
    told = [Told("piece_fitted", body, asking.uid, texts=asking.texts)]
    if fitting.replaces and fitting.replaced_is_defective:
        broken = {"piece": fitting.replaces, "what": "replaced as defective"}
        told.append(Told("piece_defective", broken))
    return told


def _fitted(site: Site, uid: UUID) -> Fitted:
    row = Piece.read(uid=uid, site=site)
    if row is None:
        raise NotFound
    return Fitted(row.uid, row.label, row.kit_id, row.defective)


def _same_site(site: Site, things: Mapping[type[Kit] | type[Container], UUID | None]) -> None:
    for sort, uid in things.items():
        if uid is not None and sort.read(uid=uid, site=site) is None:
            raise NotFound


def _seen(asking: Asking, site: Site, subjects: Sequence[UUID]) -> Seen:
    return as_they_are(site.uid, subjects, drying=drying_rule(), at=asking.performed_at)


def _states(asking: Asking, site: Site, subjects: Sequence[UUID]) -> list[dict[str, Any]]:
    at = max(asking.now, asking.performed_at)
    zone = ZoneInfo(site.zone)
    return states(site.uid, subjects, zone=zone, drying=drying_rule(), at=at)


def _was_on_shift(asking: Asking, site: UUID) -> bool:
    """Whether whoever saw it was on shift at that moment, both ends included."""
    doer = asking.doer or asking.person.uid
    return Shift.objects.filter(
        site=site, person=doer, begins__lte=asking.performed_at, ends__gte=asking.performed_at
    ).exists()
