"""Containers, kits and pieces as the rules see them: what was done to them, and their uses."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime
from uuid import UUID

from protocols import values
from protocols.fittings import (
    FittedPiece,
    kit_readiness,
    memberships,
    pieces_of,
    uses_of_piece,
)
from protocols.order import happenings
from protocols.readiness import Membership, Search, Use, concerning, denied, readiness
from protocols.values import DryingRule, Happening, Readiness, RulesHistory
from stock.judging.facts import facts_about
from stock.judging.uses import StayUse, uses_of
from stock.judging.words import words_about
from stock.models import Fact, Kit, Missing, Piece

EVER = datetime.min.replace(tzinfo=UTC)


@dataclass(frozen=True, slots=True)
class Equipment:
    """Everything that readiness of some containers, kits and pieces follows from."""

    facts: Mapping[UUID, Sequence[values.Fact]]
    told: Mapping[UUID, Sequence[Happening]]
    uses: Mapping[UUID, Sequence[StayUse]]
    belongs: Mapping[UUID, Sequence[Membership]]
    searches: Mapping[UUID, Sequence[Search]]
    kits: Mapping[UUID, Kit]
    pieces: Mapping[UUID, Piece]

    def container(
        self, uid: UUID, drying: DryingRule, at: datetime, *, but: UUID | None = None
    ) -> Readiness:
        """A container at a moment; the stay `but` is left out: it is the one that asks."""
        return readiness(
            self.told.get(uid, ()),
            subject=uid,
            drying=drying,
            at=at,
            uses=self._uses(uid, but),
            searches=self.searches.get(uid, ()),
        )

    def piece(
        self, uid: UUID, drying: DryingRule, at: datetime, *, but: UUID | None = None
    ) -> Readiness:
        """A piece at a moment, in whichever kit or container it was until then."""
        spans = self.belongs.get(uid, ())
        uses = {span.holder: self._uses(span.holder, but) for span in spans}
        row = self.pieces.get(uid)
        return readiness(
            self.told_of(uid),
            subject=uid,
            drying=drying,
            at=at,
            uses=uses_of_piece(spans, uses),
            within=spans,
            single_use=bool(row and row.single_use),
        )

    def kit(
        self, uid: UUID, drying: DryingRule, at: datetime, *, but: UUID | None = None
    ) -> Readiness:
        """A kit at a moment: what the worst of its pieces is."""
        fitted = [
            FittedPiece(piece, row.label, row.type, self.piece(piece, drying, at, but=but))
            for piece in pieces_of(uid, self.belongs, at)
            if (row := self.pieces.get(piece)) is not None
        ]
        kit = self.kits.get(uid)
        own = readiness(
            self.told.get(uid, ()),
            subject=uid,
            drying=drying,
            at=at,
            uses=self._uses(uid, but),
        )
        needs = kit.needs if kit else ()
        return kit_readiness(needs, fitted, at=at, uses=self._uses(uid, but), own=own)

    def told_of(self, uid: UUID) -> list[Happening]:
        """What names a thing, or whatever it belonged to; each once."""
        holders = (span.holder for span in self.belongs.get(uid, ()))
        named = {one.uid: one for holder in holders for one in self.told.get(holder, ())}
        return list((named | {one.uid: one for one in self.told.get(uid, ())}).values())

    def holder(self, piece: UUID, at: datetime) -> UUID | None:
        """The kit or container that the piece belonged to at a moment."""
        spans = self.belongs.get(piece, ())
        return next((span.holder for span in spans if span.holds(at)), None)

    def stays_since(self, uid: UUID, since: datetime) -> frozenset[UUID]:
        """The stays that it was in use for at a moment or after it."""
        spans = self.belongs.get(uid, ()) if uid in self.pieces else (Membership(uid, EVER),)
        return frozenset(
            one.stay
            for span in spans
            for one in self.uses.get(span.holder, ())
            for use in uses_of_piece([span], {span.holder: [one.use]})
            if use.ended is None or use.ended.latest > since
        )

    def called_dry_before(self, uid: UUID, finding: UUID, at: datetime) -> datetime | None:
        """Since when it was called dry that this finding says was wet; None if it was not."""
        found = []
        for one in (uid, *pieces_of(uid, self.belongs, at)):
            told = concerning(self.told_of(one), one, self.belongs.get(one, ()))
            wrong = denied(told)
            found += [dry.when.earliest for dry in told if wrong.get(dry.uid) == finding]
        return min(found, default=None)

    def _uses(self, holder: UUID, but: UUID | None) -> tuple[Use, ...]:
        return tuple(one.use for one in self.uses.get(holder, ()) if one.stay != but)


def load_equipment(
    subjects: Iterable[UUID],
    *,
    rules: RulesHistory,
    at: datetime,
    known_by: int | None = None,
) -> Equipment:
    """Containers, kits and pieces with all that concerns them. Nine queries, for any number."""
    asked = set(subjects)
    fitted = _facts(facts_about(asked, kinds=("piece_fitted",), known_by=known_by))
    pieces = {UUID(fact.body["piece"]) for fact in fitted}
    holders = _holders(pieces, known_by=known_by) | asked
    facts = facts_about(asked | pieces | holders, known_by=known_by)
    told = _told(facts, rules=rules, at=at, known_by=known_by)
    every = {one.uid: one for found in told.values() for one in found}
    fittings = [one for one in every.values() if one.kind == "piece_fitted"]
    return Equipment(
        facts=facts,
        told=told,
        uses=uses_of(asked | holders, rules=rules, at=at, known_by=known_by),
        belongs=memberships(sorted(fittings, key=lambda one: (one.when.earliest, one.uid))),
        searches=_searches(asked, known_by),
        kits={row.uid: row for row in Kit.objects.filter(uid__in=asked | holders)},
        pieces={row.uid: row for row in Piece.objects.filter(uid__in=asked | pieces)},
    )


def _facts(found: Mapping[UUID, Sequence[values.Fact]]) -> list[values.Fact]:
    return list({fact.uid: fact for facts in found.values() for fact in facts}.values())


def _holders(pieces: set[UUID], *, known_by: int | None) -> set[UUID]:
    """Every kit or container that one of the pieces ever belonged to."""
    fitted = _facts(facts_about(pieces, kinds=("piece_fitted",), known_by=known_by))
    names = (fact.body.get("kit") or fact.body.get("container") for fact in fitted)
    return {UUID(name) for name in names if name}


def _told(
    facts: Mapping[UUID, Sequence[values.Fact]],
    *,
    rules: RulesHistory,
    at: datetime,
    known_by: int | None,
) -> dict[UUID, list[Happening]]:
    """Happenings by what they speak of, folded once for all subjects together."""
    known = _facts(facts)
    words = words_about((fact.uid for fact in known), known_by=known_by)
    folded = {one.uid: one for one in happenings([*known, *words], at=at, rules=rules)}
    return {
        subject: [folded[fact.uid] for fact in told if fact.uid in folded]
        for subject, told in facts.items()
    }


def _searches(containers: set[UUID], known_by: int | None) -> dict[UUID, list[Search]]:
    """While animals are missing in a container it must be searched, not disinfected."""
    found: dict[UUID, list[Search]] = {}
    rows = Missing.objects.filter(container__in=containers)
    if known_by is not None:
        rows = rows.filter(fact__in=Fact.objects.filter(seq__lte=known_by).values("uid"))
    for row in rows.order_by("at", "fact"):
        found.setdefault(row.container_id, []).append(Search(row.at, row.searched_at))
    return found
