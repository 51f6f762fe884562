"""Series: what counts towards the `moves` stage, in three readings at once.

*Shown* takes what broke as broken and open questions kindly; *strict* takes every open question
as broken; *kept* takes everything that nobody has decided as kept. They differ only while
something is open.
"""

from dataclasses import dataclass, field
from datetime import datetime, timedelta

from protocols.judged import Cover, Decision, Effect, Series, SeriesState
from protocols.ruled import Protocol
from protocols.told import When

NONE = timedelta(0)


@dataclass(slots=True)
class Track:
    """One reading: where day 1 is, how many moves count, how many hours were too cold."""

    start: When | None = None
    moves: int = 0
    cold: timedelta = NONE
    unknown: timedelta = NONE  # hours without temperature, which count all the same
    spoilt: bool = False  # the placement at hand does not count
    not_before: datetime | None = None

    def reset(self, *, spoils: bool, not_before: datetime | None = None) -> None:
        self.start, self.moves = None, 0
        self.cold = self.unknown = NONE
        self.spoilt = self.spoilt or spoils
        if not_before is not None:
            self.not_before = not_before

    def place(self, when: When) -> None:
        """A placement: day 1 where nothing counts yet, else one more move."""
        if self.spoilt:
            self.spoilt = False
        elif self.start is not None:
            self.moves += 1
        elif self.not_before is None or when.earliest >= self.not_before:
            self.start = when

    def add_hours(self, hours: Cover) -> None:
        if self.start is not None:
            self.cold += hours.outside
            self.unknown += hours.unknown

    def earliest_end(self, protocol: Protocol) -> datetime | None:
        """Day 1, read late, plus the least span and the cold hours; None without a day 1."""
        if self.start is None:
            return None
        return self.start.latest + protocol.span_least + self.cold

    def completes(self, when: When, protocol: Protocol) -> bool:
        """Whether the move at `when`, already counted, is late enough and one of enough."""
        ends = self.earliest_end(protocol)
        return ends is not None and self.moves >= protocol.moves_least and when.earliest >= ends


@dataclass(slots=True)
class Tally:
    """The current series of one batch with those before it."""

    number: int = 1
    shown: Track = field(default_factory=Track)
    strict: Track = field(default_factory=Track)
    kept: Track = field(default_factory=Track)
    past: list[Series] = field(default_factory=list)
    completed: When | None = None
    asked: bool = False  # a question is open on which the series hangs
    asked_here: bool = False  # one about the placement at hand

    def offend(
        self,
        protocol: Protocol,
        effect: Effect,
        decided: Decision | None,
        when: When,
        why: str,
        *,
        here: bool = False,
        spoils: bool = False,
        not_before: datetime | None = None,
    ) -> None:
        """A rule on which the series hangs was not kept.

        `here` says that it is about the placement at hand, `spoils` that this one does not
        count either; otherwise it is day 1, or the next one will be.
        """
        if decided in (Decision.KEEP, Decision.VOID):
            return
        if self.completed is not None and decided is None and effect is Effect.ASKS:
            return  # it only blocks the certificate
        if decided is Decision.RESTART:
            self.kept.reset(spoils=spoils, not_before=not_before)
        self.strict.reset(spoils=spoils, not_before=not_before)
        if decided is Decision.RESTART or effect is Effect.BROKE:
            broken = why if effect is Effect.BROKE else "decision"
            self.break_off(protocol, when, broken)
            self.shown.reset(spoils=spoils, not_before=not_before)
        else:
            self._ask(here=here or spoils)

    def _ask(self, *, here: bool) -> None:
        if here:
            self.asked_here = True
        elif self.shown.start is not None:
            self.asked = True

    def break_off(
        self,
        protocol: Protocol,
        when: When,
        why: str,
        state: SeriesState = SeriesState.BROKEN,
    ) -> None:
        """The current series becomes a past one; where nothing counts yet there is none."""
        if self.shown.start is not None:
            self.past.append(
                Series(
                    number=self.number,
                    state=state,
                    started=self.shown.start,
                    moves=self.shown.moves,
                    moves_needed=0,
                    elapsed=self.elapsed(when.latest),
                    needed=protocol.span_least,
                    earliest_end=None,
                    ended=when,
                    why=why,
                )
            )
            self.number += 1
        self.shown.reset(spoils=False)
        self.completed, self.asked = None, False

    def place(self, when: When) -> None:
        """A placement, in all three readings."""
        began = self.shown.start
        for track in (self.shown, self.strict, self.kept):
            track.place(when)
        if began is None:
            self.asked = False
        self.asked = self.asked or self.asked_here
        self.asked_here = False

    def add_hours(self, hours: Cover) -> None:
        """The hours of a stay: those too cold do not count."""
        for track in (self.shown, self.strict, self.kept):
            track.add_hours(hours)

    def counts_from(self, began: datetime) -> datetime:
        """From when on hours of a stay count: in a joined batch day 1 may lie within it."""
        start = self.shown.start
        return began if start is None else max(began, start.earliest)

    def complete(self, when: When, protocol: Protocol) -> bool:
        """Whether the move just counted completed the series; open questions do not hinder."""
        if self.completed is None and self.shown.completes(when, protocol):
            self.completed = when
            return True
        return False

    def elapsed(self, until: datetime) -> timedelta:
        """Hours that count, read late at the start and up to the completing move at most."""
        if self.shown.start is None:
            return NONE
        end = until if self.completed is None else self.completed.earliest
        return max(end - self.shown.start.latest - self.shown.cold, NONE)

    def frozen(
        self, protocol: Protocol, at: datetime, limit: datetime | None, *, over: bool
    ) -> Series:
        """The current series at `at`, in a stay with this limit that may be past it."""
        state = self._state(over=over)
        unproven = state is SeriesState.UNPROVEN
        strict = self.strict if unproven else self.shown
        return Series(
            number=self.number,
            state=state,
            started=self.shown.start,
            moves=self.shown.moves,
            moves_needed=self._moves_needed(protocol, limit),
            elapsed=self.elapsed(at),
            needed=protocol.span_least,
            earliest_end=None if unproven and over else strict.earliest_end(protocol),
            earliest_end_if_kept=self._if_kept(protocol, over=over),
            ended=self.completed,
        )

    def _state(self, *, over: bool) -> SeriesState:
        if self.completed is not None:
            return SeriesState.COMPLETE
        if self.shown.start is None:
            return SeriesState.WAITING
        return SeriesState.UNPROVEN if self.asked or over else SeriesState.UNBROKEN

    def _if_kept(self, protocol: Protocol, *, over: bool) -> datetime | None:
        """What keeping everything open would mean; None where nothing is open."""
        same = (self.kept.start, self.kept.cold) == (self.strict.start, self.strict.cold)
        if self.completed is not None or (same and not over):
            return None
        return self.kept.earliest_end(protocol)

    def _moves_needed(self, protocol: Protocol, limit: datetime | None) -> int:
        """The least number of moves still to make, each stay as long as it may be."""
        if self.completed is not None:
            return 0
        if self.shown.start is None or limit is None:
            by_span = -(-protocol.span_least // protocol.stay_limit)
            # The placement that will be day 1 comes before them.
            return 1 + max(protocol.moves_least, by_span)
        ends = self.shown.earliest_end(protocol)
        assert ends is not None
        after = 1 + max(-(-(ends - limit) // protocol.stay_limit), 0)
        return max(protocol.moves_least - self.shown.moves, after)
