"""Addresses that strangers left to be told of changes to a certificate."""

from django.db import models


class BuyerAddress(models.Model):
    """One address for one certificate, sealed, and gone with one touch. Not a projection.

    `sealed` holds address, link and language; `subject` is a digest that finds the same address
    again without unsealing, `link` one of the secret in the letters. Until somebody pressed the
    button in the first letter it is only asked for. `told_seq` is the newest entry that a
    letter told of.
    """

    uid = models.UUIDField(primary_key=True)
    site = models.UUIDField()
    certificate = models.UUIDField()
    subject = models.CharField(max_length=64)
    link = models.CharField(max_length=64, unique=True)
    sealed = models.TextField()
    asked_at = models.DateTimeField()
    mailed_at = models.DateTimeField(null=True)
    confirmed_at = models.DateTimeField(null=True)
    told_seq = models.BigIntegerField(default=-1)
    tries = models.PositiveSmallIntegerField(default=0)
    again_at = models.DateTimeField()

    class Meta:
        db_table = "buyer_address"
        constraints = [
            models.UniqueConstraint(
                fields=["certificate", "subject"], name="buyer_address_once_per_certificate"
            )
        ]
        indexes = [models.Index(fields=["site", "again_at"], name="buyer_address_due")]
