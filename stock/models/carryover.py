"""The carry-over of a batch as a sweep computed it: a model's figure, never a state."""

from django.db import models

from stock.models.batches import Batch


class CarryOver(models.Model):
    """Not made from facts alone: it says with which version of the model it was computed, when,
    and from which inputs; a later version would give another.
    """

    batch = models.OneToOneField(
        Batch, models.DO_NOTHING, primary_key=True, db_constraint=False, related_name="+"
    )
    version = models.CharField(max_length=20)
    digest = models.CharField(max_length=64)  # SHA-256 of the inputs
    told = models.PositiveBigIntegerField()  # the newest entry about the batch by then
    computed_at = models.DateTimeField()
    inputs = models.JSONField()
    found = models.JSONField(null=True)  # as `protocols/carryover/stored.py` says
    refused = models.TextField(default="")  # why these inputs cannot be

    class Meta:
        db_table = "carry_over"
