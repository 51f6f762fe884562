"""Frozen protocol versions, read from `protocols/definitions/` and checked once."""

import tomllib
from collections.abc import Mapping
from datetime import timedelta
from decimal import Decimal, InvalidOperation
from functools import cache
from hashlib import sha256
from pathlib import Path
from typing import Any

from protocols.ruled import DryingRule, Protocol, Range

DEFINITIONS = Path(__file__).parent / "definitions"
DEFAULT = "transfer-288@1"
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


class UnknownProtocol(LookupError):
    """There is no definition of that name and version."""


class BadDefinition(ValueError):
    """A definition file does not say what it must."""


@cache
def protocol(key: str) -> Protocol:
    """The frozen version named `transfer-288@1`. Raises UnknownProtocol or BadDefinition."""
    if key not in keys():
        raise UnknownProtocol(key)
    return load(DEFINITIONS / f"{key}.toml")


def load(path: Path) -> Protocol:
    """The version in a file that bears its name. Raises BadDefinition."""
    found = read(path.read_bytes())
    if found.key != path.stem:
        raise BadDefinition(f"{path.name} calls itself {found.key}")
    return found


@cache
def keys() -> tuple[str, ...]:
    """All versions there are, by name and version."""
    return tuple(sorted(path.stem for path in DEFINITIONS.glob("*@*.toml")))


def read(data: bytes) -> Protocol:
    """A protocol from the bytes of its file; its digest is over exactly these bytes.

    Raises BadDefinition for a key too many or too few, and for values that cannot be.
    """
    try:
        said = tomllib.loads(data.decode())
    except (UnicodeDecodeError, tomllib.TOMLDecodeError) as error:
        raise BadDefinition(str(error)) from error
    if wrong := KEYS ^ said.keys():
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
    )


def warnings(found: Protocol) -> tuple[str, ...]:
    """What somebody who chooses this protocol should know before a series begins."""
    slack = found.moves_least * found.stay_limit - found.span_least
    said = []
    if slack < SLACK_LEAST:
        hours, moves = slack // timedelta(hours=1), found.moves_least
        said.append(
            f"{moves} stays at their limit leave {hours} h of slack: after any early move a "
            f"series needs {moves + 1} moves. Plan with {moves + 1}."
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
        if type(said[name]) is not int or said[name] <= 0:
            raise BadDefinition(f"{name} must be a whole number above 0")
    for name in DECIMALS:
        _decimal(name, said[name])
    for name in RANGES:
        if not isinstance(said[name], list) or len(said[name]) != 2:
            raise BadDefinition(f"{name} must have a least and a most value")
        least, most = (_decimal(name, one) for one in said[name])
        if least > most:
            raise BadDefinition(f"{name} ends before it begins")
    for name in TEXTS:
        if not isinstance(said[name], list) or not said[name]:
            raise BadDefinition(f"{name} must not be empty")


def _decimal(name: str, value: Any) -> Decimal:
    # Text only: a float would not keep the number as it was written.
    if not isinstance(value, str):
        raise BadDefinition(f"{name} must be text")
    try:
        number = Decimal(value)
    except InvalidOperation as error:
        raise BadDefinition(f"{name} is no number") from error
    if not number.is_finite():
        raise BadDefinition(f"{name} is no number")
    return number
