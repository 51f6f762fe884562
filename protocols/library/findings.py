"""How the linter answers, and which cautions have to stand in a definition."""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from datetime import timedelta
from enum import StrEnum
from typing import Any

from protocols.said import said as sentence

HOUR = timedelta(hours=1)
DAY = timedelta(days=1)


class Level(StrEnum):
    ERROR = "error"
    WARNING = "warning"


@dataclass(frozen=True, slots=True)
class Finding:
    """One thing that is wrong with a definition; `rule` never changes its meaning."""

    rule: str
    level: Level
    text: str
    source: str
    numbers: Mapping[str, Any] = field(default_factory=dict)


def error(rule: str, text: str, source: str, **numbers: Any) -> Finding:
    return Finding(rule, Level.ERROR, text, source, numbers)


def warning(rule: str, text: str, source: str, **numbers: Any) -> Finding:
    return Finding(rule, Level.WARNING, text, source, numbers)


# Words that one caution of a definition must hold together, by what it is about.
Cautions = Mapping[str, tuple[str, ...]]
ALWAYS: Cautions = {
    "medicines": ("veterinarian", "local rules"),
    "waste": ("waste",),
    "mains": ("mains", "unplug"),
    "skin": ("gloves", "skin"),
}
CLEANING: Cautions = {
    "bleach_and_acid": ("bleach", "acid", "chlorine gas"),
    "bleach_and_ammonia": ("bleach", "ammonia"),
    "bleach_and_formalin": ("bleach", "formalin"),
}
SPINES: Cautions = {"spines": ("spines",)}
CAUTION_SOURCE = "Where work can hurt somebody, the caution stands beside it"


def missing_cautions(said: Iterable[str], needed: Cautions) -> Iterator[Finding]:
    """Each caution that no text of a definition holds. Small and capital letters are one."""
    texts = [one.lower() for one in said]
    for about, words in needed.items():
        if not any(all(word in text for word in words) for text in texts):
            text = sentence("No caution speaks of {about}.", about=about.replace("_", " "))
            yield error("caution_missing", text, CAUTION_SOURCE, about=about)
