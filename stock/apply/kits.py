"""Equipment: what there is, and which piece belongs to which kit.

Whether something is ready is judged from the facts themselves; no row here says it.
"""

from collections.abc import Iterable
from typing import TypeVar
from uuid import UUID

from django.db.models import Q

from stock.apply.codes import free_code
from stock.apply.fitted import refit
from stock.apply.places import put
from stock.apply.registry import applies
from stock.models import Container, Fact, Kit, Missing, Piece, SiteThing
from stock.refusals import not_here

T = TypeVar("T", bound=SiteThing)


def thing_here(fact: Fact, sort: type[T], uid: str) -> T:
    """The thing, of the fact's own site; another site's does not fit this record book."""
    found = sort.read(uid=uid, site=fact.log_id)
    if found is None:
        raise not_here("thing")
    return found


def equipment_here(fact: Fact, uids: Iterable[str]) -> None:
    """Each of these must be a piece, a kit or a container of the fact's site."""
    left = {UUID(uid) for uid in uids}
    for sort in (Piece, Kit, Container):
        here = sort.objects.filter(uid__in=left, site=fact.log_id)
        left -= set(here.values_list("uid", flat=True))
    if left:
        raise not_here("equipment")


@applies("kit_set")
def set_kit(fact: Fact) -> None:
    body = fact.body
    put(
        Kit,
        fact,
        body["kit"],
        site_id=fact.log_id,
        label=body["label"],
        code=free_code(Kit, fact.log_id, body["kit"]),
        needs=body["needs"],
    )


@applies("piece_set")
def set_piece(fact: Fact) -> None:
    body = fact.body
    put(
        Piece,
        fact,
        body["piece"],
        site_id=fact.log_id,
        label=body["label"],
        type=body["type"],
        single_use=body["single_use"],
        code=free_code(Piece, fact.log_id, body["piece"]),
    )


@applies("piece_fitted")
def fit_piece(fact: Fact) -> None:
    """What is done is done: a broken piece that was fitted makes its kit a broken one."""
    body = fact.body
    pieces = [thing_here(fact, Piece, body["piece"])]
    if "replaces" in body:
        pieces.append(thing_here(fact, Piece, body["replaces"]))
    for name, sort in (("kit", Kit), ("container", Container)):
        if name in body:
            thing_here(fact, sort, body[name])
    refit(piece.uid for piece in pieces)


@applies("piece_defective")
def mark_defective(fact: Fact) -> None:
    refit([thing_here(fact, Piece, fact.body["piece"]).uid])


@applies("disinfected", "seen_dry", "found_wet")
def treat(fact: Fact) -> None:
    """Readiness is judged from the fact; it must only speak of equipment of this site."""
    equipment_here(fact, fact.body["subjects"])


@applies("emptied")
def empty(fact: Fact) -> None:
    """Emptying with a search ends the search for animals that went missing there before."""
    container = thing_here(fact, Container, fact.body["container"])
    if fact.body["searched"]:
        Missing.objects.filter(
            Q(searched_at=None) | Q(searched_at__gt=fact.performed_at),
            container=container,
            at__lte=fact.performed_at,
        ).update(searched_at=fact.performed_at)
