"""Batches, where they stand, and the judgement cached for lists."""

from django.db import models

from stock.models.base import Projection, Thing
from stock.models.intake import Line
from stock.models.kits import Kit
from stock.models.people import Site
from stock.models.places import Container


class Batch(Thing):
    """Animals that share one container and one history.

    Everything below `closed_at` is a cache of the last judgement: moments only. It speaks for
    itself until a fact made it `stale`, or the clock reached `fresh_until`; from then on the
    batch is judged in memory when it is read.
    """

    site = models.ForeignKey(Site, models.PROTECT, related_name="batches")
    code = models.CharField(max_length=16)
    protocol = models.CharField(max_length=40)
    placed_at = models.DateTimeField()
    closed_at = models.DateTimeField(null=True)

    state = models.CharField(max_length=12, default="moves")
    why = models.CharField(max_length=40, null=True)  # noqa: DJ001
    limit = models.DateTimeField(null=True, db_column="stay_limit")
    series_number = models.PositiveIntegerField(default=1)
    series_state = models.CharField(max_length=12, default="unbroken")
    series_started = models.DateTimeField(null=True)
    moves = models.PositiveIntegerField(default=0)
    moves_needed = models.PositiveIntegerField(default=0)
    earliest_end = models.DateTimeField(null=True)
    earliest_end_if_kept = models.DateTimeField(null=True)
    observation_ends = models.DateTimeField(null=True)
    chain = models.JSONField(default=dict)  # its stays and series, as `judging/chain.py` says
    stale = models.BooleanField(default=False)
    fresh_until = models.DateTimeField(null=True)

    class Meta:
        db_table = "batch"
        constraints = [
            models.UniqueConstraint(fields=["site", "code"], name="batch_code_once_per_site")
        ]
        indexes = [
            models.Index(fields=["site", "closed_at", "limit"], name="batch_by_limit"),
            models.Index(fields=["fresh_until"], name="batch_by_fresh_until"),
        ]


class Origin(Projection):
    """How many of a batch came from which line, by which fact."""

    fact = models.UUIDField()
    batch = models.ForeignKey(Batch, models.PROTECT, related_name="origins")
    line = models.ForeignKey(Line, models.PROTECT, related_name="batches")
    count = models.PositiveIntegerField()

    class Meta:
        db_table = "origin"
        constraints = [
            models.UniqueConstraint(fields=["fact", "line"], name="origin_once_per_fact"),
            models.CheckConstraint(condition=models.Q(count__gt=0), name="origin_of_somebody"),
        ]


class Kin(Projection):
    """Another batch whose history the judgement of this one needs, and by which fact.

    It came out of a parent, and with it out of every ancestor; of those it was joined with it
    needs to know what the join did to its series.
    """

    batch = models.ForeignKey(Batch, models.PROTECT, related_name="kin")
    of = models.ForeignKey(Batch, models.PROTECT, related_name="kin_of")
    how = models.CharField(max_length=12)  # parent, ancestor, joined_with
    fact = models.UUIDField()

    class Meta:
        db_table = "kin"
        constraints = [models.UniqueConstraint(fields=["batch", "of"], name="kin_once")]


OPEN = models.Q(ended_latest__isnull=True)


class StayRow(Projection):
    """One batch in one container. The database allows one open stay per container and kit."""

    uid = models.UUIDField(primary_key=True)
    batch = models.ForeignKey(Batch, models.PROTECT, related_name="stays")
    container = models.ForeignKey(Container, models.PROTECT, related_name="stays")
    kit = models.ForeignKey(Kit, models.PROTECT, null=True, related_name="stays")
    began_earliest = models.DateTimeField()
    began_latest = models.DateTimeField()
    ended_earliest = models.DateTimeField(null=True)
    ended_latest = models.DateTimeField(null=True)
    began_by = models.UUIDField()
    ended_by = models.UUIDField(null=True)

    class Meta:
        db_table = "stay"
        constraints = [
            models.UniqueConstraint(
                fields=["container"], condition=OPEN, name="one_open_stay_per_container"
            ),
            models.UniqueConstraint(
                fields=["batch"], condition=OPEN, name="one_open_stay_per_batch"
            ),
            models.UniqueConstraint(
                fields=["kit"], condition=OPEN, name="one_open_stay_per_kit"
            ),
            models.CheckConstraint(
                condition=models.Q(began_earliest__lte=models.F("began_latest")),
                name="stay_begins_in_order",
            ),
        ]


class Reliance(Projection):
    """A batch's judgement looked at this subject: a new fact about it reaches the batch.

    `until` is when the batch left it. What is done to it afterwards, and says nothing of
    before, does not reach the batch any more.
    """

    batch = models.ForeignKey(Batch, models.PROTECT, related_name="reliances")
    subject = models.UUIDField()
    until = models.DateTimeField(null=True)

    class Meta:
        db_table = "reliance"
        constraints = [
            models.UniqueConstraint(fields=["subject", "batch"], name="reliance_once")
        ]


class FactSubject(Projection):
    """Which facts speak of which subject: how histories are found."""

    fact = models.ForeignKey("stock.Fact", models.PROTECT, related_name="subjects")
    subject = models.UUIDField()

    class Meta:
        db_table = "fact_subject"
        constraints = [
            models.UniqueConstraint(fields=["subject", "fact"], name="fact_subject_once")
        ]


# Why a join made by rule counts for nothing: those to be joined had left.
NEVER_JOINED = "never_joined"


class Parked(Projection):
    """A report that does not fit the record yet; somebody must settle it.

    A join made by rule that was none is settled by the report that showed it.
    """

    fact = models.OneToOneField("stock.Fact", models.PROTECT, primary_key=True)
    site = models.ForeignKey(Site, models.PROTECT, related_name="parked")
    code = models.CharField(max_length=32)
    why = models.TextField()
    settled_by = models.UUIDField(null=True)

    class Meta:
        db_table = "parked"
