"""Definitions as members: taken apart for a form, compared, and written again as text."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from protocols.library.tables import BadDefinition, parse

HEAD = (
    "# A version of our own, frozen once it was made. Durations in seconds, numbers with a\n"
    "# fraction as text.\n"
)
CONTROLS = {one: f"\\u{one:04x}" for one in (*range(32), 127)}
ESCAPES = {**CONTROLS, ord("\\"): "\\\\", ord('"'): '\\"'}


@dataclass(frozen=True, slots=True)
class Changed:
    """One member that differs; None where it is not there."""

    member: str
    before: Any
    after: Any


def members_of(text: str) -> Mapping[str, Any]:
    """What a definition holds. Raises BadDefinition."""
    return parse(text.encode())


def leaves(said: Mapping[str, Any], at: str = "") -> Iterator[tuple[str, Any]]:
    """Every value by its place, such as `dose.0.least`; lists of texts and numbers are one."""
    for name, value in said.items():
        place = f"{at}{name}"
        if isinstance(value, Mapping):
            yield from leaves(value, f"{place}.")
        elif isinstance(value, list) and value and isinstance(value[0], Mapping):
            for number, one in enumerate(value):
                yield from leaves(one, f"{place}.{number}.")
        else:
            yield place, value


def with_leaves(said: Mapping[str, Any], values: Mapping[str, Any], at: str = "") -> Any:
    """The same members with other values at some places; one that is None is left out."""
    found: dict[str, Any] = {}
    for name, value in said.items():
        place = f"{at}{name}"
        if isinstance(value, Mapping):
            found[name] = with_leaves(value, values, f"{place}.")
        elif isinstance(value, list) and value and isinstance(value[0], Mapping):
            found[name] = [
                with_leaves(one, values, f"{place}.{number}.")
                for number, one in enumerate(value)
            ]
        elif values.get(place, value) is not None:
            found[name] = values.get(place, value)
    return found


def difference(before: str, after: str) -> tuple[Changed, ...]:
    """What another text says otherwise, in the order of the old one, then what is new."""
    old, new = dict(leaves(members_of(before))), dict(leaves(members_of(after)))
    return tuple(
        Changed(place, old.get(place), new.get(place))
        for place in dict.fromkeys((*old, *new))
        if old.get(place) != new.get(place)
    )


def written(said: Mapping[str, Any]) -> str:
    """The text of a definition with these members; reading it gives them back."""
    plain = {name: one for name, one in said.items() if not _is_table(one)}
    text = HEAD + _lines(plain)
    for name, value in said.items():
        if isinstance(value, Mapping):
            text += f"\n[{name}]\n{_lines(value)}"
        elif _is_table(value):
            text += "".join(f"\n[[{name}]]\n{_lines(one)}" for one in value)
    return text


def _is_table(value: Any) -> bool:
    listed = isinstance(value, list) and bool(value) and isinstance(value[0], Mapping)
    return listed or isinstance(value, Mapping)


def _lines(said: Mapping[str, Any]) -> str:
    return "".join(f"{name} = {_value(name, one)}\n" for name, one in said.items())


def _value(name: str, value: Any) -> str:
    match value:
        case bool():
            return "true" if value else "false"
        case int():
            return str(value)
        case str():
            return f'"{value.translate(ESCAPES)}"'
        case list() if len(value) < 3:
            return f"[{', '.join(_value(name, one) for one in value)}]"
        case list():
            return "[\n" + "".join(f"    {_value(name, one)},\n" for one in value) + "]"
    raise BadDefinition("cannot be written", name)
