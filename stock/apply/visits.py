"""A visit makes no rows of its own: who may read is no state of the record, only a fact."""

from stock.apply.registry import applies
from stock.models import Fact


@applies("visit_opened", "visit_closed")
def note(fact: Fact) -> None:
    """Found by the uid of the visit, as every fact is by what it names."""
