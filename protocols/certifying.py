"""May a batch be certified, with every reason at once; and what a certificate is worth now."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any
from uuid import UUID

from protocols.clocks import elapsed_text, utc_text
from protocols.judged import Deviation, Effect, Judgement, SeriesState
from protocols.ruled import Reason
from protocols.said import said
from protocols.stays import SECOND

KEEPER, MANAGER = ("keeper", "manager"), ("manager",)
PRESCRIBERS = ("manager", "veterinarian")
SECOND_PERSON = ("keeper", "manager", "veterinarian")


@dataclass(frozen=True, slots=True)
class OpenQuestions:
    """What stands open beside the judgement.

    `doubted` are readings of instruments in doubt that no deviation speaks of; `restrictions`
    say in a few words what an authority forbids.
    """

    parked: tuple[UUID, ...] = ()
    doubted: tuple[UUID, ...] = ()
    restrictions: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class SilentDevice:
    """A tablet not heard of since, that may hold entries nobody else has; `unsent` for sure."""

    uid: UUID
    label: str
    heard_at: datetime
    unsent: int = 0


@dataclass(frozen=True, slots=True)
class Certifiable:
    """The answer at `at`; `count` is how many could be certified if nothing stood against."""

    at: datetime
    count: int
    reasons: tuple[Reason, ...]

    @property
    def may_be_issued(self) -> bool:
        return not any(one.blocks for one in self.reasons)


def certifiable(
    judgement: Judgement,
    certified: int,
    questions: OpenQuestions,
    documents: Sequence[str],
    devices: Sequence[SilentDevice],
    *,
    at: datetime,
) -> Certifiable:
    """Everything that stands against a certificate, and what a reader should be warned of.

    `certified` animals have a valid certificate already; `documents` names papers that are
    needed and missing. Asking changes nothing.
    """
    reasons = (
        *_stage_reasons(judgement),
        *_count_reasons(judgement, certified),
        *(_of_deviation(one) for one in judgement.deviations if one.is_open),
        *_hold_reasons(judgement, questions),
        *_question_reasons(questions),
        *(_document(one) for one in documents),
        *(_device(one, at) for one in devices),
    )
    ordered = sorted(reasons, key=lambda one: not one.blocks)
    # To keep a count that differed settles the question, but nobody saw more for it.
    seen = judgement.alive - judgement.uncounted
    return Certifiable(at, max(seen - certified, 0), tuple(ordered))


def _stage_reasons(judgement: Judgement) -> Iterator[Reason]:
    series, watched = judgement.series, judgement.observation
    if judgement.state == "closed":
        yield _blocking("batch_closed", "Nobody of this batch is here any more.")
    elif series is None or series.state is not SeriesState.COMPLETE:
        yield _series_reason(judgement)
    elif watched is not None and watched.state == "running":
        left = watched.ends_at - judgement.at
        yield _blocking(
            "observation_running",
            said("Observation runs for another {left}.", left=elapsed_text(left)),
            cleared_by="time",
            numbers={"left_s": left // SECOND, "ends_at": utc_text(watched.ends_at)},
        )
    # A stopped observation is told by the sign that stopped it.


def _series_reason(judgement: Judgement) -> Reason:
    series = judgement.series
    numbers: dict[str, Any] = {}
    if series is not None:
        numbers = {
            "moves": series.moves,
            "moves_needed": series.moves_needed,
            "elapsed_s": series.elapsed // SECOND,
            "needed_s": series.needed // SECOND,
        }
    return _blocking(
        "series_not_complete",
        "The series is not complete.",
        cleared_by="move",
        who=KEEPER,
        task="move",
        numbers=numbers,
    )


def _count_reasons(judgement: Judgement, certified: int) -> Iterator[Reason]:
    if missing := sum(one.count for one in judgement.unaccounted):
        yield _blocking(
            "unaccounted",
            said(
                "{missing} unaccounted: search, or presume lost once the time is over.",
                missing=missing,
            ),
            cleared_by="found_again or presumed_lost",
            who=KEEPER,
            task="search",
            numbers={"count": missing},
        )
    if judgement.alive > 0 and judgement.alive <= certified:
        text = said("All {alive} alive are certified already.", alive=judgement.alive)
        yield _blocking("already_certified", text, numbers={"certified": certified})


# Which task clears an open deviation where it is not a decision, and who may.
CLEARED: Mapping[str, tuple[str, str, tuple[str, ...]]] = {
    "late_unconfirmed": ("confirmed", "confirm_late", SECOND_PERSON),
    "sign_seen": ("confirmed, or withdrawn by a second person", "close_look", SECOND_PERSON),
    "dose_refused": ("deviation_decided", "decide", PRESCRIBERS),
    "two_accounts": ("account_decided", "decide", MANAGER),
    "parked": ("parked_settled", "decide", MANAGER),
    "stay_over": ("move, or deviation_decided", "move", KEEPER),
    "water_mismatch": ("deviation_decided", "review_match", MANAGER),
    "instrument_in_doubt": ("deviation_decided", "review_match", MANAGER),
    "chlorine_left": ("deviation_decided", "review_match", MANAGER),
}
BY_DECISION = ("deviation_decided", "decide", MANAGER)


def _of_deviation(deviation: Deviation) -> Reason:
    cleared_by, task, who = CLEARED.get(deviation.rule, BY_DECISION)
    blocks = deviation.effect is not Effect.WARNS
    return Reason(
        code="deviation_open" if blocks else deviation.rule,
        rule=deviation.rule,
        text=said("Open question: {rule}.", rule=deviation.rule.replace("_", " ")),
        blocks=blocks,
        numbers={**deviation.numbers, "cause": str(deviation.cause)},
        cleared_by=cleared_by,
        who=who,
        task=task,
    )


def _hold_reasons(judgement: Judgement, questions: OpenQuestions) -> Iterator[Reason]:
    for hold in judgement.holds:
        text = said("On hold: {why}", why=hold.why)
        yield _blocking("held", text, cleared_by="hold_lifted", who=MANAGER)
    for one in questions.restrictions:
        yield _blocking(
            "restricted",
            said("An authority forbids it: {one}", one=one),
            cleared_by="authority",
        )


def _question_reasons(questions: OpenQuestions) -> Iterator[Reason]:
    for one in questions.parked:
        yield _blocking(
            "parked",
            "A report about this batch does not fit the record yet.",
            cleared_by="parked_settled",
            who=MANAGER,
            task="decide",
            numbers={"fact": str(one)},
        )
    if questions.doubted:
        yield Reason(
            "instrument_in_doubt",
            "instrument_in_doubt",
            said(
                "{count} readings were taken with an instrument in doubt.",
                count=len(questions.doubted),
            ),
            blocks=False,
            numbers={"readings": [str(one) for one in questions.doubted]},
            cleared_by="deviation_decided",
            who=MANAGER,
            task="review_match",
        )


def _document(name: str) -> Reason:
    text = said("Missing: {name}.", name=name)
    return _blocking("document_missing", text, cleared_by="document_added", who=MANAGER)


def _device(device: SilentDevice, at: datetime) -> Reason:
    silent = at - device.heard_at
    text, n = "{device} is silent for {silent} and may hold entries.", device.unsent
    if n:
        text = "{device} holds entries that did not arrive yet: {n}."
    return Reason(
        "entries_on_silent_device",
        "entries_on_silent_device",
        said(text, device=device.label, silent=elapsed_text(silent), n=n),
        blocks=False,
        numbers={"device": str(device.uid), "silent_s": silent // SECOND, "unsent": n},
        cleared_by="device heard of",
        who=KEEPER,
    )


def _blocking(code: str, text: str, **known: Any) -> Reason:
    return Reason(code=code, rule=code, text=text, **known)
