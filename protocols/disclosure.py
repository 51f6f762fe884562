"""What a certificate must not keep quiet: every move, restarts, decisions, what is in doubt."""

from collections import Counter
from collections.abc import Iterable, Iterator, Mapping
from itertools import pairwise
from zoneinfo import ZoneInfo

from protocols.clocks import local_text
from protocols.credential import CertifiedMove
from protocols.judged import Decision, Deviation, Effect, Judgement, Series, Verdict

WHY_ENDED: Mapping[str, str] = {
    "late": "a stay was longer than its limit",
    "joined": "fish without the same history were added",
    "sign": "signs of disease were seen",
    "decision": "a person decided so",
    "not_ready": "a container or kit was not ready",
    "all_lost": "no animal was left",
}
RULES: Mapping[str, str] = {
    "stay_over": "a stay over its limit",
    "joined_untreated": "fish without the same history were added",
    "sign_confirmed": "signs of disease, seen by two people",
    "sign_seen": "signs that were seen",
    "stay_unproven": "a stay whose length is not proven",
    "late_unconfirmed": "a move that was told late",
    "two_accounts": "two accounts of one move",
    "count_differs": "a count that differed",
    "kit_not_ready": "a kit that was not ready",
    "container_not_ready": "a container that was not ready",
    "heater_swapped": "a piece that was put in meanwhile",
    "contact_tool": "a tool that touched other animals before",
    "splash_seen": "a splash from another container",
    "limit_shortened": "warm water, in which the limit is shorter",
    "emergency_review": "an emergency move",
    "dose_refused": "something given that its protocol is not meant for",
    "parked": "a report that did not fit",
    "within_tolerance": "a stay over its limit, within the site's tolerance",
    "water_mismatch": "water that did not match at a move",
    "reading_missing": "a water value that is missing at a move",
    "instrument_in_doubt": "a water value by an instrument in doubt",
    "proximity": "another container in doubt close by",
    "out_of_range": "water out of its range",
    "water_young": "water that was mixed for too short",
    "chlorine_left": "water made with chlorine left in it",
    "hours_unknown": "hours without a temperature",
    "entries_on_silent_device": "a tablet that has not reported",
}


def certified_moves(judgement: Judgement) -> tuple[CertifiedMove, ...]:
    """Every move of the whole history, and whether its placement was day 1 of a new series."""
    series = [*judgement.past_series, *([judgement.series] if judgement.series else [])]
    begun = {one.started for one in series if one.number > 1}
    return tuple(
        CertifiedMove(
            at=stay.ended.latest,
            verdict=stay.verdict or Verdict.ON_TIME,
            restarted=following.began in begun,
        )
        for stay, following in pairwise(judgement.stays)
        if stay.ended is not None
    )


def remarks(judgement: Judgement, zone: ZoneInfo) -> tuple[str, ...]:
    """Sentences for people, times as the clocks of `zone` show them. Nobody is named."""
    return (
        *(_restart(one, zone) for one in judgement.past_series),
        *_kept(judgement.deviations, zone),
        *_worth_knowing(judgement.deviations),
    )


def outside_seconds(times: int) -> Iterator[str]:
    """That somebody without an account confirmed what was told late, and how often."""
    if times:
        several = f" ({times} times)" if times > 1 else ""
        yield f"Told late, and confirmed by an outside second{several}."


def _restart(series: Series, zone: ZoneInfo) -> str:
    begun = f", begun {local_text(series.started.latest, zone)}," if series.started else ""
    ended = f" {local_text(series.ended.latest, zone)}" if series.ended else ""
    moves = "1 move" if series.moves == 1 else f"{series.moves} moves"
    why = WHY_ENDED.get(series.why or "", "the record says so")
    told = f"Series {series.number}{begun} ended{ended} after {moves}: {why}."
    return f"{told} It was begun anew."


def _kept(deviations: Iterable[Deviation], zone: ZoneInfo) -> Iterator[str]:
    for one in deviations:
        if one.decided is Decision.KEEP and one.effect is not Effect.WARNS:
            at = local_text(one.at, zone)
            yield f"Counted as kept, by decision of a person: {_words(one)} ({at})."
        elif one.decided is Decision.RESTART and one.effect is Effect.ASKS:
            at = local_text(one.at, zone)
            yield f"Read strictly, by decision of a person: {_words(one)} ({at})."


def _worth_knowing(deviations: Iterable[Deviation]) -> Iterator[str]:
    warned = Counter(_words(one) for one in deviations if one.effect is Effect.WARNS)
    for words, times in sorted(warned.items()):
        yield f"Worth knowing: {words}{f' ({times} times)' if times > 1 else ''}."


def _words(one: Deviation) -> str:
    return RULES.get(one.rule, one.rule.replace("_", " "))
