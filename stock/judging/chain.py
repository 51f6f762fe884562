"""A judgement's stays and series as they are kept: moments and verdicts, no spans of time.

What changes with the clock is worked out by whoever reads it.
"""

from datetime import datetime
from typing import Any

from protocols.clocks import utc_text
from protocols.values import Judgement, Observation, Series, Stay


def chain_of(judgement: Judgement) -> dict[str, Any]:
    """The chain in plain JSON. Equal judgements give equal chains."""
    series = judgement.series
    return {
        "stays": [_stay(one) for one in judgement.stays],
        "series": None if series is None else _series(series),
        "past_series": [_series(one) for one in judgement.past_series],
        "observation": _observation(judgement.observation),
        "holds": [
            {"uid": str(one.uid), "at": utc_text(one.at), "why": one.why}
            for one in judgement.holds
        ],
        "unaccounted": [
            {
                "fact": str(one.fact),
                "container": str(one.container),
                "count": one.count,
                "since": utc_text(one.since),
            }
            for one in judgement.unaccounted
        ],
    }


def _stay(stay: Stay) -> dict[str, Any]:
    return {
        "uid": str(stay.uid),
        "container": str(stay.container),
        "kit": str(stay.kit) if stay.kit else None,
        "began": utc_text(stay.began.earliest),
        "ended": _text(stay.ended.latest if stay.ended else None),
        "limit": _text(stay.limit),
        "verdict": str(stay.verdict) if stay.verdict else None,
        # Of an open stay it grows with the clock.
        "over_s": int(stay.over.total_seconds()) if stay.ended else None,
    }


def _series(series: Series) -> dict[str, Any]:
    return {
        "number": series.number,
        "state": str(series.state),
        "why": series.why,
        "started": _text(series.started.latest if series.started else None),
        "ended": _text(series.ended.latest if series.ended else None),
        "moves": series.moves,
        "needed_s": int(series.needed.total_seconds()),
    }


def _observation(one: Observation | None) -> dict[str, Any] | None:
    if one is None:
        return None
    return {
        "state": one.state,
        "started": utc_text(one.started.latest),
        "ends_at": utc_text(one.ends_at),
        "elapsed_s": None if one.state == "running" else int(one.elapsed.total_seconds()),
    }


def _text(moment: datetime | None) -> str | None:
    return None if moment is None else utc_text(moment)
