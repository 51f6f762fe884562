"""Bags of records that were asked for: made beside the requests, kept for a while."""

from django.db import models

from stock.models.people import Person, Site


class Export(models.Model):
    """An audit bag of a site, from being asked for to its end. Not a projection."""

    class State(models.TextChoices):
        WAITING = "waiting"
        MAKING = "making"
        READY = "ready"
        FAILED = "failed"
        ENDED = "ended"

    uid = models.UUIDField(primary_key=True)
    site = models.ForeignKey(Site, models.PROTECT, related_name="exports")
    begins = models.DateTimeField()
    ends = models.DateTimeField()
    address = models.CharField(max_length=200)
    asked_by = models.ForeignKey(Person, models.PROTECT, related_name="exports")
    asked_at = models.DateTimeField()
    state = models.CharField(max_length=8, choices=State.choices, default=State.WAITING)
    entries_done = models.PositiveBigIntegerField(default=0)
    entries_all = models.PositiveBigIntegerField(default=0)
    # When somebody last worked at it: one that was left lying is begun anew.
    touched_at = models.DateTimeField(null=True)
    ready_at = models.DateTimeField(null=True)
    size = models.PositiveBigIntegerField(null=True)
    sha256 = models.CharField(max_length=64, default="")
    tree_size = models.PositiveBigIntegerField(null=True)
    why = models.TextField(default="")

    class Meta:
        db_table = "export"
        indexes = [
            models.Index(
                fields=["site"],
                condition=models.Q(state__in=["waiting", "making", "ready"]),
                name="export_not_ended",
            )
        ]
