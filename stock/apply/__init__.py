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
    splitting,
)
from stock.apply.registry import DOES_NOT_FIT, apply, apply_or_park_again, park, subjects

__all__ = [
    "DOES_NOT_FIT",
    "apply",
    "apply_or_park_again",
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
    "splitting",
    "subjects",
]
