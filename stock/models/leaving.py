"""Animals that left: to a buyer, or to another site of the organisation."""

from django.db import models

from stock.models.base import Thing
from stock.models.batches import Batch
from stock.models.people import Site


class Dispatch(Thing):
    """So many of a batch, handed over by one fact; some may come back.

    `to_site` is another site of ours; without it they were sold. Who bought them is an
    erasable text beside the entry, or the uid that the asker gave.
    """

    fact = models.UUIDField(unique=True)
    site = models.ForeignKey(Site, models.PROTECT, related_name="dispatches")
    batch = models.ForeignKey(Batch, models.PROTECT, related_name="dispatches")
    count = models.PositiveIntegerField()
    returned = models.PositiveIntegerField(default=0)
    certificate = models.UUIDField(null=True)
    buyer = models.UUIDField(null=True)
    to_site = models.ForeignKey(Site, models.PROTECT, null=True, related_name="arrivals")
    at = models.DateTimeField()

    class Meta:
        db_table = "dispatch"
        constraints = [
            models.CheckConstraint(
                condition=models.Q(returned__lte=models.F("count")),
                name="returned_within_dispatched",
            ),
            models.CheckConstraint(
                condition=models.Q(count__gt=0), name="dispatch_of_somebody"
            ),
        ]
