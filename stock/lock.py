"""The only row lock of the product: one per record book, taken first by every door."""

from uuid import UUID

from django.db import connection

from stock.models import Log
from stock.refusals import NotFound


def take(log: UUID) -> Log:
    """Lock the record book of a site or organisation until the transaction ends.

    On SQLite the transaction began IMMEDIATE, so writers already stand in line.
    """
    if not connection.in_atomic_block:
        raise RuntimeError("a lock belongs inside the change it protects")
    try:
        return Log.objects.select_for_update().get(uid=log)
    except Log.DoesNotExist:
        raise NotFound from None
