"""The lines of a packing list beside the organisation's species, and beside an older list."""

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from protocols.list_changes import COMPARED, Difference, differences
from protocols.list_species import KnownSpecies, SpeciesMatch, match_species
from protocols.list_values import ListedLine
from protocols.list_words import key

# A list with more strange names than this is matched by hand, without proposals.
MOST_PROPOSED = 100

Names = tuple[str, str | None]


def names_of(line: ListedLine) -> Names:
    """What a line calls its species: the text as printed and the scientific name."""
    return (line.text, line.scientific_name)


def match_lines(
    lines: Sequence[ListedLine],
    known: Sequence[KnownSpecies],
    *,
    chosen: Mapping[str, KnownSpecies] | None = None,
    propose: bool = True,
) -> dict[Names, SpeciesMatch]:
    """What each printed name means, by `match_species`; each name is looked at once.

    A species that a person has `chosen` for a printed text is exact. With `propose` the first
    hundred names without an exact one have candidates.
    """
    bearers: dict[str, list[KnownSpecies]] = defaultdict(list)
    for species in known:
        for name in dict.fromkeys((species.scientific_name, *species.trade_names)):
            bearers[key(name)].append(species)
    found: dict[Names, SpeciesMatch] = {}
    proposed = 0
    for names in dict.fromkeys(names_of(line) for line in lines):
        found[names] = _match(names, bearers, chosen or {})
        if propose and found[names].exact is None and proposed < MOST_PROPOSED:
            proposed += 1
            found[names] = match_species(names[0], known, scientific_name=names[1])
    return found


@dataclass(frozen=True, slots=True)
class Compared:
    """A list beside the one before: what differs, and which older row each row continues."""

    differences: tuple[Difference, ...]
    continues: Mapping[int, int]


def compare(old: Sequence[ListedLine], new: Sequence[ListedLine]) -> Compared:
    """Rows that are the same line in both lists, by row number; added rows continue none."""
    found = differences(old, new)
    continues = {one.new.row: one.old.row for one in found if one.new and one.old}
    differing = {one.old.row for one in found if one.old}
    waiting: dict[tuple[object, ...], list[int]] = defaultdict(list)
    for line in old:
        if line.row not in differing:
            waiting[_printed(line)].append(line.row)
    fresh = {one.new.row for one in found if one.new}
    for line in new:
        if line.row not in fresh:
            continues[line.row] = waiting[_printed(line)].pop(0)
    return Compared(found, continues)


def _printed(line: ListedLine) -> tuple[object, ...]:
    return tuple(getattr(line, name) for name in COMPARED)


def _match(
    names: Names,
    bearers: Mapping[str, Sequence[KnownSpecies]],
    chosen: Mapping[str, KnownSpecies],
) -> SpeciesMatch:
    text, scientific_name = names
    if text in chosen:
        return SpeciesMatch(chosen[text])
    texts = [key(one) for one in (text, scientific_name or "")]
    named = {one.uid: one for each in texts if each for one in bearers.get(each, ())}
    exact = match_species(text, named.values(), scientific_name=scientific_name).exact
    return SpeciesMatch(exact)
