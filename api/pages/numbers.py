"""The numbers of a rule as people say them: durations elapsed, codes in words, no uids."""

from collections.abc import Mapping
from datetime import timedelta
from typing import Any
from zoneinfo import ZoneInfo

from api.pages.words import plain
from protocols.clocks import OffsetMissing, Unreadable, elapsed_text, local_text, read_moment

SAID = {
    "stay_s": "stay {}",
    "limit_s": "limit {}",
    "over_s": "{} over",
    "gap_s": "told {} late",
    "unknown_s": "{} without a reading",
    "dry_s": "dry for {}",
    "needed_s": "of {}",
    "affected": "{} affected",
    "balance": "{} by the record",
    "counted": "{} counted",
    "counts": "counted {}",
    "missing": "{} not found",
    "state": "it was {}",
    "way": "by {}",
    "difference": "difference {}",
    "allowed": "allowed {}",
    "earliest_end": "earliest end then {}",
    "earliest_end_before": "before {}",
    "ready_at": "ready {}",
    "left_s": "{} left",
    "wait_s": "in {}",
    "metres": "{} m apart",
    "together_from": "together from {}",
    "together_until": "until {}",
    "lid": "{}",
    "air_stone": "{}",
    "own_lid": "{}",
}
# What is so or not, in words; other flags are for programs alone.
FLAGS = {
    "lid": ("no lid there", "a lid there"),
    "air_stone": ("no air stone there", "an air stone there"),
    "own_lid": ("no lid here", "a lid here"),
}

ORDER = {name: place for place, name in enumerate(SAID)}


def said(numbers: Mapping[str, Any], zone: ZoneInfo) -> str:
    """All numbers in one line; what only programs need is left out."""
    # In an order of ours: one of the engines keeps its own.
    ordered = sorted(numbers, key=lambda name: (ORDER.get(name, len(ORDER)), name))
    parts = (_one(name, numbers[name], zone) for name in ordered)
    return ", ".join(part for part in parts if part)


def _one(name: str, value: Any, zone: ZoneInfo) -> str:
    text = _value(name, value, zone)
    if not text:
        return ""
    if name in SAID:
        return SAID[name].format(text)
    return f"{name.removesuffix('_s').replace('_', ' ')} {text}"


def _value(name: str, value: Any, zone: ZoneInfo) -> str:
    if isinstance(value, bool) and name in FLAGS:
        return FLAGS[name][value]
    if value is None or isinstance(value, bool | Mapping):
        return ""
    if isinstance(value, list | tuple):
        return " and ".join(_value(name, one, zone) for one in value)
    if name.endswith("_s") and isinstance(value, int):
        return elapsed_text(timedelta(seconds=value))
    text = str(value)
    if len(text) == 36 and text.count("-") == 4:
        return ""  # a uid
    try:
        return local_text(read_moment(text)[0], zone)
    except (Unreadable, OffsetMissing):
        return plain(text)
