"""Who there is. People and their secrets are kept outside the ledger; roles are projections."""

from django.contrib.auth.models import AbstractBaseUser, BaseUserManager
from django.db import models

from protocols.kinds.places import ROLES
from protocols.proofs import Proof
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
    # Digests and a sealed secret; whoever reads the table cannot sign in with them.
    pin = models.CharField(max_length=128, blank=True)
    pin_to_change = models.BooleanField(default=False)
    second_factor = models.CharField(max_length=300, blank=True)
    # The last 30 seconds whose code was taken: no code counts twice.
    second_factor_step = models.PositiveBigIntegerField(default=0)

    objects = BaseUserManager["Person"]()

    # How this sign-in was proved; not kept here, since it belongs to the sign-in.
    proof: Proof = Proof.PASSWORD

    USERNAME_FIELD = "email"

    class Meta:
        db_table = "person"


class Token(models.Model):
    """A sign-in for programs and tablets; only the digest of its text is kept."""

    digest = models.CharField(max_length=64, primary_key=True)
    person = models.ForeignKey(Person, models.CASCADE, related_name="tokens")
    expires_at = models.DateTimeField()
    proof = models.CharField(max_length=16, default=Proof.PASSWORD.value)

    class Meta:
        db_table = "token"


class RecoveryCode(models.Model):
    """Stands for a second factor once, when the telephone is lost; only a digest is kept."""

    digest = models.CharField(max_length=64, primary_key=True)
    person = models.ForeignKey(Person, models.CASCADE, related_name="recovery_codes")

    class Meta:
        db_table = "recovery_code"


class Attempt(models.Model):
    """How often somebody tried to sign in and was not let in, by what is being guessed."""

    subject = models.CharField(max_length=64, primary_key=True)  # a digest
    since = models.DateTimeField()
    failed = models.PositiveIntegerField()

    class Meta:
        db_table = "attempt"


class Tablet(models.Model):
    """The browser of a device: only the digest of the secret in its cookie is kept.

    `device` is no foreign key: devices are made again by a rebuild, browsers are not.
    """

    digest = models.CharField(max_length=64, primary_key=True)
    device = models.UUIDField(unique=True)
    enrolled_by = models.ForeignKey(Person, models.PROTECT, related_name="+")
    enrolled_at = models.DateTimeField()
    # Whose own telephone it is; nobody's: shared by everybody at the site.
    owner = models.ForeignKey(Person, models.PROTECT, null=True, related_name="+")

    class Meta:
        db_table = "tablet"


class OutsideSecond(models.Model):
    """A link by which a named outsider says, once, that a late entry was so.

    `person` is that outsider: a name that nobody signs in with. `fact` is what was told late.
    """

    digest = models.CharField(max_length=64, primary_key=True)
    site = models.UUIDField()
    fact = models.UUIDField(db_index=True)
    person = models.ForeignKey(Person, models.PROTECT, related_name="+")
    made_by = models.ForeignKey(Person, models.PROTECT, related_name="+")
    made_at = models.DateTimeField()
    expires_at = models.DateTimeField()
    used_at = models.DateTimeField(null=True)

    class Meta:
        db_table = "outside_second"


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


class DeviceToken(models.Model):
    """By what a probe or its gateway may send values, and nothing else; only the digest.

    What it sends is told by the person who made it, while they work at the site.
    """

    device = models.OneToOneField(
        Device, models.CASCADE, primary_key=True, related_name="token"
    )
    digest = models.CharField(max_length=64, unique=True)
    person = models.ForeignKey(Person, models.CASCADE, related_name="+")
    made_at = models.DateTimeField()

    class Meta:
        db_table = "device_token"
