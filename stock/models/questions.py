"""What is open: deviations, signs, incidents, holds, restrictions."""

from django.core.serializers.json import DjangoJSONEncoder
from django.db import models

from protocols.values import Decision, Effect
from stock.models.base import Projection
from stock.models.batches import Batch
from stock.models.people import Site


class DeviationRow(Projection):
    """A judgement with a stable key; reconciled, never typed in."""

    uid = models.UUIDField(primary_key=True)
    site = models.ForeignKey(Site, models.PROTECT, related_name="deviations")
    batch = models.ForeignKey(Batch, models.PROTECT, related_name="deviations")
    rule = models.CharField(max_length=32)
    cause = models.UUIDField()
    effect = models.CharField(max_length=5, choices=[(one, one) for one in Effect])
    at = models.DateTimeField()
    numbers = models.JSONField(default=dict, encoder=DjangoJSONEncoder)
    by = models.UUIDField(null=True)
    decided = models.CharField(  # noqa: DJ001
        max_length=7, null=True, choices=[(one, one) for one in Decision]
    )
    decided_by = models.UUIDField(null=True)
    open = models.BooleanField(db_column="is_open")

    class Meta:
        db_table = "deviation"
        constraints = [
            models.UniqueConstraint(fields=["batch", "rule", "cause"], name="deviation_once")
        ]
        indexes = [models.Index(fields=["site", "open"], name="deviation_open")]


class Sign(Projection):
    fact = models.UUIDField(primary_key=True)
    batch = models.ForeignKey(Batch, models.PROTECT, related_name="signs")
    signs = models.JSONField()
    affected = models.PositiveIntegerField()
    at = models.DateTimeField()
    state = models.CharField(max_length=10)  # open, confirmed, withdrawn

    class Meta:
        db_table = "sign"


class HoldRow(Projection):
    fact = models.UUIDField(primary_key=True)
    batch = models.ForeignKey(Batch, models.PROTECT, related_name="holds")
    why = models.TextField()
    at = models.DateTimeField()
    lifted_at = models.DateTimeField(null=True)

    class Meta:
        db_table = "hold"
