"""What is said of every kind of fact: its record book, its rank, its body."""

from collections.abc import Mapping
from dataclasses import dataclass
from enum import IntEnum, StrEnum

from protocols.bodies import Shape


class Book(StrEnum):
    """Which record book facts of a kind go to."""

    ORGANISATION = "organisation"
    SITE = "site"


class Rank(IntEnum):
    """What comes first among happenings of the same second: low before high."""

    SET = 0
    DELIVERED = 5
    CHECKED = 10
    CARE = 20
    CLEANED = 30
    DRY = 40
    COUNTED = 50
    SPLIT = 60
    PLACED = 70
    JOINED = 75
    LEFT = 80
    DECIDED = 90
    SEALED = 95
    CERTIFIED = 100


@dataclass(frozen=True, slots=True)
class Kind:
    """The body is a shape of `protocols/bodies.py`: `name?` may be absent."""

    rank: Rank
    body: Mapping[str, Shape]
    book: Book = Book.SITE


def of_organisation(body: Mapping[str, Shape]) -> Kind:
    return Kind(Rank.SET, body, Book.ORGANISATION)


SUBJECTS: Mapping[str, Shape] = {"subjects": ["uid"]}
OF: Mapping[str, Shape] = {"of": "uid"}
