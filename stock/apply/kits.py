"""Equipment: what there is, and which piece belongs to which kit.

Whether something is ready is judged from the facts themselves; no row here says it.
"""

from collections.abc import Iterable
from typing import TypeVar
from uuid import UUID

from django.db.models import Q, QuerySet

from protocols import codes
from stock.apply.places import put
from stock.apply.registry import applies
from stock.models import Container, Fact, Kit, Missing, Piece, SiteThing
from stock.refusals import CannotApply, not_here, refuse

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
        code=codes.short_code(body["kit"]),
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
    )


@applies("piece_fitted")
def fit_piece(fact: Fact) -> None:
    """The piece's kit is the one it was fitted to last, in whichever order that was told."""
    body = fact.body
    piece = thing_here(fact, Piece, body["piece"])
    broken = _said_of(piece.uid, "piece_defective")
    if broken.filter(performed_at__lte=fact.performed_at).exists():
        text = f"{piece.label} is defective."
        raise CannotApply(refuse("piece_defective", text, piece=str(piece.uid)))
    kit = thing_here(fact, Kit, body["kit"]) if "kit" in body else None
    if "container" in body:
        thing_here(fact, Container, body["container"])
    _belongs(fact, piece, kit)
    if "replaces" in body:
        _belongs(fact, thing_here(fact, Piece, body["replaces"]), None)


@applies("piece_defective")
def mark_defective(fact: Fact) -> None:
    piece = thing_here(fact, Piece, fact.body["piece"])
    piece.defective = True
    piece.save()


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


def _belongs(fact: Fact, piece: Piece, kit: Kit | None) -> None:
    """The piece belongs to this kit from here on, if nothing later was told of it already."""
    later = Q(performed_at__gt=fact.performed_at) | Q(
        performed_at=fact.performed_at, uid__gt=fact.uid
    )
    names = Q(body__piece=str(piece.uid)) | Q(body__replaces=str(piece.uid))
    if not _said_of(piece.uid, "piece_fitted").filter(later, names).exists():
        piece.kit = kit
        piece.save()


def _said_of(piece: UUID, kind: str) -> QuerySet[Fact]:
    """Facts of one kind that name the piece and were applied."""
    return Fact.objects.filter(kind=kind, subjects__subject=piece, parked=None)
