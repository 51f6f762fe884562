"""A join that nobody told as one: animals were put where others are."""

from datetime import datetime
from uuid import UUID

from protocols.codes import fact_uid, join_of
from protocols.worlds import Occupant, World
from stock.ledger import Told


def joins(world: World, at: datetime) -> Occupant | None:
    """Who was in the container already at `at`; None where nobody was."""
    there = world.target.occupant
    return there if there is not None and there.since <= at else None


def put_in(placing: UUID, batch: UUID, there: Occupant, container: UUID) -> Told:
    """The join that follows from a placement or a move into an occupied container.

    Made by rule: its uid, and those of the joined batch and its stay, follow from the report.
    """
    body = {
        "members": [there.batch, batch],
        "batch": fact_uid(placing, "batch", batch),
        "stay": fact_uid(placing, "stay", batch),
        "container": container,
        "came_in": [batch],
        "told_apart": False,
    }
    return Told("batches_joined", body, uid=join_of(placing, batch))
