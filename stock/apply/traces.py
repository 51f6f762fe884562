"""What a person made of a trace."""

from stock.apply.batches_here import batch_of
from stock.apply.registry import applies
from stock.models import Fact, TraceDecision


@applies("trace_decided")
def decide_trace(fact: Fact) -> None:
    TraceDecision.objects.create(
        fact=fact.uid,
        trace=fact.body["trace"],
        batch=batch_of(fact),
        decision=fact.body["decision"],
        at=fact.performed_at,
        by=fact.doer,
        seq=fact.seq,
    )
