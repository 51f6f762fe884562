"""What an authority or court wants kept."""

from django.db import models

from stock.models.base import Projection
from stock.models.people import Site


class LegalHoldRow(Projection):
    """A legal hold over some batches, or without any over the whole site; until lifted."""

    uid = models.UUIDField(primary_key=True)
    site = models.ForeignKey(Site, models.PROTECT, related_name="legal_holds")
    fact = models.UUIDField(unique=True)
    batches = models.JSONField(default=list)
    at = models.DateTimeField()
    lifted_at = models.DateTimeField(null=True)

    class Meta:
        db_table = "legal_hold"
