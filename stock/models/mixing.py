"""The mixing room: salt lots, bleach, makes of water, and what was drawn from them.

What is left of a make or a lot is no column: it is what came less what went, up to a moment.
"""

from django.db import models

from protocols.kinds.mixing import KNOWN_FROM, STRENGTH_BASES
from stock.models.base import Projection, Thing
from stock.models.people import Site
from stock.models.places import Container, SiteThing

# As many digits as a fact may hold.
DIGITS, PLACES = 18, 9


class SaltLot(SiteThing):
    """Salt of one lot. `dry_fraction`: grams of sea salt in a gram as weighed."""

    product = models.CharField(max_length=120)
    dry_fraction = models.CharField(max_length=20)
    dry_fraction_from = models.CharField(
        max_length=8, choices=[(one, one) for one in KNOWN_FROM]
    )
    measured_how = models.CharField(max_length=200, null=True)  # noqa: DJ001
    measured_at = models.DateTimeField(null=True)
    in_use = models.BooleanField(default=True)

    class Meta:
        db_table = "salt_lot"
        constraints = [
            models.UniqueConstraint(
                fields=["site", "label"], name="salt_lot_label_once_per_site"
            )
        ]


class Bleach(SiteThing):
    """A bottle of bleach, with the strength that is known of it and since when."""

    product = models.CharField(max_length=120)
    strength_percent = models.CharField(max_length=20)
    strength_basis = models.CharField(
        max_length=24, choices=[(one, one) for one in STRENGTH_BASES]
    )
    density_g_ml = models.CharField(max_length=20, null=True)  # noqa: DJ001
    strength_from = models.CharField(max_length=8, choices=[(one, one) for one in KNOWN_FROM])
    measured_at = models.DateTimeField(null=True)
    opened_on = models.DateField(null=True)
    in_use = models.BooleanField(default=True)

    class Meta:
        db_table = "bleach"
        constraints = [
            models.UniqueConstraint(fields=["site", "label"], name="bleach_label_once_per_site")
        ]


class SaltStock(Projection):
    """Salt of a lot that came, or all of it that was there when somebody weighed it."""

    fact = models.UUIDField(primary_key=True)
    lot = models.ForeignKey(SaltLot, models.PROTECT, related_name="stock")
    what = models.CharField(max_length=8)  # received, counted
    mass_kg = models.DecimalField(max_digits=DIGITS, decimal_places=PLACES)
    at = models.DateTimeField()

    class Meta:
        db_table = "salt_stock"
        constraints = [
            models.CheckConstraint(
                condition=models.Q(mass_kg__gte=0), name="salt_weighs_something"
            )
        ]


class Make(Thing):
    """One mixing of salt water in a vat, as it was told when it was made."""

    fact = models.UUIDField(unique=True)
    site = models.ForeignKey(Site, models.PROTECT, related_name="makes")
    vat = models.TextField()
    salt_lot = models.TextField()
    lot = models.ForeignKey(SaltLot, models.PROTECT, null=True, related_name="makes")
    salt_kg = models.DecimalField(max_digits=DIGITS, decimal_places=PLACES, null=True)
    volume_l = models.DecimalField(max_digits=DIGITS, decimal_places=PLACES)
    volume_basis = models.CharField(max_length=12, default="final")
    salinity = models.DecimalField(max_digits=DIGITS, decimal_places=PLACES)
    temperature_c = models.DecimalField(max_digits=DIGITS, decimal_places=PLACES)
    total_chlorine_mg_l = models.DecimalField(max_digits=DIGITS, decimal_places=PLACES)
    made_at = models.DateTimeField()
    mixed_at = models.DateTimeField()
    aerated_since = models.DateTimeField(null=True)
    doer = models.UUIDField()

    class Meta:
        db_table = "make"
        constraints = [
            models.CheckConstraint(
                condition=models.Q(volume_l__gt=0), name="make_holds_something"
            )
        ]
        indexes = [models.Index(fields=["site", "made_at"], name="make_by_time")]


class MakeCheck(Projection):
    """What was measured again of a make. It names the make alone: makes may be withdrawn."""

    fact = models.UUIDField(primary_key=True)
    make = models.UUIDField(db_index=True)
    at = models.DateTimeField()
    volume_l = models.DecimalField(max_digits=DIGITS, decimal_places=PLACES, null=True)
    salinity = models.DecimalField(max_digits=DIGITS, decimal_places=PLACES, null=True)
    temperature_c = models.DecimalField(max_digits=DIGITS, decimal_places=PLACES, null=True)
    total_chlorine_mg_l = models.DecimalField(
        max_digits=DIGITS, decimal_places=PLACES, null=True
    )

    class Meta:
        db_table = "make_check"


class Draw(Projection):
    """Water of a make that went into a container: a fill, a change, a top-up."""

    fact = models.UUIDField(primary_key=True)
    make = models.UUIDField(db_index=True)
    container = models.ForeignKey(Container, models.PROTECT, related_name="draws")
    what = models.CharField(max_length=13)  # filled, water_changed, topped_up
    volume_l = models.DecimalField(max_digits=DIGITS, decimal_places=PLACES)
    at = models.DateTimeField()

    class Meta:
        db_table = "draw"
        constraints = [
            models.CheckConstraint(
                condition=models.Q(volume_l__gt=0), name="draw_takes_something"
            )
        ]
