"""The batch that a report speaks of."""

from stock.models import Batch, Fact
from stock.refusals import not_here


def batch_of(fact: Fact) -> Batch:
    """The batch that the fact speaks of, at this site."""
    batch = Batch.read(uid=fact.body["batch"], site=fact.log_id)
    if batch is None:
        raise not_here("batch")
    return batch
