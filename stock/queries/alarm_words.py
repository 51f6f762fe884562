"""An ammonia alarm in words: what was read, what it is worth, what can be done."""

from collections.abc import Iterator, Mapping
from datetime import timedelta
from typing import Any
from zoneinfo import ZoneInfo

from protocols.ammonia import FREE
from protocols.clocks import elapsed_text, local_text, parse_utc
from protocols.tasks import What, Work


def is_alarm(work: Work) -> bool:
    """Whether it asks for free ammonia because of an alarm."""
    return work.what is What.READING and work.why == FREE and "alarm_mg_l" in work.numbers


def alarm_said(numbers: Mapping[str, Any], zone: ZoneInfo) -> Iterator[str]:
    """What an alarm says, a sentence each without its full stop."""
    yield (
        f"NH3-N {numbers['nh3_n_mg_l']} mg/L, up to {numbers['nh3_n_most_mg_l']}, "
        f"alarm {numbers['alarm_mg_l']}"
    )
    yield (
        f"{numbers['quantity'].replace('_', ' ')} {numbers['value']} mg/L as "
        f"{numbers['reported_as']}, read {local_text(parse_utc(numbers['read_at']), zone)}"
    )
    yield from numbers["marks"]
    for offer in numbers["offers"]:
        yield offer_text(offer, zone)


def offer_text(offer: Mapping[str, Any], zone: ZoneInfo) -> str:
    """One way to help, and what it does to the series."""
    if offer["kind"] == "water_change":
        litres = f" ({offer['litres']} L)" if "litres" in offer else ""
        return (
            f"Change {offer['percent']} % of the water{litres} for water that matches: "
            "no effect on the series"
        )
    stay = _elapsed(offer["stay_s"])
    if "limit_if_now" not in offer:
        return f"Or move them into a ready container: stay {stay}"
    return (
        f"Or move them early: stay {stay}, the limit is {_elapsed(offer['stay_limit_s'])} from "
        f"the move{_moves(offer)}{_end(offer, zone)}"
    )


def _moves(offer: Mapping[str, Any]) -> str:
    if "moves_if_now" not in offer:
        return ""
    return f", {offer['moves_if_now']} moves to make instead of {offer['moves_at_limit']}"


def _end(offer: Mapping[str, Any], zone: ZoneInfo) -> str:
    end = offer["earliest_end"]
    return f", the earliest end stays {local_text(parse_utc(end), zone)}" if end else ""


def _elapsed(seconds: int) -> str:
    return elapsed_text(timedelta(seconds=seconds))
