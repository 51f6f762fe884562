"""Deviations: which rules open one, what they do, and which decisions cover them."""

from collections.abc import Iterable, Mapping
from dataclasses import replace
from datetime import datetime, timedelta
from typing import Any
from uuid import UUID

from protocols.codes import fact_uid
from protocols.judged import Decision, Deviation, Effect, Readiness, State
from protocols.told import Happening
from protocols.uids import as_uid

SECOND = timedelta(seconds=1)
BROKE, ASKS, WARNS = Effect.BROKE, Effect.ASKS, Effect.WARNS

EFFECTS: Mapping[str, Effect] = {
    "stay_over": BROKE,
    "joined_untreated": BROKE,
    "sign_confirmed": BROKE,
    "stay_unproven": ASKS,
    "late_unconfirmed": ASKS,
    "two_accounts": ASKS,
    "count_differs": ASKS,
    "kit_not_ready": ASKS,
    "container_not_ready": ASKS,
    "heater_swapped": ASKS,
    "contact_tool": ASKS,
    "splash_seen": ASKS,
    "limit_shortened": ASKS,
    "emergency_review": ASKS,
    "sign_seen": ASKS,
    "dose_refused": ASKS,
    "parked": ASKS,
    "within_tolerance": WARNS,
    "water_mismatch": WARNS,
    "reading_missing": WARNS,
    "instrument_in_doubt": WARNS,
    "proximity": WARNS,
    "out_of_range": WARNS,
    "water_young": WARNS,
    "chlorine_left": WARNS,
    "hours_unknown": WARNS,
    "entries_on_silent_device": WARNS,
}
# Of those that ask, the ones on which a series hangs; the others only block the certificate.
MAKES_UNPROVEN = frozenset(
    {
        "stay_unproven",
        "late_unconfirmed",
        "two_accounts",
        "kit_not_ready",
        "container_not_ready",
        "heater_swapped",
        "contact_tool",
        "splash_seen",
        "emergency_review",
    }
)
# Which way a number gets worse. Numbers not named here only describe.
MORE_IS_WORSE = frozenset({"over_s", "gap_s", "unknown_s", "affected"})
LESS_IS_WORSE = frozenset({"limit_s", "dry_s"})
MUST_BE_EQUAL = frozenset({"state", "balance", "counted", "missing", "counts", "needed_s"})

# While a stay goes on these grow with the clock.
GROWING = frozenset({"stay_s", "over_s"})


def deviation_uid(batch: UUID, rule: str, cause: UUID) -> UUID:
    """The name of a deviation follows from its key, so that it never changes."""
    return fact_uid(cause, rule, batch)


def without_growing(numbers: Mapping[str, Any]) -> dict[str, Any]:
    """What is kept of the numbers of a stay that goes on: the limit, not how long since."""
    return {name: value for name, value in numbers.items() if name not in GROWING}


def grown(numbers: Mapping[str, Any], limit: datetime, at: datetime) -> dict[str, Any]:
    """Kept numbers as they read at `at`: those of a stay that goes on have grown until then."""
    if "limit_s" not in numbers or "over_s" in numbers:
        return dict(numbers)
    over = (at - limit) // SECOND
    return {**numbers, "stay_s": numbers["limit_s"] + over, "over_s": over}


def not_ready_numbers(found: Readiness, at: datetime) -> dict[str, Any]:
    """In which state a thing was used at `at`, and for how long of its hours it was dry."""
    if found.state is not State.DRYING or found.since is None or found.ready_at is None:
        return {"state": str(found.state)}
    return {
        "state": str(found.state),
        "dry_s": (at - found.since) // SECOND,
        "needed_s": (found.ready_at - found.since) // SECOND,
    }


def covers(known: Mapping[str, Any], present: Mapping[str, Any]) -> bool:
    """Whether a decision that knew these numbers still holds for the present ones."""
    return all(_is_covered(name, known.get(name), value) for name, value in present.items())


def _is_covered(name: str, known: Any, value: Any) -> bool:
    if name in MORE_IS_WORSE:
        return isinstance(known, int) and bool(value <= known)
    if name in LESS_IS_WORSE:
        return isinstance(known, int) and bool(value >= known)
    return name not in MUST_BE_EQUAL or bool(known == value)


class Questions:
    """The deviations of one batch while it is judged, and the decisions made about them."""

    def __init__(self, batch: UUID, decisions: Iterable[Happening]) -> None:
        self.batch = batch
        self._open: dict[tuple[str, UUID], Deviation] = {}
        self._decisions: dict[tuple[str, UUID], list[Happening]] = {}
        for one in decisions:
            key = str(one.body["rule"]), as_uid(one.body["cause"])
            self._decisions.setdefault(key, []).append(one)

    def raise_(
        self,
        rule: str,
        cause: UUID,
        at: datetime,
        numbers: Mapping[str, Any] | None = None,
        by: UUID | None = None,
        effect: Effect | None = None,
        beside: frozenset[UUID] = frozenset(),
    ) -> Decision | None:
        """Open a deviation and say what was decided about it; None while nobody has."""
        found = Deviation(
            batch=self.batch,
            rule=rule,
            cause=cause,
            effect=effect or EFFECTS[rule],
            at=at,
            numbers=numbers or {},
            by=by,
            beside=beside,
        )
        if decision := self._decision(found):
            kept = Decision(decision.body["decision"])
            found = replace(found, decided=kept, decided_by=decision.uid)
        self._open[rule, cause] = found
        return found.decided

    def has_asked(self, rule: str, cause: UUID) -> bool:
        return (rule, cause) in self._open

    def _decision(self, found: Deviation) -> Happening | None:
        decisions = self._decisions.get((found.rule, found.cause))
        if not decisions:
            return None
        last = decisions[-1]
        agreeing = [one for one in decisions if one.body["decision"] == last.body["decision"]]
        who = {one.first.doer for one in agreeing}.union(
            *(one.confirmed_by for one in agreeing)
        )
        # Nobody closes alone what their own action opened.
        if found.is_own(who):
            return None
        return last if covers(last.body.get("known", {}), found.numbers) else None

    def passed_on(self, batch: UUID) -> "Questions":
        """The same questions, asked of a batch that came out of this one."""
        other = Questions(batch, ())
        other._decisions = self._decisions
        other._open = {key: replace(one, batch=batch) for key, one in self._open.items()}
        return other

    def take_over(self, others: "Questions") -> None:
        """What was asked of a batch that became a part of this one is asked of this one."""
        passed = others.passed_on(self.batch)
        self._open = passed._open | self._open

    def answer(
        self, rule: str, of: Happening, numbers: Mapping[str, Any], decided_by: UUID
    ) -> None:
        """What was asked of a happening, and which fact answered it; it stays on record."""
        self._open[rule, of.uid] = Deviation(
            batch=self.batch,
            rule=rule,
            cause=of.uid,
            effect=EFFECTS[rule],
            at=of.when.earliest,
            numbers=numbers,
            by=of.first.doer,
            decided=Decision.KEEP,
            decided_by=decided_by,
        )

    def close(self, rule: str, cause: UUID) -> None:
        """Nothing is asked any more, e.g. as something worse took its place."""
        self._open[rule, cause] = replace(self._open[rule, cause], closed=True)

    def close_broken(self) -> None:
        """A new series is complete: what broke earlier ones has been answered by that."""
        for key, one in self._open.items():
            if one.effect is BROKE and one.is_open:
                self._open[key] = replace(one, decided=Decision.RESTART, closed=True)

    def frozen(self) -> tuple[Deviation, ...]:
        return tuple(
            sorted(self._open.values(), key=lambda one: (one.at, one.rule, one.cause.int))
        )
