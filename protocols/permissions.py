"""What may be done now: every reason against it at once, and what would be possible instead.

An empty answer allows. `World`s are frozen snapshots that a door loads under its lock.
"""

from collections.abc import Iterator, Sequence
from datetime import datetime, timedelta
from typing import Any

from protocols.clocks import elapsed_text, utc_text
from protocols.filled import make_reasons
from protocols.judged import State
from protocols.matching import match
from protocols.ruled import Alternative, Reason
from protocols.said import joined, said
from protocols.stays import SECOND
from protocols.typed_counts import count_reasons
from protocols.worlds import (
    AskedMove,
    AskedPlacement,
    Equipment,
    Occupant,
    World,
)

MANAGER = ("manager",)


def may_move(asked: AskedMove, world: World) -> tuple[Reason, ...]:
    """Every reason against this move."""
    if world.closed:
        return (
            Reason("batch_closed", "batch_closed", "Nobody of this batch is here any more."),
        )
    if asked.ended_stay != world.stay:
        return (Reason("stay_ended", "stay_ended", "Somebody else has told of this move."),)
    return (
        *may_stand(world),
        *count_reasons(asked.counts, asked.missing, world.balance, near_limit=world.near_limit),
    )


def may_place(asked: AskedPlacement, world: World) -> tuple[Reason, ...]:
    """Every reason against placing animals out of their bags."""
    return (
        *_line_reasons(asked),
        *_container_reasons(world),
        *_kit_reasons(world),
        *match(None, world.target_water, rule=world.match_rule, at=world.at),
        *make_reasons(world.fillings, world.makes, world.rules, world.at),
        *_placed_count_reasons(asked),
    )


def may_stand(world: World) -> tuple[Reason, ...]:
    """Every reason against the container, the kit and the water in which they are to be."""
    return (
        *_container_reasons(world),
        *_kit_reasons(world),
        *match(world.source_water, world.target_water, rule=world.match_rule, at=world.at),
        *make_reasons(world.fillings, world.makes, world.rules, world.at),
    )


def _line_reasons(asked: AskedPlacement) -> Iterator[Reason]:
    for number, one in enumerate(asked.lines):
        if one.count > one.available:
            yield Reason(
                "more_than_received",
                "balance",
                said(
                    "{label}: at most {available} can be placed; you entered {count}.",
                    label=one.label,
                    available=one.available,
                    count=one.count,
                ),
                numbers={"available": one.available, "entered": one.count},
                pointer=f"/from/{number}/count",
            )


def _placed_count_reasons(asked: AskedPlacement) -> tuple[Reason, ...]:
    """Out of the bags a count may be left out: the bags were counted before."""
    if not asked.counts:
        return ()
    total = sum(one.count for one in asked.lines)
    return count_reasons(asked.counts, 0, total, near_limit=False)


def _container_reasons(world: World) -> Iterator[Reason]:
    target = world.target
    if world.source is not None and target.uid == world.source.uid:
        yield Reason(
            "same_container",
            "same_container",
            said(
                "They are in {target} already. A move needs another container.",
                target=target.label,
            ),
            instead=_alternatives("container", world.ready_containers),
            pointer="/to_container",
        )
    elif target.occupant is not None:
        yield _occupied(world, target, target.occupant)
    elif target.search_open:
        yield Reason(
            "not_searched",
            "not_searched",
            said(
                "Animals are still missing in {target}: search it first.", target=target.label
            ),
            instead=_alternatives("container", world.ready_containers),
            pointer="/to_container",
        )
    elif not target.readiness.is_ready:
        yield _not_ready("container_not_ready", target, world, world.ready_containers)


def _occupied(world: World, target: Equipment, there: Occupant) -> Reason:
    if world.source is None:
        return _joins(world, target, there)
    return Reason(
        "container_occupied",
        "container_occupied",
        said(
            "{there} is in {target} since {since}.",
            there=there.code,
            target=target.label,
            since=world.text(there.since),
        ),
        numbers={"batch": str(there.batch), "since": utc_text(there.since)},
        instead=_alternatives("container", world.ready_containers),
        pointer="/to_container",
    )


def _joins(world: World, target: Equipment, there: Occupant) -> Reason:
    together = there.alive + world.balance
    return Reason(
        "joins_running_series",
        "joins_running_series",
        said(
            "{target} holds a running series; adding fish restarts all {together}.",
            target=target.label,
            together=together,
        ),
        numbers={
            "batch": str(there.batch),
            "together": together,
            "earliest_end_before": utc_text(there.earliest_end) if there.earliest_end else None,
            "earliest_end": utc_text(world.at + world.protocol.span_least),
            "limit": utc_text(there.limit) if there.limit else None,
        },
        instead=_alternatives("container", world.ready_containers),
        may_insist=MANAGER,
        pointer="/container",
    )


KIT_CODES = {
    State.IN_USE: "kit_in_use",
    State.INCOMPLETE: "kit_incomplete",
    State.DEFECTIVE: "piece_defective",
}


def _kit_reasons(world: World) -> Iterator[Reason]:
    kit = world.kit
    if kit is None:
        text = "Say which kit goes with them."
        instead = _alternatives("kit", world.ready_kits)
        yield Reason("kit_not_ready", "kit_not_ready", text, instead=instead, pointer="/kit")
    elif not kit.readiness.is_ready:
        code = KIT_CODES.get(kit.readiness.state, "kit_not_ready")
        yield _not_ready(code, kit, world, world.ready_kits)


def _not_ready(code: str, found: Equipment, world: World, ready: Sequence[Equipment]) -> Reason:
    """Why something cannot be used now, when it can be, and what can be used at once."""
    kind = "container" if code == "container_not_ready" else "kit"
    ready_at = found.readiness.ready_at
    numbers: dict[str, Any] = {"state": str(found.readiness.state)}
    for one in found.readiness.why:
        numbers |= one.numbers
    instead = _alternatives(kind, ready)
    if ready_at is not None and ready_at > world.at:
        numbers["ready_at"] = utc_text(ready_at)
        if world.limit is not None:
            numbers["before_limit_s"] = (world.limit - ready_at) // SECOND
        if world.limit is None or ready_at <= world.limit:
            instead += (Alternative("move", found.uid, found.label, ready_at, world.limit),)
    return Reason(
        code=code,
        rule=code,
        text=_not_ready_text(found, world, ready),
        numbers=numbers,
        instead=instead,
        may_insist=MANAGER if code in INSISTED else (),
        pointer="/to_container" if kind == "container" else "/kit",
    )


INSISTED = frozenset({"container_not_ready", "kit_not_ready", "kit_incomplete"})


def _not_ready_text(found: Equipment, world: World, ready: Sequence[Equipment]) -> str:
    state, since = found.readiness, found.readiness.since
    if state.state is State.IN_USE:
        where = said(" in {where}", where=found.where) if found.where else ""
        text = said("{found} is in use{where}", found=found.label, where=where)
        text += said(" since {since}.", since=world.text(since)) if since else "."
    else:
        text = said("{found} is not ready: ", found=found.label) + joined(
            " ", (one.text for one in state.why)
        )
    if state.ready_at is not None and state.ready_at > world.at:
        text += said(
            " Ready {ready_at}{before_limit}.",
            ready_at=world.text(state.ready_at),
            before_limit=_before_limit(state.ready_at, world),
        )
    if ready:
        text += said(" Ready now: {listed}.", listed=", ".join(one.label for one in ready))
    return text


def _before_limit(ready_at: datetime, world: World) -> str:
    if world.limit is None:
        return ""
    left = world.limit - ready_at
    when = "before" if left >= timedelta(0) else "after"
    return said(", {left} {when} the limit", left=elapsed_text(abs(left)), when=when)


def _alternatives(kind: str, found: Sequence[Equipment]) -> tuple[Alternative, ...]:
    return tuple(Alternative(kind, one.uid, one.label) for one in found)
