"""Facts into rows. The only writer of projections."""

from stock.apply import (
    batches,
    certificates,
    intake,
    kits,
    leaving,
    losses,
    places,
    questions,
    readings,
    settling,
    splitting,
)
from stock.apply.again import apply_or_park_again, apply_then_parked
from stock.apply.registry import DOES_NOT_FIT, apply, park, subjects

__all__ = [
    "DOES_NOT_FIT",
    "apply",
    "apply_or_park_again",
    "apply_then_parked",
    "batches",
    "certificates",
    "intake",
    "kits",
    "leaving",
    "losses",
    "park",
    "places",
    "questions",
    "readings",
    "settling",
    "splitting",
    "subjects",
]
