"""The mixing room: makes of water, checks of them, salt that came or was weighed."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal
from typing import Any
from uuid import UUID

from protocols.makes import (
    CHECKED_BOUNDS,
    Standing,
    draw_reasons,
    figure_faults,
)
from protocols.values import Reason
from stock import access
from stock.answers import Answered
from stock.doors.door import Asking, Door, enter
from stock.ledger import Told
from stock.models import FactSubject, SaltLot
from stock.queries.mixing import make_seen, shown_make, shown_reason, standings
from stock.refusals import NotFound, refuse

NOTHING = refuse("unreadable", "Say what was measured.", pointer="/volume_l")
NAMELESS = refuse("unreadable", "Say which salt it is.", pointer="/salt_lot")
BEFORE = ("aerated_since", "mixed_at")


def make_water(asking: Asking, *, site: UUID, body: Mapping[str, Any]) -> Answered:
    """One mixing of salt water in a vat; what is filled from it names it.

    `lot` names a salt lot of the site, else `salt_lot` says in words which salt it was.
    """
    access.site_for(asking.person, site, access.HANDS)
    uid = asking.new_uid()
    lot = body.get("lot")

    def tell(label: str) -> tuple[Told, ...]:
        made = {"salt_lot": label, **body, "make": str(uid)}
        return (Told("water_made", made, texts=asking.texts),)

    return enter(
        asking,
        site,
        Door(
            load=lambda log: _lot_label(log.uid, lot) if lot else body.get("salt_lot", ""),
            ask=lambda label: (*_made_faults(asking, body), *([] if label else [NAMELESS])),
            tell=tell,
            show=lambda _: {"make": shown_make(make_seen(uid, asking.now))},
        ),
    )


def check_make(asking: Asking, *, make: UUID, body: Mapping[str, Any]) -> Answered:
    """What was measured again of a make; `volume_l` 0 where the rest was let go."""
    _, site = access.make_for(asking.person, make, access.HANDS)
    told = Told("make_checked", {"make": make, **body}, asking.uid, texts=asking.texts)
    return enter(
        asking,
        site.uid,
        Door(
            load=lambda _: None,
            ask=lambda _: figure_faults(body, CHECKED_BOUNDS) if body else (NOTHING,),
            tell=lambda _: (told,),
            show=lambda _: {"make": shown_make(make_seen(make, asking.now))},
        ),
    )


def weigh_salt(asking: Asking, *, lot: UUID, what: str, mass_kg: str) -> Answered:
    """Salt of a lot that came (`received`), or all of it that is there (`counted`)."""
    _, site = access.thing_for(asking.person, SaltLot, lot, access.HANDS)
    body = {"salt_lot": str(lot), "mass_kg": mass_kg}
    return enter(
        asking,
        site.uid,
        Door(
            load=lambda _: None,
            ask=lambda _: figure_faults(body),
            tell=lambda _: (Told(f"salt_{what}", body, asking.uid, texts=asking.texts),),
            show=lambda _: {"salt": body},
        ),
    )


@dataclass(frozen=True, slots=True)
class Drawing:
    """What the door of a fill has read: how the make stands, if there is one."""

    make: Standing | None = None

    def reasons(self, body: Mapping[str, Any]) -> tuple[Reason, ...]:
        faults = tuple(figure_faults(body))
        if faults or self.make is None:
            return faults
        return tuple(draw_reasons(self.make, Decimal(body["volume_l"])))

    def warnings(self, body: Mapping[str, Any]) -> list[dict[str, Any]]:
        """What was told although it does not fit: the vat is to be looked at."""
        return [shown_reason(one) for one in self.reasons(body)]


def drawing(site: UUID, make: UUID | None, at: datetime) -> Drawing:
    """The make as it stood then; one of another site is not there. Five queries at most."""
    if make is None:
        return Drawing()
    told = FactSubject.objects.filter(subject=make, fact__kind="water_made", fact__log=site)
    if not told.exists():
        raise NotFound
    return Drawing(next(iter(standings([make], at).values()), None))


def _lot_label(site: UUID, lot: UUID) -> str:
    row = SaltLot.read(uid=lot, site=site)
    if row is None:
        raise NotFound
    return row.label


def _made_faults(asking: Asking, body: Mapping[str, Any]) -> Iterator[Reason]:
    yield from figure_faults(body)
    for name in BEFORE:
        if name in body and body[name] > asking.performed_at:
            text = "That is after the make itself."
            yield refuse("unreadable", text, pointer=f"/{name}")
