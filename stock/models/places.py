"""Rooms, racks, systems, containers, and what a site decided for itself."""

from django.db import models

from protocols.kinds.places import SYSTEM_STATUSES
from stock.models.base import Projection, Thing
from stock.models.people import Person, Site


class SiteThing(Thing):
    """Something with a label painted on it, unique per site and kind."""

    site = models.ForeignKey(Site, models.PROTECT, related_name="+")
    label = models.CharField(max_length=40)

    class Meta:
        abstract = True

    def __str__(self) -> str:
        return self.label


class Room(SiteThing):
    """One air space with one light schedule (local wall times)."""

    light_on = models.CharField(max_length=5)
    light_off = models.CharField(max_length=5)

    class Meta:
        db_table = "room"
        constraints = [
            models.UniqueConstraint(fields=["site", "label"], name="room_label_once_per_site")
        ]


class Rack(SiteThing):
    room = models.ForeignKey(Room, models.PROTECT, related_name="racks")
    x_m = models.CharField(max_length=12)
    y_m = models.CharField(max_length=12)

    class Meta:
        db_table = "rack"
        constraints = [
            models.UniqueConstraint(fields=["site", "label"], name="rack_label_once_per_site")
        ]


class System(SiteThing):
    """Containers that share water; one status for all of them."""

    status = models.CharField(max_length=9, choices=[(one, one) for one in SYSTEM_STATUSES])

    class Meta:
        db_table = "system"
        constraints = [
            models.UniqueConstraint(fields=["site", "label"], name="system_label_once_per_site")
        ]


class Container(SiteThing):
    """A bucket, tub or tank at a known point of a rack."""

    rack = models.ForeignKey(Rack, models.PROTECT, related_name="containers")
    code = models.CharField(max_length=16)
    x_m = models.CharField(max_length=12)
    y_m = models.CharField(max_length=12)
    z_m = models.CharField(max_length=12)
    inside_m = models.JSONField(null=True)
    shape = models.CharField(max_length=12)
    fill_mark_l = models.CharField(max_length=12)
    lid = models.BooleanField()
    air_stone = models.BooleanField()
    system = models.ForeignKey(System, models.PROTECT, null=True, related_name="containers")
    in_use = models.BooleanField(default=True)

    class Meta:
        db_table = "container"
        constraints = [
            models.UniqueConstraint(
                fields=["site", "label"], name="container_label_once_per_site"
            ),
            models.UniqueConstraint(fields=["site", "code"], name="container_code_once"),
        ]


class RoomClosure(Projection):
    """A room that nobody enters from a moment on: gas, current, water. Until it is opened."""

    fact = models.UUIDField(primary_key=True)
    site = models.ForeignKey(Site, models.PROTECT, related_name="+")
    room = models.ForeignKey(Room, models.PROTECT, related_name="closures")
    begins = models.DateTimeField()
    ends = models.DateTimeField(null=True)
    why = models.TextField()

    class Meta:
        db_table = "room_closure"
        constraints = [
            models.CheckConstraint(
                condition=models.Q(ends=None) | models.Q(ends__gte=models.F("begins")),
                name="room_opens_after_it_closes",
            )
        ]


class RulesVersion(Projection):
    """The site's rules from a moment on; rules change only forward."""

    fact = models.UUIDField(primary_key=True)
    site = models.ForeignKey(Site, models.PROTECT, related_name="rules_versions")
    seq = models.PositiveBigIntegerField()
    in_force_from = models.DateTimeField()
    rules = models.JSONField()

    class Meta:
        db_table = "rules_version"


class HoursVersion(Projection):
    """When the site is staffed, from a moment on."""

    fact = models.UUIDField(primary_key=True)
    site = models.ForeignKey(Site, models.PROTECT, related_name="hours_versions")
    seq = models.PositiveBigIntegerField()
    in_force_from = models.DateTimeField()
    weekly = models.JSONField()
    exceptions = models.JSONField()

    class Meta:
        db_table = "hours_version"


class Shift(Projection):
    fact = models.UUIDField(primary_key=True)
    site = models.ForeignKey(Site, models.PROTECT, related_name="shifts")
    person = models.ForeignKey(Person, models.PROTECT, related_name="shifts")
    begins = models.DateTimeField()
    ends = models.DateTimeField()
    on_call = models.BooleanField()

    class Meta:
        db_table = "shift"
        constraints = [
            models.CheckConstraint(
                condition=models.Q(ends__gt=models.F("begins")),
                name="shift_ends_after_it_begins",
            )
        ]
