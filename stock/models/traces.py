"""Traces as they were computed: what could have passed from where to where."""

from django.db import models

from stock.models.base import Projection
from stock.models.batches import Batch


class Trace(models.Model):
    """One question and its answer, kept as it was. Not a projection: whoever decided by it must
    find it again, and a later version of the search may answer otherwise.

    `question` says from which thing, which way, from when and up to when; `known_by` the last
    entry that counted; `digest` is SHA-256 over question, position, version and answer.
    """

    uid = models.UUIDField(primary_key=True)
    site = models.UUIDField()
    made_at = models.DateTimeField()
    made_by = models.UUIDField()
    question = models.JSONField()
    known_by = models.PositiveBigIntegerField()
    version = models.CharField(max_length=20)
    contacts = models.PositiveBigIntegerField()
    found = models.JSONField()
    digest = models.CharField(max_length=64)

    class Meta:
        db_table = "trace"
        constraints = [models.UniqueConstraint(fields=["site", "digest"], name="trace_once")]
        indexes = [models.Index(fields=["site", "-made_at"], name="trace_newest")]


class TraceDecision(Projection):
    """What a person made of a trace, for one batch. The newest word counts."""

    fact = models.UUIDField(primary_key=True)
    trace = models.UUIDField()
    batch = models.ForeignKey(Batch, models.PROTECT, related_name="trace_decisions")
    decision = models.CharField(max_length=12)
    at = models.DateTimeField()
    by = models.UUIDField()
    seq = models.PositiveBigIntegerField()

    class Meta:
        db_table = "trace_decision"
        indexes = [models.Index(fields=["trace", "seq"], name="trace_decided")]
