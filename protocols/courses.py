"""The working record of one batch while it is judged: placements, and the ends of stays."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from typing import Any
from uuid import UUID

from protocols.cover import hours_below
from protocols.deviations import MAKES_UNPROVEN, Questions, not_ready_numbers
from protocols.headcount import Headcount
from protocols.judged import (
    Decision,
    Effect,
    Hold,
    Places,
    Placing,
    Readiness,
    Reading,
    SeriesState,
    State,
    Stay,
    Temperatures,
    Verdict,
)
from protocols.matching import doubts_together
from protocols.ruled import Protocol, RulesHistory
from protocols.series import Tally
from protocols.stays import NONE, SECOND, OpenStay, Outcome, outcome
from protocols.told import Happening, When
from protocols.uids import as_uid

# How the reasons of a water match are called as deviations.
WATER_RULES: Mapping[str, str] = {
    "water_mismatch": "water_mismatch",
    "reading_missing": "reading_missing",
    "reading_old": "reading_missing",
    "instrument_failed": "instrument_in_doubt",
    "instrument_in_doubt": "instrument_in_doubt",
    "out_of_range": "out_of_range",
    "water_young": "water_young",
    "chlorine_left": "chlorine_left",
}


@dataclass(frozen=True, slots=True)
class Given:
    """What the judge was handed besides the history."""

    protocol: Protocol
    rules: RulesHistory
    places: Places
    cover: Temperatures
    at: datetime

    def temperatures(self, container: UUID) -> tuple[Reading, ...]:
        """Of this container, up to the moment asked about."""
        readings = self.cover.get(container, ())
        if readings and readings[-1].at > self.at:
            return tuple(one for one in readings if one.at <= self.at)
        return readings


@dataclass(slots=True)
class Course:
    """One batch going through one protocol version, as far as the pass has come."""

    batch: UUID
    given: Given
    questions: Questions
    tally: Tally = field(default_factory=Tally)
    heads: Headcount = field(default_factory=Headcount)
    stays: list[Stay] = field(default_factory=list)
    open: OpenStay | None = None
    tolerance: timedelta = NONE
    holds: dict[UUID, Hold] = field(default_factory=dict)
    signs: list[Happening] = field(default_factory=list)  # those that stop an observation
    relied_on: set[UUID] = field(default_factory=set)
    passed_on: Happening | None = None  # the split or join by which the batch ended

    def placed(self, happening: Happening) -> None:
        """The first placement: day 1 of the first series."""
        if self.open is not None or self.stays:
            self.does_not_fit(happening)
            return
        rules = self.given.rules.at(happening.when.earliest)
        self.tolerance = timedelta(seconds=rules.tolerance_s)
        self.ask_count(happening, self.heads.placed(happening))
        self.begin(happening, moves=True)

    def moved(self, happening: Happening) -> None:
        """A move: one stay ends, the next begins."""
        if self.open is None or self.open.uid != as_uid(happening.body["ended_stay"]):
            self.does_not_fit(happening)
            return
        self.ask_count(happening, self.heads.moved(happening, self.open.container))
        self.end_stay(happening.when, happening)
        # Put in with others it is no move: what it is, the join that follows says.
        self.begin(happening, moves=not happening.body.get("joins"))

    def does_not_fit(self, happening: Happening) -> None:
        """Told, but there is no such stay to end: somebody must settle it."""
        self.questions.raise_("parked", happening.uid, happening.when.earliest)

    def ask_count(self, happening: Happening, differs: Mapping[str, Any] | None) -> None:
        if differs is not None:
            self.ask("count_differs", happening.uid, happening, differs)

    def ask(
        self,
        rule: str,
        cause: UUID,
        happening: Happening,
        numbers: Mapping[str, Any] | None = None,
        *,
        effect: Effect = Effect.ASKS,
        here: bool = False,
        spoils: bool = False,
    ) -> None:
        """Raise a deviation; the series hangs on some of them."""
        first, at = happening.first, happening.when.earliest
        decided = self.questions.raise_(
            rule, cause, at, numbers, first.doer, effect, first.beside
        )
        if effect is Effect.BROKE or rule in MAKES_UNPROVEN:
            self.tally.offend(
                self.given.protocol,
                effect,
                decided,
                happening.when,
                "not_ready",
                here=here,
                spoils=spoils,
            )

    def begin(self, happening: Happening, *, moves: bool) -> None:
        """The next stay begins, where the happening says; `moves` says that it is a move."""
        body, kit = happening.body, happening.body.get("kit")
        self.open = OpenStay(
            uid=as_uid(body["stay"]),
            batch=self.batch,
            container=as_uid(body["container"]),
            kit=None if kit is None else as_uid(kit),
            began=happening.when,
        )
        self._look_at_accounts(happening)
        if not body.get("joins"):
            self._look_at_place(happening, self.open, self.given.places[self.open.uid])
        if moves and self.tally.completed is None:
            self.tally.place(happening.when)
            if self.tally.complete(happening.when, self.given.protocol):
                self._completed(self.open)
        self.open.limited = self.tally.completed is None
        self.relied_on.update((self.open.uid, self.open.container))
        if self.open.kit is not None:
            self.relied_on.add(self.open.kit)

    def _completed(self, stay: OpenStay) -> None:
        self.questions.close_broken()
        if unknown := self.tally.shown.unknown:
            numbers = {"unknown_s": unknown // SECOND}
            self.questions.raise_("hours_unknown", stay.uid, stay.began.earliest, numbers)

    def _look_at_accounts(self, happening: Happening) -> None:
        if happening.is_emergency:
            self.ask("emergency_review", happening.uid, happening, spoils=True)
        if happening.late_unconfirmed:
            gap = (happening.when.latest - happening.when.earliest) // SECOND
            numbers: dict[str, Any] = {"gap_s": gap}
            if any(one.delivered for one in happening.accounts):
                numbers["delivered"] = True
            self.ask("late_unconfirmed", happening.uid, happening, numbers, here=True)
        counts = {"counts": [list(one.body.get("counts", ())) for one in happening.accounts]}
        if happening.differs or happening.unclear:
            self.ask("two_accounts", happening.uid, happening, counts, spoils=True)
        elif happening.decided_by is not None:
            self.questions.answer("two_accounts", happening, counts, happening.decided_by)

    def _look_at_place(self, happening: Happening, stay: OpenStay, placing: Placing) -> None:
        effect = Effect.BROKE if happening.is_emergency else Effect.ASKS
        kit = placing.kit if stay.kit else Readiness(State.INCOMPLETE)
        for rule, found in (("container_not_ready", placing.container), ("kit_not_ready", kit)):
            if found is not None and not found.is_ready:
                numbers = not_ready_numbers(found, happening.when.earliest)
                self.ask(rule, stay.uid, happening, numbers, effect=effect, spoils=True)
        for reason in doubts_together(placing.water):
            self.questions.raise_(
                WATER_RULES[reason.code],
                stay.uid,
                happening.when.earliest,
                reason.numbers,
                happening.first.doer,
            )

    def end_stay(self, when: When, by: Happening) -> None:
        """The open stay ends: was it too long, how many of its hours count?"""
        assert self.open is not None
        stay, protocol = self.open, self.given.protocol
        readings = self.given.temperatures(stay.container)
        limit = stay.limit(protocol, readings, when.latest)
        if self.tally.completed is None:
            begins = self.tally.counts_from(stay.began.earliest)
            span = When(begins, max(when.latest, begins))
            self.tally.add_hours(hours_below(readings, span, protocol.cold_c))
        found = Outcome(Verdict.ON_TIME)
        if limit is not None:
            found = self._ask_limit(stay, limit, when, by)
        self.stays.append(stay.frozen(limit, when, by.uid, found))
        self.open = None

    def _ask_limit(self, stay: OpenStay, limit: datetime, when: When, by: Happening) -> Outcome:
        found, rule = self.judge_limit(stay, limit, when)
        if rule == "stay_over":
            decided = self.raise_limit(rule, stay, limit, found, when, by)
            self.tally.offend(self.given.protocol, Effect.BROKE, decided, when, "late")
        elif rule == "stay_unproven":
            self._ask_unproven(stay, limit, found, when, by)
        elif rule is not None:
            self.raise_limit(rule, stay, limit, found, when, by)
        return found

    def judge_limit(
        self, stay: OpenStay, limit: datetime, until: When
    ) -> tuple[Outcome, str | None]:
        """The verdict on a stay, and the rule that was not kept, if any.

        A limit that warm water made shorter only asks: it breaks nothing backwards.
        """
        found = outcome(stay.began, until, stay.longest(self.given.protocol), self.tolerance)
        if found.verdict is Verdict.OVER:
            return found, "stay_over"
        if found.verdict is Verdict.UNPROVEN:
            return found, "stay_unproven"
        shorter = outcome(stay.began, until, limit, self.tolerance)
        if not shorter.is_fine:
            return shorter, "limit_shortened"
        within = shorter.verdict is Verdict.WITHIN_TOLERANCE
        return shorter, "within_tolerance" if within else None

    def _ask_unproven(
        self, stay: OpenStay, limit: datetime, found: Outcome, when: When, by: Happening
    ) -> None:
        """The stay may have been too long. What was told late first is not mended by that."""
        if by.late_unconfirmed:
            return  # that question is asked already, and its answer settles this one
        decided = self.raise_limit("stay_unproven", stay, limit, found, when, by)
        longest = stay.longest(self.given.protocol)
        told = outcome(stay.began, by.told or when, longest, self.tolerance)
        if decided is None and told.verdict is Verdict.OVER and self.tally.completed is None:
            self.tally.strict.reset(spoils=False)
            self.tally.break_off(self.given.protocol, when, "late", SeriesState.UNPROVEN)
        else:
            self.tally.offend(self.given.protocol, Effect.ASKS, decided, when, "late")

    def raise_limit(
        self,
        rule: str,
        stay: OpenStay,
        limit: datetime,
        found: Outcome,
        until: When,
        by: Happening | None,
    ) -> Decision | None:
        numbers = {
            "stay_s": (until.latest - stay.began.earliest) // SECOND,
            "limit_s": (limit - stay.began.earliest) // SECOND,
            "over_s": found.over // SECOND,
        }
        if by is None:
            return self.questions.raise_(rule, stay.uid, limit, numbers)
        doer, beside = by.first.doer, by.first.beside
        return self.questions.raise_(rule, stay.uid, limit, numbers, doer, beside=beside)
