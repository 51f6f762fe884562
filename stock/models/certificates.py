"""Certificates: the signed text is kept byte for byte; its state follows from facts."""

from django.db import models

from stock.models.base import Projection, Thing
from stock.models.batches import Batch
from stock.models.people import Organisation, Site


class Certificate(Thing):
    site = models.ForeignKey(Site, models.PROTECT, related_name="certificates")
    organisation = models.ForeignKey(Organisation, models.PROTECT, related_name="certificates")
    batch = models.ForeignKey(Batch, models.PROTECT, related_name="certificates")
    number = models.CharField(max_length=24)
    year = models.PositiveSmallIntegerField()
    counter = models.PositiveIntegerField()
    count = models.PositiveIntegerField()
    issued_at = models.DateTimeField()
    token_sha256 = models.CharField(max_length=64, unique=True)
    revocation_index = models.PositiveIntegerField()
    suspension_index = models.PositiveIntegerField()
    state = models.CharField(max_length=10, default="valid")

    class Meta:
        db_table = "certificate"
        constraints = [
            models.UniqueConstraint(
                fields=["organisation", "year", "counter"], name="certificate_number_once"
            ),
            models.UniqueConstraint(
                fields=["batch"],
                condition=models.Q(state__in=["valid", "partly", "suspended"]),
                name="one_standing_certificate_per_batch",
            ),
            models.UniqueConstraint(
                fields=["organisation", "revocation_index"], name="revocation_index_once"
            ),
            models.UniqueConstraint(
                fields=["organisation", "suspension_index"], name="suspension_index_once"
            ),
        ]


class CertificateText(models.Model):
    """The token as signed, and the secret part of its public address. Not a projection."""

    certificate = models.UUIDField(primary_key=True)
    address = models.CharField(max_length=40, unique=True)
    token = models.TextField()

    class Meta:
        db_table = "certificate_text"


class CertificateEvent(Projection):
    """Suspended, lifted, superseded, revoked, ended: what happened to a certificate since."""

    fact = models.UUIDField(primary_key=True)
    certificate = models.ForeignKey(Certificate, models.PROTECT, related_name="events")
    kind = models.CharField(max_length=24)
    at = models.DateTimeField()
    count = models.PositiveIntegerField(null=True)
    why = models.TextField()

    class Meta:
        db_table = "certificate_event"
