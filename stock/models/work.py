"""Tasks: reconciled from judgements by stable keys; who took and finished them is kept."""

from django.core.serializers.json import DjangoJSONEncoder
from django.db import models

from stock.models.base import Projection
from stock.models.people import Person, Site


class Task(models.Model):
    """A piece of work. Not a projection: taking and finishing it is said here only."""

    uid = models.UUIDField(primary_key=True)
    site = models.ForeignKey(Site, models.PROTECT, related_name="tasks")
    key = models.CharField(max_length=200)
    what = models.CharField(max_length=16)
    first = models.BooleanField(default=False)
    batch = models.UUIDField(null=True)
    container = models.UUIDField(null=True)
    kit = models.UUIDField(null=True)
    room = models.UUIDField(null=True)
    planned = models.DateTimeField(null=True)
    limit = models.DateTimeField(null=True, db_column="task_limit")
    no_slot_between = models.JSONField(null=True)
    why = models.TextField(default="")
    numbers = models.JSONField(default=dict, encoder=DjangoJSONEncoder)
    # Keys of tasks to be done before, and people who may not do this one.
    waits_for = models.JSONField(default=list)
    not_by = models.JSONField(default=list)
    made_at = models.DateTimeField()
    state = models.CharField(max_length=9, default="open")  # open, taken, done, cancelled
    closed_why = models.TextField(default="")
    closed_at = models.DateTimeField(null=True)
    closed_by = models.UUIDField(null=True)
    taken_by = models.ForeignKey(Person, models.PROTECT, null=True, related_name="tasks")
    taken_at = models.DateTimeField(null=True)
    # By whom, when and why it was given back: {by, at, why}, the latest last.
    handed_back = models.JSONField(default=list, encoder=DjangoJSONEncoder)

    class Meta:
        db_table = "task"
        constraints = [
            models.UniqueConstraint(
                fields=["site", "key"],
                condition=models.Q(state__in=["open", "taken"]),
                name="one_open_task_per_key",
            ),
            models.CheckConstraint(
                condition=models.Q(taken_by__isnull=True, taken_at__isnull=True)
                | models.Q(taken_by__isnull=False, taken_at__isnull=False),
                name="task_taken_by_somebody",
            ),
        ]
        indexes = [
            models.Index(fields=["site", "state", "limit"], name="task_by_limit"),
            models.Index(fields=["site", "key"], name="task_by_key"),
            models.Index(fields=["batch", "state"], name="task_by_batch"),
        ]


class Handover(Projection):
    """What one shift left to the next, as it stood when it was said."""

    fact = models.UUIDField(primary_key=True)
    site = models.ForeignKey(Site, models.PROTECT, related_name="handovers")
    by = models.UUIDField()
    at = models.DateTimeField()
    open = models.PositiveIntegerField(db_column="still_open")
    late = models.JSONField()
    taken = models.JSONField()
    closed = models.JSONField()

    class Meta:
        db_table = "handover"
        indexes = [models.Index(fields=["site", "-at"], name="handover_newest")]


class HandoverReading(Projection):
    """That somebody read a handover; everybody once."""

    fact = models.UUIDField(primary_key=True)
    handover = models.ForeignKey(Handover, models.PROTECT, related_name="readings")
    by = models.UUIDField()
    at = models.DateTimeField()

    class Meta:
        db_table = "handover_reading"
        constraints = [
            models.UniqueConstraint(fields=["handover", "by"], name="handover_read_once")
        ]
