"""Double entry: every animal is in exactly one place, moved by append-only transfers."""

from django.db import models

from protocols.kinds.counts import FATES as TOLD_FATES
from stock.models.base import Projection
from stock.models.batches import Batch
from stock.models.places import Container

# What is told of a loss, and what is presumed where nobody was found.
FATES = (*TOLD_FATES, "presumed_lost")


class Balance(models.Model):
    """How many are at one place of one holder (a line or a batch). Moved by a trigger only."""

    holder = models.UUIDField()
    place = models.CharField(max_length=16)
    n = models.IntegerField(default=0)

    class Meta:
        db_table = "balance"
        constraints = [
            models.UniqueConstraint(fields=["holder", "place"], name="balance_once"),
            models.CheckConstraint(
                condition=models.Q(n__gte=0) | models.Q(place="outside"),
                name="balance_not_overdrawn",
            ),
        ]


class Transfer(Projection):
    """So many from one place to another, by one fact. A trigger moves both balances."""

    fact = models.UUIDField()
    n = models.PositiveSmallIntegerField()
    from_holder = models.UUIDField()
    from_place = models.CharField(max_length=16)
    to_holder = models.UUIDField()
    to_place = models.CharField(max_length=16)
    count = models.IntegerField()
    performed_at = models.DateTimeField()

    class Meta:
        db_table = "transfer"
        constraints = [
            models.UniqueConstraint(fields=["fact", "n"], name="transfer_once"),
            models.CheckConstraint(
                condition=models.Q(count__gt=0), name="transfer_of_somebody"
            ),
            models.CheckConstraint(
                condition=~models.Q(
                    from_holder=models.F("to_holder"), from_place=models.F("to_place")
                ),
                name="transfer_goes_elsewhere",
            ),
        ]
        indexes = [
            models.Index(fields=["from_holder"], name="transfer_from"),
            models.Index(fields=["to_holder"], name="transfer_to"),
        ]


class Loss(Projection):
    """Animals gone for good, with kind and cause. Found and last seen are both kept.

    `of` is the fact that missed them, where they were missing before; a presumed loss shrinks
    by those found again.
    """

    fact = models.UUIDField(primary_key=True)
    batch = models.ForeignKey(Batch, models.PROTECT, related_name="losses")
    fate = models.CharField(max_length=14, choices=[(one, one) for one in FATES])
    count = models.PositiveIntegerField()
    cause = models.JSONField(default=list)
    certainty = models.CharField(max_length=12, null=True)  # noqa: DJ001
    found_at = models.DateTimeField()
    last_seen_at = models.DateTimeField(null=True)
    presumed = models.BooleanField(default=False)
    of = models.UUIDField(null=True)
    origin = models.JSONField(default=list)
    incident = models.UUIDField(null=True)

    class Meta:
        db_table = "loss"
        constraints = [
            models.CheckConstraint(condition=models.Q(count__gt=0), name="loss_of_somebody")
        ]


class Missing(Projection):
    """Animals nobody has found yet, and the container that must be searched."""

    fact = models.UUIDField(primary_key=True)
    batch = models.ForeignKey(Batch, models.PROTECT, related_name="missing")
    container = models.ForeignKey(Container, models.PROTECT, related_name="missing")
    count = models.PositiveIntegerField()
    open = models.PositiveIntegerField(db_column="still_open")
    at = models.DateTimeField()
    searched_at = models.DateTimeField(null=True)

    class Meta:
        db_table = "missing"
        constraints = [
            models.CheckConstraint(
                condition=models.Q(open__lte=models.F("count")), name="missing_within_count"
            )
        ]
