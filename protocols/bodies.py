"""What a fact may say: values in their plain form, checked against a shape.

A shape is written as the JSON it describes. A string names a sort of value (`SORTS`), a tuple
lists the only values there are, a list holds any number of its one member, a mapping is
an object whose names end in `?` where the member may be absent.
"""

import re
import unicodedata
from collections.abc import Callable, Iterator, Mapping
from datetime import date, datetime
from typing import Any, TypeAlias
from uuid import UUID

from protocols.clocks import Unreadable, parse_utc, utc_text
from protocols.values import Reason

Shape: TypeAlias = "str | tuple[str | int, ...] | list[Shape] | Mapping[str, Shape]"

# Above it JSON readers that keep numbers as doubles no longer agree on the integer.
WHOLE_MAX = 2**53 - 1
DEPTH_MAX = 32


class BodyRefused(ValueError):
    """What was to be entered has not the form of its kind. Every reason says where."""

    def __init__(self, *reasons: Reason) -> None:
        super().__init__("; ".join(f"{one.pointer}: {one.text}" for one in reasons))
        self.reasons = reasons


def plain(value: Any, at: str = "") -> Any:
    """The one form in which a value is kept: JSON without floats, text in NFC.

    Uids and moments become text, tuples lists; members that are None are left out. Raises
    BodyRefused for floats and decimals (a reading travels as it was typed, in a string), for
    integers beyond 2^53, for NUL characters and lone surrogates, for other types, and for
    what is nested deeper than 32 levels.
    """
    if at.count("/") > DEPTH_MAX:
        raise _refused("unreadable", at, "is nested too deep")
    match value:
        case bool():
            return value
        case int():
            return _whole(value, at)
        case str():
            return _text(value, at)
        case UUID():
            return str(value)
        case datetime():
            return _moment(value, at)
        case Mapping():
            return _members(value, at)
        case list() | tuple():
            return [plain(one, f"{at}/{place}") for place, one in enumerate(value)]
    raise _refused("unreadable", at, f"{type(value).__name__} has no place in a record")


def check(shape: Shape, value: Any, at: str = "") -> None:
    """Raise BodyRefused with every place at which a plain value has not this shape."""
    if reasons := tuple(faults(shape, value, at)):
        raise BodyRefused(*reasons)


def faults(shape: Shape, value: Any, at: str = "") -> Iterator[Reason]:
    """Every place (RFC 6901 pointer) at which a plain value has not this shape."""
    match shape:
        case str():
            if code := SORTS[shape](value):
                yield _reason(code, at, f"is not {NAMES.get(shape, f'a {shape}')}")
        case tuple():
            if not any(type(value) is type(one) and value == one for one in shape):
                yield _reason("unreadable", at, f"is none of {', '.join(map(str, shape))}")
        case Mapping():
            yield from _faults_of_object(shape, value, at)
        case _:
            yield from _faults_of_list(shape[0], value, at)


def _faults_of_list(member: Shape, value: Any, at: str) -> Iterator[Reason]:
    if not isinstance(value, list):
        yield _reason("unreadable", at, "is not a list")
        return
    for place, one in enumerate(value):
        yield from faults(member, one, f"{at}/{place}")


def _faults_of_object(shape: Mapping[str, Shape], value: Any, at: str) -> Iterator[Reason]:
    if not isinstance(value, Mapping):
        yield _reason("unreadable", at, "is not an object")
        return
    known = {name.removesuffix("?"): inner for name, inner in shape.items()}
    for name in value:
        if name not in known:
            yield _reason("unknown_field", f"{at}/{_escaped(name)}", "is not known here")
    for name, inner in known.items():
        if name in value:
            yield from faults(inner, value[name], f"{at}/{name}")
        elif name in shape:
            yield _reason("unreadable", f"{at}/{name}", "is missing")


def _whole(value: int, at: str) -> int:
    if abs(value) > WHOLE_MAX:
        raise _refused("unreadable", at, "is too large for an exact number")
    return int(value)


def _text(value: str, at: str) -> str:
    # PostgreSQL keeps no NUL, and UTF-8 no lone surrogate.
    if "\x00" in value or any("\ud800" <= one <= "\udfff" for one in value):
        raise _refused("unreadable", at, "has characters that cannot be kept")
    return unicodedata.normalize("NFC", str(value))


def _moment(value: datetime, at: str) -> str:
    try:
        return utc_text(value)
    except ValueError as error:
        raise _refused("unreadable", at, str(error)) from error


def _members(value: Mapping[Any, Any], at: str) -> dict[str, Any]:
    kept = {
        _text(str(name), at): plain(one, f"{at}/{_escaped(str(name))}")
        for name, one in value.items()
        if one is not None
    }
    if len(kept) != sum(one is not None for one in value.values()):
        raise _refused("unreadable", at, "has a name twice")
    return kept


def _uid(value: Any) -> str | None:
    try:
        sound = isinstance(value, str) and str(UUID(value)) == value
    except ValueError:
        sound = False
    return None if sound else "unreadable"


def _time(value: Any) -> str | None:
    try:
        parse_utc(value)
    except (TypeError, Unreadable):
        return "unreadable"
    return None


def _date(value: Any) -> str | None:
    try:
        sound = isinstance(value, str) and date.fromisoformat(value).isoformat() == value
    except ValueError:
        sound = False
    return None if sound else "unreadable"


def _integer(least: int) -> Callable[[Any], str | None]:
    def judge(value: Any) -> str | None:
        if type(value) is not int:
            return "not_whole"
        return None if value >= least else "not_positive"

    return judge


def _like(pattern: str) -> Callable[[Any], str | None]:
    form = re.compile(pattern)
    return lambda one: None if isinstance(one, str) and form.fullmatch(one) else "unreadable"


def _of(*types: type) -> Callable[[Any], str | None]:
    return lambda one: None if type(one) in types else "unreadable"


SORTS: Mapping[str, Callable[[Any], str | None]] = {
    "uid": _uid,
    "time": _time,
    "date": _date,
    "wall": _like(r"([01][0-9]|2[0-3]):[0-5][0-9]|24:00"),
    "count": _integer(0),
    "positive": _integer(1),
    "whole": _integer(-WHOLE_MAX),
    "decimal": _like(r"-?([0-9]{1,9}(\.[0-9]{0,9})?|\.[0-9]{1,9})"),
    "sha256": _like(r"[0-9a-f]{64}"),
    "word": _like(r"[a-z][a-z0-9_]*"),
    "label": _like(r"\S(.*\S)?"),
    "text": _of(str),
    "flag": _of(bool),
    "object": _of(dict),
    "list": _of(list),
    "any": _of(str, int, bool, dict, list),
}
NAMES = {
    "uid": "a uid in small letters",
    "time": "a moment such as 2027-01-05T08:00:00Z",
    "date": "a date such as 2027-01-05",
    "wall": "a time of day such as 08:30",
    "count": "a count, 0 or more",
    "positive": "a count of at least 1",
    "whole": "a whole number",
    "decimal": "a number as typed, in a string",
    "sha256": "a SHA-256 in hex",
    "word": "a word in small letters",
    "label": "a text in one line with something in it",
    "flag": "true or false",
    "object": "an object",
    "any": "a value",
}


def _escaped(name: str) -> str:
    return name.replace("~", "~0").replace("/", "~1")


def _reason(code: str, at: str, text: str) -> Reason:
    return Reason(code=code, rule="form", text=text, pointer=at)


def _refused(code: str, at: str, text: str) -> BodyRefused:
    return BodyRefused(_reason(code, at, text))
