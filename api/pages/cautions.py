"""Cautions where the work is done, in the words of the protocol."""

from protocols.versions import DEFAULT, protocol

HANDLING = ("Mains", "Venomous", "A full")
MIXING = ("A full", "Mains", "Disinfect")
TREATING = ("Bleach", "Wear", "Disinfect")


def of(*beginnings: str) -> tuple[str, ...]:
    """Those of the protocol that begin with these words, in its order."""
    return _of(beginnings)


def handling() -> tuple[str, ...]:
    """For whoever puts hands into water with animals."""
    return _of(HANDLING)


def mixing() -> tuple[str, ...]:
    """For whoever mixes water, carries it and lets it go."""
    return _of(MIXING)


def treating() -> tuple[str, ...]:
    """For whoever cleans and disinfects."""
    return _of(TREATING)


def _of(beginnings: tuple[str, ...]) -> tuple[str, ...]:
    return tuple(one for one in protocol(DEFAULT).cautions if one.startswith(beginnings))
