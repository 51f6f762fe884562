"""Facts into rows. The only writer of projections."""

from stock.apply import (
    animals,
    certificates,
    erasing,
    handovers,
    intake,
    kits,
    mixing,
    places,
    protocols,
    questions,
    readings,
    rooms,
    settling,
    traces,
    visits,
)
from stock.apply.again import apply_or_park_again, apply_then_parked
from stock.apply.registry import DOES_NOT_FIT, apply, park, subjects

__all__ = [
    "DOES_NOT_FIT",
    "animals",
    "apply",
    "apply_or_park_again",
    "apply_then_parked",
    "certificates",
    "erasing",
    "handovers",
    "intake",
    "kits",
    "mixing",
    "park",
    "places",
    "protocols",
    "questions",
    "readings",
    "rooms",
    "settling",
    "subjects",
    "traces",
    "visits",
]
