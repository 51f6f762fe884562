"""Which animals are where: what follows from everything told of a family of batches.

A family are batches that came out of one another by splits, joins and findings. What follows
is a function of the facts alone: they are folded and put in the order of happenings, so it
never matters in which order they were told.
"""

from protocols.animals.follow import KINDS, animals
from protocols.animals.kept import (
    Animals,
    Begun,
    Came,
    Gone,
    Lost,
    Missed,
    Sent,
    Spot,
    Stood,
)

__all__ = [
    "KINDS",
    "Animals",
    "Begun",
    "Came",
    "Gone",
    "Lost",
    "Missed",
    "Sent",
    "Spot",
    "Stood",
    "animals",
]
