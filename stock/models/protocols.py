"""Protocol versions that an organisation made for itself."""

from django.db import models

from stock.models.base import Projection
from stock.models.people import Organisation


class MadeProtocol(Projection):
    """One frozen version, text and all, as its fact tells it."""

    fact = models.UUIDField(primary_key=True)
    organisation = models.ForeignKey(Organisation, models.PROTECT, related_name="+")
    key = models.CharField(max_length=40)
    sha256 = models.CharField(max_length=64)
    text = models.TextField()
    made_from = models.CharField(max_length=40)
    frozen_at = models.DateTimeField()
    by = models.UUIDField()

    class Meta:
        db_table = "made_protocol"
        constraints = [
            models.UniqueConstraint(
                fields=["organisation", "key"], name="made_protocol_once_per_organisation"
            )
        ]
