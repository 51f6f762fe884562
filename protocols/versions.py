"""Frozen versions of moves, read from `protocols/definitions/` and checked once.

What is given, waited for or left without fish stands in the same folder; `protocols/library/`
reads it. Versions from `MADE_FROM` on are an organisation's own: their text is in its record
book, and `Versions` holds those that somebody brought from there.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import timedelta
from decimal import Decimal
from functools import cache, lru_cache
from hashlib import sha256
from pathlib import Path
from typing import Any

from protocols.library.tables import SECONDS_MOST, Table, decimal_of, parse
from protocols.library.tables import BadDefinition as BadDefinition
from protocols.library.values import Definition, Stage
from protocols.library.written import read_definition
from protocols.ruled import DryingRule, Protocol, Range
from protocols.said import said as sentence

DEFINITIONS = Path(__file__).parent / "definitions"
DEFAULT = "transfer-288@1"
# Numbers below are kept for the versions that come with the service.
MADE_FROM = 101
# Less slack than this between the longest possible series and the least span: any early
# move costs another one.
SLACK_LEAST = timedelta(hours=4)

SECONDS = (
    "stay_limit_s",
    "span_least_s",
    "warm_after_s",
    "warm_limit_s",
    "drying_s",
    "contact_least_s",
    "observation_s",
)
DECIMALS = ("warm_c", "cold_c", "chlorine_mg_l_least")
RANGES = ("salinity_range", "temperature_range_c")
TEXTS = ("addresses", "does_not_cover", "cautions", "sources")
KEYS = frozenset({"name", "version", "moves_least", *SECONDS, *DECIMALS, *RANGES, *TEXTS})
# The first versions had no place for these.
LATER = frozenset({"stage", "title", "slack_s"})
Version = Protocol | Definition


class UnknownProtocol(LookupError):
    """There is no definition of that name and version."""


@dataclass(frozen=True, slots=True)
class Versions:
    """Versions of moves by their key: those of the service, and `made` ones."""

    made: Mapping[str, Protocol] = field(default_factory=dict)

    def of(self, key: str) -> Protocol:
        """Raises UnknownProtocol."""
        return self.made[key] if key in self.made else protocol(key)


OURS = Versions()


@cache
def protocol(key: str) -> Protocol:
    """The frozen version named `transfer-288@1`. Raises UnknownProtocol or BadDefinition."""
    if key not in keys():
        raise UnknownProtocol(key)
    return load(DEFINITIONS / f"{key}.toml")


@cache
def definition(key: str) -> Version:
    """The frozen version of any stage. Raises UnknownProtocol or BadDefinition."""
    if key not in everything():
        raise UnknownProtocol(key)
    return read_any(text_of(key).encode())


def text_of(key: str) -> str:
    """The text of a version that comes with the service. Raises UnknownProtocol."""
    if key not in everything():
        raise UnknownProtocol(key)
    return (DEFINITIONS / f"{key}.toml").read_text(encoding="utf-8")


def is_made(key: str) -> bool:
    """Whether a key is of the numbers that organisations give to their own versions."""
    number = key.rpartition("@")[2]
    return number.isdecimal() and int(number) >= MADE_FROM


def load(path: Path) -> Protocol:
    """The version in a file that bears its name. Raises BadDefinition."""
    found = read(path.read_bytes())
    if found.key != path.stem:
        raise BadDefinition(f"{path.name} calls itself {found.key}")
    return found


@cache
def keys() -> tuple[str, ...]:
    """All versions that a batch can be placed under, by name and version."""
    return tuple(key for key in everything() if isinstance(definition(key), Protocol))


@cache
def everything() -> tuple[str, ...]:
    """All versions of all stages, by name and version."""
    return tuple(sorted(path.stem for path in DEFINITIONS.glob("*@*.toml")))


@lru_cache(maxsize=256)
def read_any(data: bytes) -> Version:
    """What the bytes of a definition say, whatever its stage. Raises BadDefinition."""
    stage = parse(data).get("stage", Stage.MOVES.value)
    return read(data) if stage == Stage.MOVES else read_definition(data)


def read(data: bytes) -> Protocol:
    """A protocol from the bytes of its file; its digest is over exactly these bytes.

    Raises BadDefinition for a key too many or too few, and for values that cannot be.
    """
    said = parse(data)
    if wrong := (KEYS ^ said.keys()) - LATER:
        raise BadDefinition(f"too many or missing: {', '.join(sorted(wrong))}")
    _check(said)
    return _protocol(said, sha256(data).hexdigest())


def _protocol(said: Mapping[str, Any], digest: str) -> Protocol:
    return Protocol(
        name=said["name"],
        version=said["version"],
        sha256=digest,
        stay_limit=_seconds(said, "stay_limit_s"),
        moves_least=said["moves_least"],
        span_least=_seconds(said, "span_least_s"),
        warm_c=Decimal(said["warm_c"]),
        warm_after=_seconds(said, "warm_after_s"),
        warm_limit=_seconds(said, "warm_limit_s"),
        cold_c=Decimal(said["cold_c"]),
        drying=_drying(said),
        observation=_seconds(said, "observation_s"),
        salinity=Range(*map(Decimal, said["salinity_range"])),
        temperature_c=Range(*map(Decimal, said["temperature_range_c"])),
        addresses=tuple(said["addresses"]),
        does_not_cover=tuple(said["does_not_cover"]),
        cautions=tuple(said["cautions"]),
        sources=tuple(said["sources"]),
        title=said.get("title", ""),
        slack_said=_seconds(said, "slack_s") if "slack_s" in said else None,
    )


def warnings(found: Protocol) -> tuple[str, ...]:
    """What somebody who chooses this protocol should know before a series begins."""
    slack = found.slack
    said = []
    if slack < SLACK_LEAST:
        hours, moves = slack // timedelta(hours=1), found.moves_least
        said.append(
            sentence(
                "{moves} stays at their limit leave {hours} h of slack: after any "
                "early move a series needs {moves_2} moves. Plan with {moves_2}.",
                moves=moves,
                hours=hours,
                moves_2=moves + 1,
            )
        )
    return tuple(said)


def _drying(said: Mapping[str, Any]) -> DryingRule:
    return DryingRule(
        drying=_seconds(said, "drying_s"),
        chlorine_mg_l_least=Decimal(said["chlorine_mg_l_least"]),
        contact_least=_seconds(said, "contact_least_s"),
    )


def _seconds(said: Mapping[str, Any], name: str) -> timedelta:
    return timedelta(seconds=said[name])


def _check(said: Mapping[str, Any]) -> None:
    for name in (*SECONDS, "version", "moves_least"):
        if type(said[name]) is not int or not 0 < said[name] <= SECONDS_MOST:
            raise BadDefinition("must be a whole number above 0", name)
    slack = said.get("slack_s", 0)
    if type(slack) is not int or abs(slack) > SECONDS_MOST:
        raise BadDefinition("must be a whole number", "slack_s")
    for name in DECIMALS:
        decimal_of(name, said[name])
    for name in RANGES:
        if not isinstance(said[name], list) or len(said[name]) != 2:
            raise BadDefinition("must have a least and a most value", name)
        least, most = (decimal_of(name, one) for one in said[name])
        if least > most:
            raise BadDefinition("ends before it begins", name)
    for name in TEXTS:
        if not isinstance(said[name], list) or not said[name]:
            raise BadDefinition("must not be empty", name)
        if not all(isinstance(one, str) and one.strip() for one in said[name]):
            raise BadDefinition("must be a list of texts", name)
    Table(said).name("name")
    for name in LATER & {"stage", "title"} & said.keys():
        if not isinstance(said[name], str) or not 0 < len(said[name].strip()) <= 80:
            raise BadDefinition("must be a text with something in it", name)
