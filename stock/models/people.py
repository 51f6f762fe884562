"""Who there is. People and their secrets are kept outside the ledger; roles are projections."""

from django.contrib.auth.models import AbstractBaseUser, BaseUserManager
from django.db import models

from protocols.kinds.places import ROLES
from stock.models.base import Projection, Thing


class Person(AbstractBaseUser):
    """A person who signs in. The name is here only, never in the ledger; it can be erased."""

    uid = models.UUIDField(primary_key=True)
    organisation = models.UUIDField(db_index=True)
    email = models.EmailField(unique=True)
    name = models.CharField(max_length=120)
    is_active = models.BooleanField(default=True)
    # In which units they read, by what is measured; nothing that is kept depends on it.
    units = models.JSONField(default=dict)
    # In which language they read pages; empty: in that of the browser.
    language = models.CharField(max_length=12, blank=True, default="")

    objects = BaseUserManager["Person"]()

    USERNAME_FIELD = "email"

    class Meta:
        db_table = "person"


class Token(models.Model):
    """A sign-in for programs and tablets; only the digest of its text is kept."""

    digest = models.CharField(max_length=64, primary_key=True)
    person = models.ForeignKey(Person, models.CASCADE, related_name="tokens")
    expires_at = models.DateTimeField()

    class Meta:
        db_table = "token"


class SetupCode(models.Model):
    """The one-time code that makes the first organisation; gone once used."""

    digest = models.CharField(max_length=64, primary_key=True)
    made_at = models.DateTimeField()

    class Meta:
        db_table = "setup_code"


class Organisation(Thing):
    name = models.CharField(max_length=120)

    class Meta:
        db_table = "organisation"


class Site(Thing):
    organisation = models.ForeignKey(Organisation, models.PROTECT, related_name="sites")
    name = models.CharField(max_length=120)
    zone = models.CharField(max_length=64)

    class Meta:
        db_table = "site"


class Role(Projection):
    """What a person may do at a site."""

    person = models.ForeignKey(Person, models.PROTECT, related_name="roles")
    site = models.ForeignKey(Site, models.PROTECT, related_name="roles")
    role = models.CharField(max_length=12, choices=[(one, one) for one in ROLES])

    class Meta:
        db_table = "role"
        constraints = [
            models.UniqueConstraint(fields=["person", "site", "role"], name="role_once"),
        ]


class Device(Thing):
    """A tablet or probe that belongs to a site."""

    site = models.ForeignKey(Site, models.PROTECT, related_name="devices")
    label = models.CharField(max_length=40)
    ended_at = models.DateTimeField(null=True)

    class Meta:
        db_table = "device"
        constraints = [
            models.UniqueConstraint(fields=["site", "label"], name="device_label_once_per_site")
        ]
