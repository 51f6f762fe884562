"""Whether a batch may be split, and batches joined: every reason against it at once."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from uuid import UUID

from protocols.clocks import utc_text
from protocols.joining import JoinEffect, Member, join_effect
from protocols.losses import Living, may_add
from protocols.permissions import MANAGER, may_stand
from protocols.ruled import Reason
from protocols.said import said
from protocols.worlds import Equipment, World

LEAST = 2  # of one thing there is nothing to split or to join


@dataclass(frozen=True, slots=True)
class AskedPart:
    """So many are to go on by themselves; `world` is where they go, None where they stay."""

    count: int
    world: World | None = None


@dataclass(frozen=True, slots=True)
class AskedJoin:
    """Who is to be together in `target`; who is not there already comes in.

    `worlds` are the world of each who comes in, by batch.
    """

    members: Sequence[Member]
    target: Equipment
    came_in: frozenset[UUID]
    worlds: Sequence[tuple[UUID, World]]
    codes: Sequence[tuple[UUID, Living]]
    at: datetime

    @property
    def into_others(self) -> bool:
        """Whether one of them is in the container already."""
        return any(one.batch not in self.came_in for one in self.members)


def may_split(living: Living, parts: Sequence[AskedPart]) -> Iterator[Reason]:
    """Every reason against these parts: of them all, then of where each is to be."""
    yield from may_add(living)
    if living.closed:
        return
    yield from _parts_add_up(living, parts)
    for number, part in enumerate(parts):
        if part.world is not None:
            for reason in may_stand(part.world):
                pointer = reason.pointer or ""
                yield replace(reason, pointer=f"/parts/{number}{pointer}")


def _parts_add_up(living: Living, parts: Sequence[AskedPart]) -> Iterator[Reason]:
    total = sum(one.count for one in parts)
    if total != living.alive:
        text = said(
            "{living} has {alive} alive; the parts add up to {total}.",
            living=living.label,
            alive=living.alive,
            total=total,
        )
        numbers = {"alive": living.alive, "entered": total}
        yield Reason("split_sum", "split_sum", text, numbers=numbers, pointer="/parts")
    if len(parts) < LEAST:
        text = "A split is into two parts or more."
        yield Reason("split_sum", "split_sum", text, pointer="/parts")
    if sum(one.world is None for one in parts) > 1:
        text = "Only one part can stay where they are."
        yield Reason("container_occupied", "container_occupied", text, pointer="/parts")


def effect_of(asked: AskedJoin) -> JoinEffect:
    """What this join would do to day 1, moves, limit and earliest end."""
    protocol = asked.worlds[0][1].protocol if asked.worlds else None
    assert protocol is not None
    return join_effect(
        asked.members,
        came_in=asked.came_in,
        target_ready=asked.target.readiness.is_ready,
        at=asked.at,
        stay_limit=protocol.stay_limit,
    )


def may_join(asked: AskedJoin) -> Iterator[Reason]:
    """Every reason against this join."""
    for _, living in asked.codes:
        yield from may_add(living)
    if any(living.closed for _, living in asked.codes):
        return
    if len(asked.members) < LEAST:
        text = "A join is of two batches or more."
        yield Reason("unreadable", "unreadable", text, pointer="/members")
        return
    if not asked.worlds:
        text = "All of them are there already."
        yield Reason("same_container", "same_container", text, pointer="/to_container")
        return
    yield from _stranger(asked)
    yield from _of_the_place(asked)
    yield from restart_reason(asked)


def _stranger(asked: AskedJoin) -> Iterator[Reason]:
    there = asked.target.occupant
    if there is not None and there.batch not in {one.batch for one in asked.members}:
        yield Reason(
            "container_occupied",
            "container_occupied",
            said(
                "{there} is in {target}, and is not one of them.",
                there=there.code,
                target=asked.target.label,
            ),
            numbers={"batch": str(there.batch), "since": utc_text(there.since)},
            pointer="/to_container",
        )


def _of_the_place(asked: AskedJoin) -> Iterator[Reason]:
    """Into an empty container as by a move; where others are, the waters must match."""
    waters = ("water_mismatch", "reading_missing", "reading_old", "instrument_failed")
    seen: set[tuple[str, str | None]] = set()
    for _, world in asked.worlds:
        for reason in may_stand(world):
            if asked.into_others and reason.code not in waters:
                continue
            if reason.code == "container_occupied" or (reason.code, reason.pointer) in seen:
                continue
            seen.add((reason.code, reason.pointer))
            yield reason


def restart_reason(asked: AskedJoin) -> Iterator[Reason]:
    """Whose series began earlier than that of all together would lose it."""
    effect = effect_of(asked)
    if effect.restarted:
        together = sum(living.alive for _, living in asked.codes)
        lost = [living.label for uid, living in asked.codes if uid in effect.restarted]
        yield Reason(
            "joins_running_series",
            "joins_running_series",
            said(
                "{listed}: a running series; adding fish restarts all {together}.",
                listed=", ".join(lost),
                together=together,
            ),
            numbers={"together": together, "restarted": [str(one) for one in effect.restarted]},
            may_insist=MANAGER,
            pointer="/members",
        )
