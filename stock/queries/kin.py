"""Where the animals of a batch came from, and what a join would do to those it joins."""

from collections.abc import Mapping, Sequence
from typing import Any
from uuid import UUID

from protocols.dividing import AskedJoin, effect_of
from protocols.values import Judgement
from stock.models import Batch
from stock.queries.batches import timed


def consequence(
    rows: Sequence[Batch], judgements: Mapping[UUID, Judgement], asked: AskedJoin
) -> dict[str, Any]:
    """The earliest end of each before, and of all together; nothing where nobody comes in."""
    if not asked.worlds or not rows:
        return {}
    protocol, zone = asked.worlds[0][1].protocol, asked.worlds[0][1].zone
    effect = effect_of(asked)
    return {
        "earliest_end_before": [
            {
                "batch": str(row.uid),
                "code": row.code,
                **timed("earliest_end", judgements[row.uid].earliest_end, zone),
            }
            for row in rows
        ],
        **timed("earliest_end", effect.earliest_end(protocol), zone),
        **timed("limit", effect.limit, zone),
        "moves": effect.moves,
        "restarted": [str(uid) for uid in effect.restarted],
    }
