"""The numbers of a rule as people say them: durations elapsed, codes in words, no uids."""

from collections.abc import Mapping
from datetime import timedelta
from typing import Any
from zoneinfo import ZoneInfo

from api.language import later, local_text
from api.pages.words import plain
from protocols.clocks import OffsetMissing, Unreadable, elapsed_text, read_moment

SAID = {
    "stay_s": later("stay {}"),
    "limit_s": later("limit {}"),
    "over_s": later("{} over"),
    "gap_s": later("told {} late"),
    "unknown_s": later("{} without a reading"),
    "dry_s": later("dry for {}"),
    "needed_s": later("of {}"),
    "affected": later("{} affected"),
    "balance": later("{} by the record"),
    "counted": later("{} counted"),
    "counts": later("counted {}"),
    "missing": later("{} not found"),
    "state": later("it was {}"),
    "way": later("by {}"),
    "difference": later("difference {}"),
    "allowed": later("allowed {}"),
    "earliest_end": later("earliest end then {}"),
    "earliest_end_before": later("before {}"),
    "ready_at": later("ready {}"),
    "left_s": later("{} left"),
    "wait_s": later("in {}"),
    "metres": later("{} m apart"),
    "together_from": later("together from {}"),
    "together_until": later("until {}"),
    "lid": "{}",
    "air_stone": "{}",
    "own_lid": "{}",
    "delivered": "{}",
}
# What is so or not, in words; other flags are for programs alone.
FLAGS = {
    "lid": (later("no lid there"), later("a lid there")),
    "air_stone": (later("no air stone there"), later("an air stone there")),
    "own_lid": (later("no lid here"), later("a lid here")),
    "delivered": ("", later("brought by another than who did it")),
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
    return f"{plain(name.removesuffix('_s'))} {text}"


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
