"""The ledger and what stands beside it. Nothing here is a projection."""

from typing import Any

from django.core.serializers.json import DjangoJSONEncoder
from django.db import models

from protocols.values import Standing


class Log(models.Model):
    """The record book of a site or an organisation. Its row is the one lock of every door."""

    uid = models.UUIDField(primary_key=True)
    organisation = models.UUIDField(db_index=True)
    size = models.PositiveBigIntegerField(default=0)
    edge = models.TextField(default="")

    class Meta:
        db_table = "log"

    @property
    def is_of_site(self) -> bool:
        return self.uid != self.organisation


class Fact(models.Model):
    """One entry of the ledger: what somebody says happened. Never changed, never deleted."""

    uid = models.UUIDField(primary_key=True)
    log = models.ForeignKey(Log, models.PROTECT, related_name="facts", db_column="log")
    seq = models.PositiveBigIntegerField()
    kind = models.CharField(max_length=32)
    performed_at = models.DateTimeField()
    offset_min = models.SmallIntegerField()
    recorded_at = models.DateTimeField()
    doer = models.UUIDField()
    messenger = models.UUIDField()
    device = models.UUIDField(null=True)
    entry_no = models.PositiveBigIntegerField(null=True)
    raw_at = models.DateTimeField(null=True)
    clock_offset_ms = models.BigIntegerField(null=True)
    delivered = models.BooleanField(null=True)  # absent and false differ in the entry
    standing = models.CharField(max_length=9, choices=[(one, one) for one in Standing])
    insist = models.JSONField(default=list)
    reason = models.TextField(null=True)  # noqa: DJ001  absent and empty differ in the entry
    group = models.UUIDField(db_column="request_group")
    about = models.UUIDField(null=True, db_index=True)
    body = models.JSONField()
    files = models.JSONField(default=list)
    entry = models.BinaryField()
    leaf = models.BinaryField(max_length=32)

    class Meta:
        db_table = "fact"
        ordering = ["log", "seq"]
        constraints = [
            models.UniqueConstraint(fields=["log", "seq"], name="fact_seq_once_per_log"),
            models.UniqueConstraint(
                fields=["device", "entry_no", "kind", "group"],
                condition=models.Q(device__isnull=False),
                name="fact_once_per_device_entry",
            ),
        ]
        indexes = [
            models.Index(fields=["log", "kind", "performed_at"], name="fact_by_kind"),
            models.Index(
                fields=["log"], condition=models.Q(delivered=True), name="fact_delivered"
            ),
        ]

    def save(self, *args: Any, **options: Any) -> None:
        if not self._state.adding:
            raise TypeError("Facts are written once.")
        super().save(*args, **options)

    def delete(self, *args: Any, **options: Any) -> tuple[int, dict[str, int]]:
        raise TypeError("Facts are never deleted.")


class FactText(models.Model):
    """A note or a name. It can be erased; the entry keeps only its salted digest."""

    fact = models.ForeignKey(Fact, models.PROTECT, related_name="texts", db_column="fact")
    name = models.CharField(max_length=32)
    salt = models.BinaryField(max_length=16)
    value = models.TextField()

    class Meta:
        db_table = "fact_text"
        constraints = [models.UniqueConstraint(fields=["fact", "name"], name="fact_text_once")]


class Answer(models.Model):
    """What a request was answered, so that asking twice is safe. Only successes are kept."""

    person = models.UUIDField()
    key = models.CharField(max_length=200)
    question = models.CharField(max_length=64)
    status = models.PositiveSmallIntegerField()
    body = models.JSONField(encoder=DjangoJSONEncoder)
    made_at = models.DateTimeField()

    class Meta:
        db_table = "answer"
        constraints = [models.UniqueConstraint(fields=["person", "key"], name="answer_once")]


class Notice(models.Model):
    """The outbox: what has to leave the house. The effect key makes a repeat harmless."""

    effect = models.CharField(max_length=200, unique=True)
    site = models.UUIDField(db_index=True)
    kind = models.CharField(max_length=32)
    body = models.JSONField()
    made_at = models.DateTimeField()
    # When it was handed out as calls to the people it is for.
    sent_at = models.DateTimeField(null=True)

    class Meta:
        db_table = "outbox"
        indexes = [
            models.Index(
                fields=["site"], condition=models.Q(sent_at=None), name="outbox_not_handed_out"
            )
        ]


class ClockMoment(models.Model):
    """Under the test clock only: the moment a log has reached."""

    log = models.UUIDField(primary_key=True)
    moment = models.DateTimeField()

    class Meta:
        db_table = "test_clock"
