"""From facts to judgements: load the world, ask the judge, store moments, reconcile."""

from stock.judging.reach import (
    Consequences,
    bring_up_to_date,
    follow,
    judge_everything,
    judging_later,
)

__all__ = [
    "Consequences",
    "bring_up_to_date",
    "follow",
    "judge_everything",
    "judging_later",
]
