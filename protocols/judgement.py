"""From the history of a batch to its judgement: one pass, then everything is frozen."""

from datetime import datetime

from protocols.courses import Course, Given
from protocols.cover import hours_below
from protocols.families import Family
from protocols.judged import (
    Decision,
    Effect,
    Judgement,
    Observation,
    Places,
    Series,
    Temperatures,
    Verdict,
)
from protocols.order import order_key
from protocols.ruled import Protocol, RulesHistory
from protocols.stays import NONE, OpenStay, Outcome
from protocols.told import Happening, History, When

WHY = {"animals_dispatched": "dispatched", "batch_split": "split", "batches_joined": "joined"}


def judge(
    history: History,
    *,
    protocol: Protocol,
    rules: RulesHistory,
    places: Places,
    cover: Temperatures,
    at: datetime,
) -> Judgement:
    """What follows from the history of a batch at `at`.

    `places` says of every placement (`lineage.placements`) whether container and kit were
    ready and whether the water matched, and of every piece fitted meanwhile whether it was
    ready; a stay that is not in it raises KeyError. `cover` holds temperatures in degrees
    Celsius, by container and time.
    """
    given = Given(protocol, rules, places, cover, at)
    return _freeze(Family(history, given).told(), history)


def _freeze(course: Course, history: History) -> Judgement:
    closing = _closing(course)
    if closing is not None and course.open is not None:
        _close(course, closing)
    limit, over = _look_at_open_stay(course)
    ended = course.given.at if closing is None else closing.when.earliest
    series = _series(course, closing, ended, limit, over=over)
    observation = _observation(course, ended)
    return Judgement(
        batch=course.batch,
        at=course.given.at,
        state=_state(course, closing, observation),
        stays=tuple(course.stays),
        series=series,
        past_series=tuple(course.tally.past),
        stage="moves" if course.tally.completed is None else "observation",
        limit=limit,
        earliest_end=series.earliest_end if series else None,
        earliest_end_if_kept=series.earliest_end_if_kept if series else None,
        observation=observation,
        deviations=course.questions.frozen(),
        holds=tuple(course.holds.values()),
        alive=course.heads.alive,
        relied_on=frozenset(course.relied_on | history.family),
        why=None if closing is None else _why(closing),
        unaccounted=course.heads.unaccounted,
        uncounted=course.heads.uncounted,
    )


def _closing(course: Course) -> Happening | None:
    """What took the last animal, unless somebody may still be found; or a split or a join."""
    if course.passed_on is not None:
        return course.passed_on
    if course.open is None or course.heads.alive > 0 or course.heads.unaccounted:
        return None
    return course.heads.emptied_by


def _why(closing: Happening) -> str:
    return WHY.get(closing.kind, "all_lost")


def _close(course: Course, closing: Happening) -> None:
    """The last stay ends with the last animal; its series with it, unless it is complete."""
    stay, when = course.open, closing.when
    assert stay is not None
    limit = stay.limit(
        course.given.protocol, course.given.temperatures(stay.container), when.latest
    )
    found = Outcome(Verdict.ON_TIME)
    if limit is not None:
        found, rule = course.judge_limit(stay, limit, when)
        if rule is not None:
            course.raise_limit(rule, stay, limit, found, when, None)
    course.stays.append(stay.frozen(limit, when, closing.uid, found))
    course.open = None
    if course.tally.completed is None and _why(closing) == "all_lost":
        course.tally.break_off(course.given.protocol, when, "all_lost")


def _look_at_open_stay(course: Course) -> tuple[datetime | None, bool]:
    """The limit of the open stay, and whether it is past with no move told."""
    stay, at, protocol = course.open, course.given.at, course.given.protocol
    if stay is None:
        return None, False
    readings = course.given.temperatures(stay.container)
    limit = stay.limit(protocol, readings, at)
    if course.tally.completed is None:
        begins = course.tally.counts_from(stay.began.earliest)
        span = When(begins, max(at, begins))
        course.tally.add_hours(hours_below(readings, span, protocol.cold_c))
    found, over = Outcome(), False
    if limit is not None and at > limit:
        found, over = _past_limit(course, stay, limit)
    course.stays.append(stay.frozen(limit, None, None, found))
    return limit, over


def _past_limit(course: Course, stay: OpenStay, limit: datetime) -> tuple[Outcome, bool]:
    now = When.exactly(course.given.at)
    found, rule = course.judge_limit(stay, limit, now)
    assert rule is not None
    decided = course.raise_limit(rule, stay, limit, found, now, None)
    if rule not in ("stay_over", "stay_unproven"):
        return found, False
    if decided is Decision.RESTART:
        course.tally.offend(course.given.protocol, Effect.BROKE, decided, now, "late")
    return found, decided is None


def _series(
    course: Course,
    closing: Happening | None,
    ended: datetime,
    limit: datetime | None,
    *,
    over: bool,
) -> Series | None:
    if closing is not None and course.tally.completed is None:
        # Nothing of it goes on: with the last of them, or in a join that began a new one.
        if _why(closing) == "all_lost":
            return None
        if _why(closing) == "joined" and course.tally.shown.start is None:
            return None
    return course.tally.frozen(course.given.protocol, ended, limit, over=over)


def _observation(course: Course, until: datetime) -> Observation | None:
    """It began with the completing move; the first open sign stopped it."""
    started = course.tally.completed
    if started is None:
        return None
    ends_at = started.latest + course.given.protocol.observation
    sign = min(course.signs, key=order_key, default=None)
    last = min(until, ends_at) if sign is None else min(sign.when.earliest, until, ends_at)
    running = "done" if until >= ends_at else "running"
    return Observation(
        state=running if sign is None else "stopped",
        started=started,
        ends_at=ends_at,
        elapsed=max(last - started.latest, NONE),
        stopped_by=None if sign is None else sign.uid,
    )


def _state(course: Course, closing: Happening | None, observation: Observation | None) -> str:
    if closing is not None:
        return "closed"
    if course.signs:
        return "suspected"
    if observation is None:
        return "moves"
    return "done" if observation.state == "done" else "observation"
