"""Equipment: kits, their pieces, instruments, and the readiness cached for each."""

from django.db import models

from protocols.kinds.kits import PIECE_TYPES
from protocols.values import State
from stock.models.base import Projection
from stock.models.people import Site
from stock.models.places import Container, SiteThing


class Kit(SiteThing):
    """A set of equipment as it is at a moment: a view on the pieces fitted to it."""

    code = models.CharField(max_length=16)
    needs = models.JSONField()

    class Meta:
        db_table = "kit"
        constraints = [
            models.UniqueConstraint(fields=["site", "label"], name="kit_label_once_per_site"),
            models.UniqueConstraint(fields=["site", "code"], name="kit_code_once"),
        ]


class Piece(SiteThing):
    type = models.CharField(max_length=12, choices=[(one, one) for one in PIECE_TYPES])
    single_use = models.BooleanField()
    kit = models.ForeignKey(Kit, models.PROTECT, null=True, related_name="pieces")
    defective = models.BooleanField(default=False)
    code = models.CharField(max_length=16, default="")

    class Meta:
        db_table = "piece"
        constraints = [
            models.UniqueConstraint(fields=["site", "label"], name="piece_label_once_per_site"),
            models.UniqueConstraint(
                fields=["site", "code"], condition=~models.Q(code=""), name="piece_code_once"
            ),
        ]


class Instrument(SiteThing):
    quantities = models.JSONField()
    convention = models.CharField(max_length=16, null=True)  # noqa: DJ001
    checked_at = models.DateTimeField(null=True)
    passed = models.BooleanField(null=True)
    code = models.CharField(max_length=16, default="")

    class Meta:
        db_table = "instrument"
        constraints = [
            models.UniqueConstraint(
                fields=["site", "label"], name="instrument_label_once_per_site"
            ),
            models.UniqueConstraint(
                fields=["site", "code"],
                condition=~models.Q(code=""),
                name="instrument_code_once",
            ),
        ]


class Upkeep(Projection):
    """Readiness of a piece, kit or container, cached as moments.

    `drying` with a `ready_at` in the past reads as ready: the clock is not stored.
    """

    subject = models.UUIDField(primary_key=True)
    site = models.ForeignKey(Site, models.PROTECT, related_name="+")
    what = models.CharField(max_length=9)  # piece, kit, container
    state = models.CharField(max_length=12, choices=[(one, one) for one in State])
    since = models.DateTimeField(null=True)
    ready_at = models.DateTimeField(null=True)

    class Meta:
        db_table = "upkeep"


class InstrumentCheck(Projection):
    fact = models.UUIDField(primary_key=True)
    instrument = models.ForeignKey(Instrument, models.PROTECT, related_name="checks")
    at = models.DateTimeField()
    passed = models.BooleanField()
    standard = models.CharField(max_length=40)
    expected = models.CharField(max_length=20)
    got = models.CharField(max_length=20)

    class Meta:
        db_table = "instrument_check"


class ProbeSeen(Projection):
    """When a probe first and last sent a value of a quantity from a container."""

    site = models.ForeignKey(Site, models.PROTECT, related_name="+")
    probe = models.ForeignKey(Instrument, models.PROTECT, related_name="seen")
    container = models.ForeignKey(Container, models.PROTECT, related_name="+")
    quantity = models.CharField(max_length=20)
    first_at = models.DateTimeField()
    last_at = models.DateTimeField()

    class Meta:
        db_table = "probe_seen"
        constraints = [
            models.UniqueConstraint(
                fields=["probe", "container", "quantity"], name="probe_seen_once"
            )
        ]


class WaterReading(Projection):
    """One value as typed; its number is derived when rules ask."""

    uid = models.UUIDField(primary_key=True)
    fact = models.UUIDField(db_index=True)
    site = models.ForeignKey(Site, models.PROTECT, related_name="+")
    container = models.ForeignKey(Container, models.PROTECT, related_name="readings")
    quantity = models.CharField(max_length=20)
    value = models.CharField(max_length=20)
    unit = models.CharField(max_length=12)
    instrument = models.ForeignKey(
        Instrument, models.PROTECT, null=True, related_name="readings"
    )
    performed_at = models.DateTimeField()
    in_doubt = models.BooleanField(default=False)
    # On which scale a pH is, and as what ammonia, nitrite or nitrate is reported.
    ph_scale = models.CharField(max_length=12, null=True)  # noqa: DJ001
    reported_as = models.CharField(max_length=12, null=True)  # noqa: DJ001

    class Meta:
        db_table = "reading"
        indexes = [
            models.Index(
                fields=["container", "quantity", "performed_at"], name="reading_newest"
            )
        ]
