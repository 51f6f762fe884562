"""What a new version of a packing list says differently from the one before."""

from collections import Counter
from collections.abc import Callable, Sequence
from dataclasses import dataclass

from protocols.list_values import ListedLine
from protocols.list_words import key

COMPARED = (
    *("box", "bag", "code", "text", "scientific_name", "size", "listed", "price", "origin"),
    "wild",
)


@dataclass(frozen=True, slots=True)
class Difference:
    """A line `added`, `changed` (in `fields`) or `gone`. `key` names it when it is accepted."""

    key: str
    kind: str
    old: ListedLine | None = None
    new: ListedLine | None = None
    fields: tuple[str, ...] = ()


def differences(old: Sequence[ListedLine], new: Sequence[ListedLine]) -> tuple[Difference, ...]:
    """Lines added, changed and gone; row numbers do not matter, nor does the order of lines.

    Lines are paired where everything that names them is equal, then by box, bag and species,
    then, where nothing else could be meant, by what is in them. Numbers counted on site are no
    part of a list: they stay as they are whatever a new version says.
    """
    left, right = list(old), list(new)
    pairs = []
    for same in (_all, _named, _placed):
        pairs += _paired(left, right, same, only_one=False)
    pairs += _paired(left, right, _contents, only_one=True)
    found = [Difference("", "changed", a, b, _fields(a, b)) for a, b in pairs if _fields(a, b)]
    found += [Difference("", "gone", old=line) for line in left]
    found += [Difference("", "added", new=line) for line in right]
    return _with_keys(found)


Naming = Callable[[ListedLine], tuple[object, ...]]


def _all(line: ListedLine) -> tuple[object, ...]:
    return tuple(getattr(line, name) for name in COMPARED)


def _named(line: ListedLine) -> tuple[object, ...]:
    return (line.box, line.bag, line.code, key(line.text), line.scientific_name, line.size)


def _placed(line: ListedLine) -> tuple[object, ...]:
    return (line.box, line.bag, key(line.text))


def _contents(line: ListedLine) -> tuple[object, ...]:
    return (line.code, key(line.text), line.scientific_name, line.size)


def _paired(
    left: list[ListedLine], right: list[ListedLine], same: Naming, *, only_one: bool
) -> list[tuple[ListedLine, ListedLine]]:
    """Pairs that are equal by `same`, taken out of both lists."""
    waiting: dict[tuple[object, ...], list[ListedLine]] = {}
    for line in right:
        waiting.setdefault(same(line), []).append(line)
    counts = Counter(same(line) for line in left)
    pairs = []
    unpaired = []
    for line in left:
        others = waiting.get(same(line), [])
        if others and not (only_one and (len(others) > 1 or counts[same(line)] > 1)):
            pairs.append((line, others.pop(0)))
        else:
            unpaired.append(line)
    left[:] = unpaired
    right[:] = [line for others in waiting.values() for line in others]
    return pairs


def _fields(old: ListedLine, new: ListedLine) -> tuple[str, ...]:
    return tuple(name for name in COMPARED if getattr(old, name) != getattr(new, name))


def _with_keys(found: Sequence[Difference]) -> tuple[Difference, ...]:
    """Keys that stay the same when the same two lists are compared again."""
    seen: Counter[str] = Counter()
    keyed = []
    for one in found:
        line = one.old or one.new
        marks = [line.box, line.bag, line.text] if line else []
        name = " ".join([one.kind, *(mark for mark in marks if mark)])
        seen[name] += 1
        unique = name if seen[name] == 1 else f"{name} ({seen[name]})"
        keyed.append(Difference(unique, one.kind, one.old, one.new, one.fields))
    return tuple(keyed)
