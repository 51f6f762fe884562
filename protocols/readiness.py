"""Whether a piece or a container may be used at a moment, by what people did and saw.

No timer makes anything ready: cleaned of dirt, disinfected at a measured strength for long
enough, rinsed or neutralised, seen dry by a person, and kept dry for the protocol's hours.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from decimal import Decimal
from typing import Any
from uuid import UUID

from protocols.clocks import elapsed_text
from protocols.disinfecting import disinfection_faults
from protocols.judged import Readiness, State
from protocols.ruled import DryingRule, Reason, not_ready
from protocols.said import said
from protocols.told import Happening, When
from protocols.uids import as_uid

# Less than a test strip shows is nil.
CHLORINE_NIL_BELOW = Decimal("0.02")


@dataclass(frozen=True, slots=True)
class Use:
    """From when to when something stood with animals; `ended` is None while it does."""

    began: When
    ended: When | None = None


@dataclass(frozen=True, slots=True)
class Search:
    """From when to when somebody had to look for missing animals there."""

    began: datetime
    ended: datetime | None = None

    def is_open(self, moment: datetime) -> bool:
        return self.began <= moment and (self.ended is None or moment < self.ended)


@dataclass(frozen=True, slots=True)
class Membership:
    """During which time a piece belonged to a kit, or stood in a container without one."""

    holder: UUID
    began: datetime
    ended: datetime | None = None

    def holds(self, moment: datetime) -> bool:
        return self.began <= moment and (self.ended is None or moment < self.ended)


@dataclass(slots=True)
class _Condition:
    state: State = State.DIRTY
    since: datetime | None = None
    faults: tuple[Reason, ...] = ()
    chlorine: Decimal | None = None

    def become(self, state: State, since: datetime, faults: tuple[Reason, ...] = ()) -> None:
        self.state, self.since, self.faults = state, since, faults


Step = tuple[datetime, int, Any]
USED, LEFT, DENIED = 80, 70, 39


def readiness(
    told: Iterable[Happening],
    *,
    subject: UUID,
    drying: DryingRule,
    at: datetime,
    uses: Sequence[Use] = (),
    within: Sequence[Membership] = (),
    searches: Sequence[Search] = (),
    single_use: bool = False,
) -> Readiness:
    """State of a piece or a container at `at`.

    `told` are the happenings that name it, or a kit it belonged to (`within`); those after
    `at` may be among them, since what was found out later about a dry-sighting counts too.
    `uses` are stays in it, or with the kit while the piece was in it; `searches` those for
    missing animals, during which it must not be disinfected. Uncertain times are read
    cautiously: dry since the latest, used from the earliest to the latest.
    """
    known = concerning(told, subject, within)
    wrong = denied(known)
    steps = [_denied_step(one) if one.uid in wrong else _step(one) for one in known]
    for use in uses:
        steps.append((use.began.earliest, USED, None))
        if use.ended is not None:
            steps.append((use.ended.latest, LEFT, None))
    found = _Condition()
    for moment, rank, happening in sorted(steps, key=lambda step: step[:2]):
        if moment <= at:
            _advance(found, moment, rank, happening, drying, searches, single_use=single_use)
    return _readiness(found, drying, at)


def denied(known: Sequence[Happening]) -> Mapping[UUID, UUID]:
    """Dry-sightings of one thing that were none, each with the finding that says so.

    What is found wet was not dry when it was called so last, unless it was disinfected in
    between. A finding may name another sighting that it contradicts.
    """
    found: dict[UUID, UUID] = {}
    sightings = [one for one in known if one.kind == "seen_dry"]
    treated = [_step(one)[0] for one in known if one.kind == "disinfected"]
    for one in known:
        if one.kind != "found_wet":
            continue
        if one.body.get("contradicts"):
            found[as_uid(one.body["contradicts"])] = one.uid
        elif (last := _last_before(sightings, one.when.earliest)) is not None:
            begun = last.when.earliest
            if not any(begun < moment <= one.when.earliest for moment in treated):
                found[last.uid] = one.uid
    return found


def _last_before(sightings: Sequence[Happening], moment: datetime) -> Happening | None:
    before = [one for one in sightings if one.when.earliest <= moment]
    return max(before, key=lambda one: (one.when.earliest, one.uid), default=None)


def _denied_step(happening: Happening) -> Step:
    return happening.when.latest, DENIED, None


def concerning(
    told: Iterable[Happening], subject: UUID, within: Sequence[Membership] = ()
) -> list[Happening]:
    """What names the thing, or a kit or container it belonged to then."""
    return [one for one in told if _concerns(one, subject, within)]


def _concerns(happening: Happening, subject: UUID, within: Sequence[Membership]) -> bool:
    body = happening.body
    named = {as_uid(one) for one in body.get("subjects", ())}
    named |= {as_uid(body[name]) for name in NAMES if body.get(name)}
    moment = happening.when.earliest
    return subject in named or any(one.holder in named and one.holds(moment) for one in within)


NAMES = ("piece", "container", "thing", "to")
RANKS: Mapping[str, int] = {
    "filled": 20,
    "reading_taken": 20,
    "disinfected": 30,
    "seen_dry": 40,
    "found_wet": 41,
    "contact_seen": 50,
    "piece_defective": 90,
}


def _step(happening: Happening) -> Step:
    rank = RANKS.get(happening.kind, 0)
    if happening.kind == "disinfected":
        ended = datetime.fromisoformat(happening.body["ended_at"])
        return max(ended, happening.when.earliest), rank, happening
    if happening.kind == "seen_dry":
        return happening.when.latest, rank, happening
    return happening.when.earliest, rank, happening


def _advance(
    found: _Condition,
    moment: datetime,
    rank: int,
    happening: Happening | None,
    drying: DryingRule,
    searches: Sequence[Search],
    *,
    single_use: bool,
) -> None:
    if found.state is State.DEFECTIVE:
        return
    if rank == DENIED:
        if found.state is State.DISINFECTED:
            found.faults = (not_ready("seen_dry", WET_AFTER_ALL),)
    elif happening is None:
        found.become(State.IN_USE if rank == USED else State.DIRTY, moment)
        if rank == LEFT and single_use:
            found.become(State.DEFECTIVE, moment, (not_ready("single_use", USED_UP),))
    elif found.state is not State.IN_USE or happening.kind == "piece_defective":
        _treat(found, moment, happening, drying, searches)


USED_UP = "It is for one use and was used."
WET_AFTER_ALL = "It was called dry, but was found wet later."
WET = (State.DISINFECTED, State.DRYING)


def _treat(
    found: _Condition,
    moment: datetime,
    happening: Happening,
    drying: DryingRule,
    searches: Sequence[Search],
) -> None:
    body, kind = happening.body, happening.kind
    if kind == "disinfected":
        _disinfect(found, moment, body, drying, searches)
    elif kind == "seen_dry" and found.state is State.DISINFECTED:
        found.become(State.DRYING, moment)
    elif kind == "found_wet" and found.state in WET:
        found.become(State.DISINFECTED, moment, (not_ready("seen_dry", "It was found wet."),))
    elif kind == "contact_seen":
        found.become(State.DIRTY, moment, (not_ready("contact", "Something touched it."),))
    elif kind == "piece_defective":
        found.become(
            State.DEFECTIVE, moment, (not_ready("piece_defective", "It is defective."),)
        )
    elif kind == "filled" and "total_chlorine_mg_l" in body:
        found.chlorine = Decimal(body["total_chlorine_mg_l"])
    elif kind == "reading_taken" and body["quantity"] == "total_chlorine":
        found.chlorine = Decimal(body["value"])


def _disinfect(
    found: _Condition,
    moment: datetime,
    body: Mapping[str, Any],
    drying: DryingRule,
    searches: Sequence[Search],
) -> None:
    started = datetime.fromisoformat(body["started_at"])
    faults = disinfection_faults(body, drying)
    if any(one.is_open(started) for one in searches):
        faults += (not_ready("not_searched", "Animals are still missing in it: search first."),)
    if not faults:
        found.become(State.DISINFECTED, moment)
        found.chlorine = None
    elif found.state is State.DRYING:
        # It made it wet again without doing harm otherwise.
        found.become(State.DISINFECTED, moment, faults)
    elif found.state is State.DIRTY:
        found.faults = faults


def _readiness(found: _Condition, drying: DryingRule, at: datetime) -> Readiness:
    since = found.since
    if found.state is State.DRYING and since is not None:
        ready_at = since + drying.drying
        if at < ready_at:
            return Readiness(State.DRYING, since, ready_at, (_still_drying(since, at, drying),))
        if found.chlorine is not None and found.chlorine >= CHLORINE_NIL_BELOW:
            return Readiness(State.DISINFECTED, since, None, (_chlorine(found.chlorine),))
        return Readiness(State.READY, ready_at, ready_at)
    why = found.faults or WHY.get(found.state, ())
    if found.state is State.DISINFECTED and since is not None and not found.faults:
        why = (_not_seen_dry(since, at),)
    return Readiness(found.state, since, None, why)


WHY: Mapping[State, tuple[Reason, ...]] = {
    State.DIRTY: (not_ready("disinfected", "It was not disinfected since."),),
    State.IN_USE: (not_ready("in_use", "It is in use."),),
}


def _still_drying(since: datetime, at: datetime, drying: DryingRule) -> Reason:
    dry = at - since
    return not_ready(
        "drying",
        said(
            "Dry for {dry} of {drying}.",
            dry=elapsed_text(dry),
            drying=elapsed_text(drying.drying),
        ),
        dry_s=dry // timedelta(seconds=1),
        needed_s=drying.drying // timedelta(seconds=1),
    )


def _not_seen_dry(since: datetime, at: datetime) -> Reason:
    hours = elapsed_text(at - since)
    return not_ready(
        "seen_dry",
        said("Disinfected {hours} h ago, but nobody has seen it dry.", hours=hours),
        since_s=(at - since) // timedelta(seconds=1),
    )


def _chlorine(found: Decimal) -> Reason:
    text = said(
        "Total chlorine {found} mg/L; it must be nil before animals come in.", found=found
    )
    return not_ready("chlorine", text, total_chlorine_mg_l=str(found))
