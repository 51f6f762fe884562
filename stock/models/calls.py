"""What was told to whom, and by which way it left the house. Nothing here is a projection."""

from django.db import models

from stock.models.facts import Notice
from stock.models.people import Person, Site


class Call(models.Model):
    """Something told to one person: one cause, however many notices it has."""

    uid = models.UUIDField(primary_key=True)
    site = models.UUIDField()
    person = models.ForeignKey(Person, models.PROTECT, related_name="calls")
    kind = models.CharField(max_length=32)
    cause = models.CharField(max_length=200)
    made_at = models.DateTimeField()
    # When they are to hear it: later than it was made where quiet hours hold it.
    due_at = models.DateTimeField()
    read_at = models.DateTimeField(null=True)

    class Meta:
        db_table = "call"
        indexes = [
            models.Index(fields=["person", "site", "-due_at"], name="call_of_person"),
            models.Index(fields=["site", "cause", "-made_at"], name="call_of_cause"),
        ]


class CallItem(models.Model):
    """One notice in a call. A notice names task and stage: nobody is told one of them twice."""

    call = models.ForeignKey(Call, models.CASCADE, related_name="items")
    notice = models.ForeignKey(Notice, models.PROTECT, related_name="items")
    person = models.ForeignKey(Person, models.PROTECT, related_name="+")

    class Meta:
        db_table = "call_item"
        constraints = [
            models.UniqueConstraint(fields=["notice", "person"], name="told_once_to_each")
        ]


class OwnAddress(models.Model):
    """Where somebody is called: an address of a service, kept sealed and never shown again."""

    uid = models.UUIDField(primary_key=True)
    person = models.ForeignKey(Person, models.CASCADE, related_name="addresses")
    label = models.CharField(max_length=40)
    service = models.CharField(max_length=60)
    sealed = models.TextField()
    made_at = models.DateTimeField()

    class Meta:
        db_table = "own_address"
        constraints = [
            models.UniqueConstraint(fields=["person", "label"], name="address_label_once")
        ]


class Sending(models.Model):
    """A call on its way to one address, or a test of that address where there is no call."""

    WAITING, UNDER_WAY, SENT = "waiting", "under_way", "sent"
    FAILED, DROPPED, UNKNOWN = "failed", "dropped", "unknown"

    call = models.ForeignKey(Call, models.CASCADE, null=True, related_name="sendings")
    address = models.ForeignKey(OwnAddress, models.CASCADE, related_name="sendings")
    state = models.CharField(max_length=9, default=WAITING)
    why = models.CharField(max_length=200, default="")
    tries = models.PositiveSmallIntegerField(default=0)
    # When to try (again), or when the try that is under way began, or when it ended.
    at = models.DateTimeField()

    class Meta:
        db_table = "sending"
        constraints = [
            models.UniqueConstraint(
                fields=["call", "address"], name="sent_once_to_each_address"
            )
        ]
        indexes = [
            models.Index(
                fields=["state", "at"],
                condition=models.Q(state__in=["waiting", "under_way"]),
                name="sending_due",
            )
        ]


class CalendarAddress(models.Model):
    """The secret address at which somebody reads the limits of a site; only its digest."""

    person = models.ForeignKey(Person, models.CASCADE, related_name="+")
    site = models.ForeignKey(Site, models.CASCADE, related_name="+")
    digest = models.CharField(max_length=64, unique=True)
    made_at = models.DateTimeField()

    class Meta:
        db_table = "calendar_address"
        constraints = [
            models.UniqueConstraint(fields=["person", "site"], name="one_calendar_each")
        ]
