"""From facts to judgements: load the world, ask the judge, store moments, reconcile."""

from stock.judging.reach import Consequences, follow, judge_everything

__all__ = ["Consequences", "follow", "judge_everything"]
