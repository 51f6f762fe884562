"""From the supplier's list to counted bags."""

from django.db import models

from stock.models.base import Projection, Thing
from stock.models.people import Organisation, Site


class Supplier(Thing):
    organisation = models.ForeignKey(Organisation, models.PROTECT, related_name="suppliers")
    name = models.CharField(max_length=120)
    date_order = models.CharField(max_length=11, null=True)  # noqa: DJ001
    decimal = models.CharField(max_length=1, null=True)  # noqa: DJ001
    mapping = models.JSONField(default=dict)
    claim_terms = models.JSONField(default=dict)

    class Meta:
        db_table = "supplier"


class Species(Thing):
    organisation = models.ForeignKey(Organisation, models.PROTECT, related_name="species")
    scientific_name = models.CharField(max_length=120)
    aphia_id = models.PositiveIntegerField(null=True)
    groups = models.JSONField(default=list)
    trade_names = models.JSONField(default=list)

    class Meta:
        db_table = "species"
        constraints = [
            models.UniqueConstraint(
                fields=["organisation", "scientific_name"], name="species_once_per_organisation"
            )
        ]


class StoredFile(models.Model):
    """An uploaded file, kept as it came. Not a projection; named by its digest."""

    site = models.UUIDField()
    sha256 = models.CharField(max_length=64)
    name = models.CharField(max_length=200)
    kind = models.CharField(max_length=16)
    size = models.PositiveBigIntegerField()
    received_at = models.DateTimeField()
    by = models.UUIDField()

    class Meta:
        db_table = "stored_file"
        constraints = [models.UniqueConstraint(fields=["site", "sha256"], name="file_once")]


class Import(models.Model):
    """A packing list as read, before and after somebody applies it. Not a projection."""

    uid = models.UUIDField(primary_key=True)
    site = models.UUIDField(db_index=True)
    supplier = models.UUIDField()
    sha256 = models.CharField(max_length=64)
    read = models.JSONField()
    answers = models.JSONField(default=dict)
    made_at = models.DateTimeField()
    consignment = models.UUIDField(null=True)

    class Meta:
        db_table = "import"


class Consignment(Thing):
    """What came on one waybill."""

    site = models.ForeignKey(Site, models.PROTECT, related_name="consignments")
    supplier = models.ForeignKey(Supplier, models.PROTECT, related_name="consignments")
    waybill = models.CharField(max_length=60, null=True)  # noqa: DJ001
    list_version = models.PositiveSmallIntegerField()
    file = models.CharField(max_length=64, null=True)  # noqa: DJ001
    listed_at = models.DateTimeField()
    delivered_at = models.DateTimeField(null=True)

    class Meta:
        db_table = "consignment"
        constraints = [
            models.UniqueConstraint(fields=["site", "file"], name="consignment_once_per_file"),
        ]


class Line(Thing):
    """One row of a packing list. Listed is what the papers say; the balance says the rest.

    A row printed for several boxes has them in `boxes`, each with its `listed` where said.
    """

    consignment = models.ForeignKey(Consignment, models.PROTECT, related_name="lines")
    n = models.PositiveIntegerField()
    box = models.CharField(max_length=60, null=True)  # noqa: DJ001
    boxes = models.JSONField(default=list)
    bag = models.CharField(max_length=60, null=True)  # noqa: DJ001
    text = models.CharField(max_length=200)
    species = models.ForeignKey(Species, models.PROTECT, null=True, related_name="lines")
    listed = models.PositiveIntegerField()
    price = models.CharField(max_length=20, null=True)  # noqa: DJ001
    code = models.CharField(max_length=16, default="", db_index=True)

    class Meta:
        db_table = "line"
        constraints = [
            models.UniqueConstraint(fields=["consignment", "n"], name="line_once_per_list")
        ]


class LineCount(Projection):
    """A count out of the bags of one line, by box where the boxes were kept apart."""

    fact = models.UUIDField(primary_key=True)
    line = models.ForeignKey(Line, models.PROTECT, related_name="counts")
    box = models.CharField(max_length=60, null=True)  # noqa: DJ001
    received = models.PositiveIntegerField()
    doa = models.PositiveIntegerField()
    wrong_species = models.PositiveIntegerField(default=0)
    length_cm = models.CharField(max_length=12, null=True)  # noqa: DJ001
    performed_at = models.DateTimeField()

    class Meta:
        db_table = "line_count"
        constraints = [
            models.CheckConstraint(
                condition=models.Q(doa__lte=models.F("received")), name="doa_within_received"
            )
        ]
