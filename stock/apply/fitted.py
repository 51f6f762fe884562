"""Where each piece belongs and whether it is broken, by what is known now of its fittings.

Told in any order, corrected or taken back: the rows say what the facts say together.
"""

from collections.abc import Iterable
from uuid import UUID

from protocols.amended import EVER
from protocols.fittings import memberships
from protocols.order import happenings
from protocols.values import Happening, RulesHistory
from stock.apply.words import report_of, value_of, words_about
from stock.models import Fact, Kit, Parked, Piece
from stock.refusals import CannotApply, refuse

WHERE = ("piece", "kit", "container", "replaces")
TOLD_OF_PIECES = ("piece_fitted", "piece_defective")


def amend_fittings(note: Fact) -> None:
    """Follow a word about a piece that was fitted, or found broken."""
    report = report_of(note)
    if report.kind not in TOLD_OF_PIECES:
        return
    if note.kind == "fact_corrected" and note.body["field"].strip("/") in WHERE:
        text = "That makes it another report: take it back and tell it anew."
        raise CannotApply(refuse("contradicts_record", text))
    names = (report.body.get(name) for name in ("piece", "replaces"))
    refit(UUID(name) for name in names if name)


def refit(pieces: Iterable[UUID]) -> None:
    """Each piece belongs to the kit that it was fitted to last. Six queries for each."""
    for piece in Piece.objects.filter(uid__in=list(pieces)).order_by("uid"):
        told = _told_of(piece.uid)
        spans = memberships(one for one in told if one.kind == "piece_fitted")
        last = spans.get(piece.uid, ())[-1:]
        holder = last[0].holder if last and last[0].ended is None else None
        piece.kit = Kit.read(uid=holder, site=piece.site_id) if holder else None
        piece.defective = any(one.kind == "piece_defective" for one in told)
        piece.save()


def _told_of(piece: UUID) -> tuple[Happening, ...]:
    """What fits the record of its fittings and defects, folded with the words about it."""
    rows = Fact.objects.filter(kind__in=TOLD_OF_PIECES, subjects__subject=piece)
    fits = rows.exclude(uid__in=Parked.objects.filter(settled_by=None).values("fact"))
    told = {row.uid: value_of(row) for row in fits}
    words = words_about(list(told))
    found = happenings([*told.values(), *words], at=EVER, rules=RulesHistory())
    # In the order in which readiness is judged by them.
    return tuple(sorted(found, key=lambda one: (one.when.earliest, one.uid)))
