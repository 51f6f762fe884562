"""Pieces over time: put into a kit or a container, taken out, found broken.

What is told late counts for the kit and the container of that moment, and for every use since.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Any
from uuid import UUID

from protocols.equipping import Fitted, may_fit
from protocols.values import State
from stock import access
from stock.answers import Answered
from stock.doors.door import Asking, Door, enter
from stock.doors.kits import states_of
from stock.judging.equipment import Equipment, load_equipment
from stock.judging.upkeep import drying_rule
from stock.ledger import Told
from stock.models import Container, Kit, Piece, Site
from stock.queries.sites import rules_history
from stock.queries.things import shown
from stock.refusals import NotFound


@dataclass(frozen=True, slots=True)
class Fitting:
    """A piece, the kit or container it goes into, and the one it takes the place of."""

    piece: UUID
    kit: UUID | None = None
    container: UUID | None = None
    replaces: UUID | None = None
    replaced_is_defective: bool = False

    @property
    def holder(self) -> UUID | None:
        """What it belongs to from then on: its kit, else the container it stands in."""
        return self.kit or self.container


@dataclass(frozen=True, slots=True)
class Before:
    """The pieces as they were when it was done, and the kits that concerns."""

    piece: Fitted
    replaced: Fitted | None
    kits: tuple[UUID, ...]


def fit_piece(asking: Asking, *, fitting: Fitting) -> Answered:
    """Put a piece into a kit or a container, perhaps in place of another one."""
    _, site = access.thing_for(asking.person, Piece, fitting.piece, access.HANDS)
    _same_site(site, fitting)
    return enter(
        asking,
        site.uid,
        Door(
            load=lambda log: _before(asking, site, fitting),
            ask=lambda found: may_fit(found.piece, fitting.holder, found.replaced),
            tell=lambda found: _told(asking, fitting),
            show=lambda found: _shown(asking, site, fitting, found.kits),
        ),
    )


def mark_defective(asking: Asking, *, piece: UUID, what: str) -> Answered:
    """A piece is broken: nothing that it belongs to is complete until another one is in."""
    _, site = access.thing_for(asking.person, Piece, piece, access.HANDS)
    body = {"piece": piece, "what": what}
    fitting = Fitting(piece)
    return enter(
        asking,
        site.uid,
        Door(
            load=lambda log: _before(asking, site, fitting),
            ask=lambda found: (),
            tell=lambda found: (Told("piece_defective", body, asking.uid, texts=asking.texts),),
            show=lambda found: _shown(asking, site, fitting, found.kits),
        ),
    )


def _before(asking: Asking, site: Site, fitting: Fitting) -> Before:
    uids = [uid for uid in (fitting.piece, fitting.replaces) if uid is not None]
    at = max(asking.now, asking.performed_at)
    found = load_equipment(uids, rules=rules_history(site.uid), at=at)
    # The kit it was in then, and the one it is in now: both may want another one.
    kits = [
        fitting.kit,
        found.holder(fitting.piece, asking.performed_at),
        found.holder(fitting.piece, at),
    ]
    return Before(
        piece=_fitted(asking, found, fitting.piece),
        replaced=_fitted(asking, found, fitting.replaces) if fitting.replaces else None,
        kits=tuple(
            Kit.objects.filter(uid__in=[uid for uid in kits if uid])
            .order_by("label")
            .values_list("uid", flat=True)
        ),
    )


def _fitted(asking: Asking, found: Equipment, uid: UUID) -> Fitted:
    at = asking.performed_at
    state = found.piece(uid, drying_rule(), at)
    useless = state.why[0].text if state.state is State.DEFECTIVE else None
    return Fitted(uid, found.pieces[uid].label, found.holder(uid, at), useless)


def _told(asking: Asking, fitting: Fitting) -> Iterable[Told]:
    body = {
        "piece": fitting.piece,
        "kit": fitting.kit,
        "container": fitting.container,
        "replaces": fitting.replaces,
    }
    yield Told("piece_fitted", body, asking.uid, texts=asking.texts)
    if fitting.replaces and fitting.replaced_is_defective:
        yield Told("piece_defective", {"piece": fitting.replaces, "what": REPLACED})


REPLACED = "replaced as defective"


def _shown(
    asking: Asking, site: Site, fitting: Fitting, kits: Sequence[UUID]
) -> dict[str, Any]:
    """The piece, its kits and its container as they are now, and every use since."""
    where = (fitting.container,) if fitting.container else ()
    own, *others = states_of(asking, site, (fitting.piece, *kits, *where))
    reached = {one["uid"]: one for state in (own, *others) for one in state["reached"]}
    return {
        "piece": {**shown(Piece, fitting.piece), **own},
        "kits": others[: len(kits)],
        "container": others[len(kits)] if where else None,
        "reached": sorted(reached.values(), key=lambda one: one["code"]),
    }


def _same_site(site: Site, fitting: Fitting) -> None:
    wanted = ((Kit, fitting.kit), (Container, fitting.container), (Piece, fitting.replaces))
    for sort, uid in wanted:
        if uid is not None and sort.read(uid=uid, site=site) is None:
            raise NotFound
