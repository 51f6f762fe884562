"""An ammonia alarm in words: what was read, what it is worth, what can be done."""

from collections.abc import Iterator, Mapping
from datetime import timedelta
from typing import Any
from zoneinfo import ZoneInfo

from protocols.ammonia import FREE
from protocols.clocks import elapsed_text, local_text, parse_utc
from protocols.said import said
from protocols.tasks import What, Work


def is_alarm(work: Work) -> bool:
    """Whether it asks for free ammonia because of an alarm."""
    return work.what is What.READING and work.why == FREE and "alarm_mg_l" in work.numbers


def alarm_said(numbers: Mapping[str, Any], zone: ZoneInfo) -> Iterator[str]:
    """What an alarm says, a sentence each without its full stop."""
    yield (
        said(
            "NH3-N {nh3_n_mg_l} mg/L, up to {nh3_n_most_mg_l}, alarm {alarm_mg_l}",
            nh3_n_mg_l=numbers["nh3_n_mg_l"],
            nh3_n_most_mg_l=numbers["nh3_n_most_mg_l"],
            alarm_mg_l=numbers["alarm_mg_l"],
        )
    )
    yield (
        said(
            "{quantity} {value} mg/L as {reported_as}, read {parse_utc}",
            quantity=numbers["quantity"].replace("_", " "),
            value=numbers["value"],
            reported_as=numbers["reported_as"],
            parse_utc=local_text(parse_utc(numbers["read_at"]), zone),
        )
    )
    yield from numbers["marks"]
    for offer in numbers["offers"]:
        yield offer_text(offer, zone)


def offer_text(offer: Mapping[str, Any], zone: ZoneInfo) -> str:
    """One way to help, and what it does to the series."""
    if offer["kind"] == "water_change":
        litres = f" ({offer['litres']} L)" if "litres" in offer else ""
        return said(
            "Change {percent} % of the water{litres} for water that matches: no "
            "effect on the series",
            percent=offer["percent"],
            litres=litres,
        )
    stay = _elapsed(offer["stay_s"])
    if "limit_if_now" not in offer:
        return said("Or move them into a ready container: stay {stay}", stay=stay)
    return said(
        "Or move them early: stay {stay}, the limit is {elapsed} from the move{moves}{end}",
        stay=stay,
        elapsed=_elapsed(offer["stay_limit_s"]),
        moves=_moves(offer),
        end=_end(offer, zone),
    )


def _moves(offer: Mapping[str, Any]) -> str:
    if "moves_if_now" not in offer:
        return ""
    return said(
        ", {moves_if_now} moves to make instead of {moves_at_limit}",
        moves_if_now=offer["moves_if_now"],
        moves_at_limit=offer["moves_at_limit"],
    )


def _end(offer: Mapping[str, Any], zone: ZoneInfo) -> str:
    end = offer["earliest_end"]
    return (
        said(", the earliest end stays {parse_utc}", parse_utc=local_text(parse_utc(end), zone))
        if end
        else ""
    )


def _elapsed(seconds: int) -> str:
    return elapsed_text(timedelta(seconds=seconds))
