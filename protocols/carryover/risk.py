"""risk(): one record, every hour."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np

from protocols.carryover.chances import chances
from protocols.carryover.distributions import Floats
from protocols.carryover.inputs import Inputs
from protocols.carryover.parameters import CENTRAL, Parameters, parameters
from protocols.carryover.reading_inputs import check, read_inputs


@dataclass(frozen=True, slots=True)
class Risk:
    """Chance, at hours 0 to T, that at least one living stage is left."""

    in_reach: Floats  # on living animals, or in the container they are in
    on_fish: Floats  # trophonts on living animals: what a move into a ready container leaves


def risk(inputs: Inputs | Mapping[str, Any], parameter_set: str | Parameters = CENTRAL) -> Risk:
    """The carry-over of one record by hour, under one set (low, central, high).

    Temperatures are clamped to 18 to 32 C. Chances are of the model, not of a measurement.
    Raises ValueError with name, value and allowed range of what cannot be.
    """
    record = as_inputs(inputs)
    every_hour = np.arange(record.end + 1)[None]
    in_reach, on_fish = chances(parameters(parameter_set), [record], every_hour)
    return Risk(in_reach[0], on_fish[0])


def as_inputs(inputs: Inputs | Mapping[str, Any]) -> Inputs:
    """A checked record, from JSON or as it is."""
    if isinstance(inputs, Inputs):
        check(inputs)
        return inputs
    return read_inputs(inputs)
