"""Setting up what a site works with: one door for every thing that has a label there."""

from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from typing import Any
from uuid import UUID

from protocols.makes import bleach_faults, figure_faults
from protocols.values import Reason
from stock import access
from stock.answers import Answered
from stock.doors.door import Asking, Door, enter
from stock.ledger import Told
from stock.models import (
    Bleach,
    Container,
    Instrument,
    Kit,
    Piece,
    Rack,
    Room,
    SaltLot,
    SiteThing,
    System,
)
from stock.queries.things import shown
from stock.refusals import NotFound, changed, label_taken, refuse


@dataclass(frozen=True, slots=True)
class Sort:
    """One sort of thing: its table, its fact, which body fields point to which things, and
    what can be wrong with its figures."""

    model: type[SiteThing]
    kind: str
    parents: Mapping[str, type[SiteThing]] = field(default_factory=dict)
    faults: Callable[[Mapping[str, Any]], Iterable[Reason]] = lambda body: ()

    @property
    def name(self) -> str:
        return self.kind.removesuffix("_set")


SORTS = {
    "rooms": Sort(Room, "room_set"),
    "racks": Sort(Rack, "rack_set", {"room": Room}),
    "systems": Sort(System, "system_set"),
    "containers": Sort(Container, "container_set", {"rack": Rack, "system": System}),
    "kits": Sort(Kit, "kit_set"),
    "pieces": Sort(Piece, "piece_set"),
    "instruments": Sort(Instrument, "instrument_set"),
    "salt-lots": Sort(SaltLot, "salt_lot_set", faults=figure_faults),
    "bleaches": Sort(Bleach, "bleach_set", faults=bleach_faults),
}


def make_thing(asking: Asking, *, site: UUID, sort: Sort, body: Mapping[str, Any]) -> Answered:
    """Make a thing of a site under a label that no other of its sort bears there."""
    uid = asking.new_uid()
    taken: tuple[Reason, ...] = ()
    if asking.uid is not None and sort.model.read(uid=uid) is not None:
        text = "This uid names something else."
        taken = (refuse("contradicts_record", text, pointer="/uid"),)
    return _set(asking, site=site, sort=sort, uid=uid, body=body, refused=taken)


def change_thing(
    asking: Asking, *, sort: Sort, uid: UUID, version: int, body: Mapping[str, Any]
) -> Answered:
    """Change a thing, if nobody changed it since the asker read `version`."""
    thing, site = access.thing_for(asking.person, sort.model, uid, access.MANAGERS)
    stale: tuple[Reason, ...] = ()
    if thing.version != version:
        stale = (changed(thing.version, version),)
    return _set(asking, site=site.uid, sort=sort, uid=uid, body=body, refused=stale)


def _set(
    asking: Asking,
    *,
    site: UUID,
    sort: Sort,
    uid: UUID,
    body: Mapping[str, Any],
    refused: tuple[Reason, ...],
) -> Answered:
    access.site_for(asking.person, site, access.MANAGERS)
    return enter(
        asking,
        site,
        Door(
            load=lambda log: _label_bearer(sort, log.uid, body["label"]),
            ask=lambda bearer: (*refused, *sort.faults(body), *_label_is_free(bearer, uid)),
            tell=lambda bearer: (Told(sort.kind, _with_parents(sort, site, uid, body)),),
            show=lambda bearer: {sort.name: shown(sort.model, uid)},
        ),
    )


def _label_bearer(sort: Sort, site: UUID, label: str) -> SiteThing | None:
    return sort.model.read(site=site, label=label)


def _label_is_free(bearer: SiteThing | None, uid: UUID) -> Iterator[Reason]:
    if bearer is not None and bearer.uid != uid:
        yield label_taken(bearer.label)


def _with_parents(sort: Sort, site: UUID, uid: UUID, body: Mapping[str, Any]) -> dict[str, Any]:
    """The fact's body; pointing to a thing of another site is as if it were not there."""
    for name, model in sort.parents.items():
        pointed = body.get(name)
        if pointed is not None and model.read(uid=pointed, site=site) is None:
            raise NotFound
    return {sort.name: str(uid), **body}
