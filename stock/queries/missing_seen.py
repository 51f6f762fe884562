"""Animals that nobody finds, and holds, each with its batch."""

from uuid import UUID

from stock.models import HoldRow, Missing
from stock.refusals import NotFound


def missing_seen(uid: UUID) -> Missing:
    """One report of missing animals. One query. Raises NotFound."""
    rows = Missing.objects.select_related("batch__site", "container")
    found = rows.filter(fact=uid).first()
    if found is None:
        raise NotFound
    return found


def hold_seen(uid: UUID) -> HoldRow:
    """One hold. One query. Raises NotFound."""
    found = HoldRow.objects.select_related("batch__site").filter(fact=uid).first()
    if found is None:
        raise NotFound
    return found
