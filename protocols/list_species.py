"""Which of the organisation's species a printed name means: exactly one, or a choice."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from difflib import SequenceMatcher

from protocols.list_words import key

LIKE_ENOUGH = 0.75
MOST_CANDIDATES = 5


@dataclass(frozen=True, slots=True)
class KnownSpecies:
    """A species of the organisation. `uid` is only handed back."""

    uid: str
    scientific_name: str
    trade_names: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Candidate:
    """A species that may be meant, by its `name` that is like the text; likeness 0 to 1."""

    species: KnownSpecies
    name: str
    likeness: float


@dataclass(frozen=True, slots=True)
class SpeciesMatch:
    """`exact` where one species only has this name; else candidates for a person to choose."""

    exact: KnownSpecies | None
    candidates: tuple[Candidate, ...] = ()


def match_species(
    text: str, known: Iterable[KnownSpecies], *, scientific_name: str | None = None
) -> SpeciesMatch:
    """The species that a printed text means, never guessed.

    Case, accents, marks and spaces do not matter; «cf.», «sp.» and every other word do. Exact
    is a name that one species alone has; where the trade name and the scientific name on the
    paper mean two species, or a name is shared, or is only alike, a person chooses.
    """
    species = tuple(known)
    texts = [key(one) for one in (text, scientific_name or "") if key(one)]
    named = [_named(one, species) for one in texts]
    exact = {one.uid: one for found in named for one in found}
    if len(exact) == 1:
        return SpeciesMatch(next(iter(exact.values())))
    # A shared trade name is settled by a scientific name that only one of them has.
    agreed = [one for one in exact.values() if all(one in found for found in named)]
    if len(named) > 1 and len(agreed) == 1:
        return SpeciesMatch(agreed[0])
    return SpeciesMatch(None, _candidates(texts, species))


def _named(text: str, species: tuple[KnownSpecies, ...]) -> list[KnownSpecies]:
    return [one for one in species if any(key(name) == text for name in _names(one))]


def _names(species: KnownSpecies) -> Iterator[str]:
    yield species.scientific_name
    yield from species.trade_names


def _candidates(texts: list[str], species: tuple[KnownSpecies, ...]) -> tuple[Candidate, ...]:
    best = [max(_likenesses(one, texts), key=lambda found: found.likeness) for one in species]
    like = [found for found in best if found.likeness >= LIKE_ENOUGH]
    like.sort(key=lambda found: (-found.likeness, found.name))
    return tuple(like[:MOST_CANDIDATES])


def _likenesses(species: KnownSpecies, texts: list[str]) -> Iterator[Candidate]:
    yield Candidate(species, species.scientific_name, 0.0)
    for name in _names(species):
        for text in texts:
            yield Candidate(species, name, _likeness(text, key(name)))


def _likeness(text: str, name: str) -> float:
    """How alike two names are; a shortened genus (A. ocellaris) counts as its full form."""
    short, _, rest = text.partition(" ")
    genus, _, epithet = name.partition(" ")
    if len(short) == 1 and rest and genus.startswith(short) and rest == epithet:
        return 0.99
    return round(SequenceMatcher(None, text, name, autojunk=False).ratio(), 3)
