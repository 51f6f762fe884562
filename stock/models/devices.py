"""What came from tablets, entry by entry, and what each said last of what it still holds."""

from django.db import models

# What an entry was answered that leaves nothing to be done with it on the tablet.
SETTLED = ("stored", "again", "parked", "given_up")
ANSWERS = (*SETTLED, "look", "sign_in", "later")


class EntryOfDevice(models.Model):
    """One numbered entry of a device as it arrived, and what it was answered last.

    The fact of a stored one is in the record book. Of one that needs a person, what it said
    (`fields`) and what was answered (`says`) are kept here until it is stored or given up.
    """

    device = models.UUIDField()
    site = models.UUIDField(db_index=True)
    no = models.PositiveBigIntegerField()
    key = models.CharField(max_length=200)
    address = models.CharField(max_length=300)
    doer = models.UUIDField()
    messenger = models.UUIDField(null=True)
    raw_at = models.DateTimeField()
    clock_offset_ms = models.BigIntegerField(null=True)
    monotonic_ms = models.BigIntegerField(null=True)
    arrived_at = models.DateTimeField()
    tried_at = models.DateTimeField()
    tries = models.PositiveIntegerField(default=1)
    answer = models.CharField(max_length=8, choices=[(one, one) for one in ANSWERS])
    fact = models.UUIDField(null=True)
    fields = models.JSONField(default=dict)
    says = models.JSONField(default=list)
    given_up_by = models.UUIDField(null=True)
    given_up_why = models.TextField(default="")

    class Meta:
        db_table = "device_entry"
        constraints = [
            models.UniqueConstraint(fields=["device", "no"], name="device_entry_once"),
            models.CheckConstraint(
                condition=~models.Q(answer="given_up")
                | models.Q(given_up_by__isnull=False) & ~models.Q(given_up_why=""),
                name="device_entry_given_up_says_why",
            ),
        ]


class DeviceReport(models.Model):
    """The last that a device said of itself.

    `missing` counts the numbers that were given away there and never settled here,
    `held_reports` counts those in a row with entries that were not sent, `held_since` is when
    the first of them came.
    """

    device = models.UUIDField(primary_key=True)
    site = models.UUIDField(db_index=True)
    sent_at = models.DateTimeField()
    arrived_at = models.DateTimeField()
    clock_offset_ms = models.BigIntegerField()
    monotonic_ms = models.BigIntegerField(null=True)
    unsent = models.PositiveIntegerField()
    oldest_unsent_at = models.DateTimeField(null=True)
    last_entry_no = models.PositiveBigIntegerField()
    missing = models.PositiveIntegerField(default=0)
    held_reports = models.PositiveIntegerField(default=0)
    held_since = models.DateTimeField(null=True)

    class Meta:
        db_table = "device_report"
