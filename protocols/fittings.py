"""Kits as views on their pieces: which piece belonged where and when, and what that means."""

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from uuid import UUID

from protocols.judged import Readiness, State
from protocols.readiness import Membership, Use
from protocols.ruled import Reason, not_ready
from protocols.said import said
from protocols.told import Happening, When
from protocols.uids import as_uid


@dataclass(frozen=True, slots=True)
class FittedPiece:
    """A piece that belongs to a kit at the moment asked about."""

    uid: UUID
    label: str
    type: str
    readiness: Readiness


def memberships(fittings: Iterable[Happening]) -> Mapping[UUID, tuple[Membership, ...]]:
    """Which kit (or container, where there was no kit) each piece belonged to, and when.

    `fittings` are all `piece_fitted` in order. A piece leaves when it is fitted elsewhere or
    replaced.
    """
    found: dict[UUID, list[Membership]] = {}
    for one in fittings:
        piece, moment = as_uid(one.body["piece"]), one.when.earliest
        if replaced := one.body.get("replaces"):
            _leave(found, as_uid(replaced), moment)
        _leave(found, piece, moment)
        holder = one.body.get("kit") or one.body.get("container")
        if holder:
            found.setdefault(piece, []).append(Membership(as_uid(holder), moment))
    return {piece: tuple(spans) for piece, spans in found.items()}


def _leave(found: dict[UUID, list[Membership]], piece: UUID, moment: datetime) -> None:
    spans = found.get(piece)
    if spans and spans[-1].ended is None:
        spans[-1] = Membership(spans[-1].holder, spans[-1].began, moment)


def pieces_of(
    kit: UUID, found: Mapping[UUID, Sequence[Membership]], at: datetime
) -> tuple[UUID, ...]:
    """The pieces that belong to the kit at `at`."""
    return tuple(
        piece
        for piece, spans in found.items()
        if any(one.holder == kit and one.holds(at) for one in spans)
    )


def uses_of_piece(
    spans: Sequence[Membership], uses: Mapping[UUID, Sequence[Use]]
) -> tuple[Use, ...]:
    """When a piece was in use: while its kit (or container) was, and it belonged there."""
    found = (_overlap(span, use) for span in spans for use in uses.get(span.holder, ()))
    return tuple(one for one in found if one is not None)


def _overlap(span: Membership, use: Use) -> Use | None:
    if span.ended is not None and span.ended <= use.began.earliest:
        return None
    if use.ended is not None and use.ended.latest <= span.began:
        return None
    began = use.began if span.began <= use.began.earliest else When.exactly(span.began)
    ended = use.ended
    if span.ended is not None and (ended is None or span.ended < ended.latest):
        ended = When.exactly(span.ended)
    return Use(began, ended)


# The worst of its pieces says what a kit is.
BADNESS = (
    State.DEFECTIVE,
    State.INCOMPLETE,
    State.IN_USE,
    State.DIRTY,
    State.DISINFECTED,
    State.DRYING,
    State.READY,
)


def kit_readiness(
    needs: Sequence[str],
    pieces: Sequence[FittedPiece],
    *,
    at: datetime,
    uses: Sequence[Use] = (),
    own: Readiness | None = None,
) -> Readiness:
    """State of a kit at `at`: in use, else what the worst of its pieces is, all of it said.

    `needs` names the types it must have, a type twice for two of them. A kit without needs
    and pieces is what is told of the kit itself (`own`).
    """
    for use in uses:
        if use.began.earliest <= at and (use.ended is None or at < use.ended.latest):
            since = use.began.earliest
            return Readiness(State.IN_USE, since, None, (not_ready("in_use", "It is in use."),))
    missing = Counter(needs) - Counter(
        one.type for one in pieces if one.readiness.state is not State.DEFECTIVE
    )
    parts = [*(one.readiness for one in pieces), *_incomplete(missing)]
    if not parts:
        return own or Readiness(
            State.DIRTY, why=(not_ready("disinfected", "Nothing is known."),)
        )
    why = [_named(one, reason) for one in pieces for reason in one.readiness.why]
    return Readiness(
        state=min((one.state for one in parts), key=BADNESS.index),
        since=max((one.since for one in parts if one.since), default=None),
        ready_at=_ready_at(parts),
        why=(*why, *(reason for one in _incomplete(missing) for reason in one.why)),
    )


def _incomplete(missing: Mapping[str, int]) -> list[Readiness]:
    return [
        Readiness(
            State.INCOMPLETE,
            why=(not_ready("kit_incomplete", said("No {name} in it.", name=name), type=name),),
        )
        for name, count in sorted(missing.items())
        for _ in range(count)
    ]


def _ready_at(parts: Sequence[Readiness]) -> datetime | None:
    """When the last piece is ready; None where a piece needs more than time."""
    moments = [one.ready_at for one in parts]
    known = [moment for moment in moments if moment is not None]
    return max(known) if len(known) == len(moments) else None


def _named(piece: FittedPiece, reason: Reason) -> Reason:
    return Reason(
        code=reason.code,
        rule=reason.rule,
        text=f"{piece.label}: {reason.text}",
        numbers={**reason.numbers, "piece": str(piece.uid)},
    )
