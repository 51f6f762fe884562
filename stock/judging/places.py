"""What was known of place, kit and water at each placement, for the judge."""

from datetime import timedelta
from uuid import UUID

from protocols.filled import fillings, make_reasons
from protocols.lineage import placements
from protocols.matching import MatchRule, match
from protocols.values import (
    History,
    Placement,
    Places,
    Placing,
    Protocol,
    Reason,
)
from stock.judging.gather import Gathered
from stock.judging.water import water_at

SECOND = timedelta(seconds=1)


def placings(past: History, gathered: Gathered, version: Protocol) -> Places:
    """Container, kit and water of every placement; every piece fitted, every dose meanwhile."""
    named = {
        one.uid: frozenset(UUID(uid) for uid in one.body.get("readings", ()))
        for one in past.happenings
    }
    found = {
        one.stay: _placing(one, gathered, version, named.get(one.by, frozenset()))
        for one in placements(past)
    }
    return found | _fitted(past, gathered, version) | gathered.dosed.placings(past)


def _placing(
    placed: Placement, gathered: Gathered, version: Protocol, named: frozenset[UUID]
) -> Placing:
    equipment, drying, at = gathered.equipment, version.drying, placed.when.earliest
    kit = None
    if placed.kit is not None:
        kit = equipment.kit(placed.kit, drying, at, but=placed.stay)
    return Placing(
        container=equipment.container(placed.container, drying, at, but=placed.stay),
        kit=kit,
        water=_water(placed, gathered, version, named),
    )


def _water(
    placed: Placement, gathered: Gathered, version: Protocol, named: frozenset[UUID]
) -> tuple[Reason, ...]:
    at = placed.when.latest
    made = _makes(placed, gathered)
    rule = MatchRule.of(gathered.rules.at(at), version)
    target = water_at(gathered.readings.get(placed.container, ()), at, named)
    if placed.source is None:
        return (*match(None, target, rule=rule, at=at), *made)
    source = water_at(gathered.readings.get(placed.source, ()), at, named)
    return (*match(source, target, rule=rule, at=at), *made)


def _makes(placed: Placement, gathered: Gathered) -> tuple[Reason, ...]:
    """Whether the makes in the container were fit for fish, by the earliest that it can be."""
    at = placed.when.earliest
    told = gathered.equipment.told.get(placed.container, ())
    found = fillings(told, placed.container, at)
    return make_reasons(found, gathered.makes, gathered.rules.at(at), at)


def _fitted(past: History, gathered: Gathered, version: Protocol) -> dict[UUID, Placing]:
    """Whether each piece that was put in had been ready until then."""
    found = {}
    for one in past.happenings:
        if one.kind == "piece_fitted":
            before = one.when.earliest - SECOND
            piece = gathered.equipment.piece(UUID(one.body["piece"]), version.drying, before)
            found[one.uid] = Placing(piece)
    return found
