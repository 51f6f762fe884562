"""Facts into rows. The only writer of projections."""

from stock.apply import batches, intake, kits, losses, places, questions, readings
from stock.apply.registry import DOES_NOT_FIT, apply, apply_or_park_again, park

__all__ = [
    "DOES_NOT_FIT",
    "apply",
    "apply_or_park_again",
    "batches",
    "intake",
    "kits",
    "losses",
    "park",
    "places",
    "questions",
    "readings",
]
