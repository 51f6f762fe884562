"""Other programs that are told of events. Nothing here is a projection."""

from django.db import models

from stock.models.people import Person, Site


class Webhook(models.Model):
    """An address of another program. Address and secrets are sealed and never shown again."""

    ACTIVE, ENDED = "active", "ended"

    uid = models.UUIDField(primary_key=True)
    site = models.ForeignKey(Site, models.PROTECT, related_name="webhooks")
    label = models.CharField(max_length=40)
    host = models.CharField(max_length=500)
    address = models.TextField()
    secret = models.TextField()
    # Those before, sealed, each of which signs as well until then: [{sealed, until}].
    old_secrets = models.JSONField(default=list)
    kinds = models.JSONField()
    state = models.CharField(max_length=6, default=ACTIVE)
    # Why it was ended: `by_hand`, `gone`, `failing`.
    why = models.CharField(max_length=8, default="")
    made_by = models.ForeignKey(Person, models.PROTECT, related_name="+")
    made_at = models.DateTimeField()
    ended_at = models.DateTimeField(null=True)
    # Since when nothing was taken, and how many tries that were; null while all is well.
    failing_since = models.DateTimeField(null=True)
    failed_tries = models.PositiveIntegerField(default=0)

    class Meta:
        db_table = "webhook"
        constraints = [
            models.UniqueConstraint(fields=["site", "label"], name="webhook_label_once")
        ]


class WebhookEvent(models.Model):
    """What is told, kept for a while so that it can be told again."""

    effect = models.CharField(max_length=200, unique=True)
    site = models.ForeignKey(Site, models.PROTECT, related_name="+")
    kind = models.CharField(max_length=32)
    data = models.JSONField()
    happened_at = models.DateTimeField()
    made_at = models.DateTimeField()

    class Meta:
        db_table = "webhook_event"
        indexes = [models.Index(fields=["site", "made_at"], name="webhook_event_of_site")]


class WebhookDelivery(models.Model):
    """One event on its way to one webhook."""

    WAITING, UNDER_WAY, TAKEN = "waiting", "under_way", "taken"
    FAILED, ENDED = "failed", "ended"

    webhook = models.ForeignKey(Webhook, models.CASCADE, related_name="deliveries")
    event = models.ForeignKey(WebhookEvent, models.CASCADE, related_name="deliveries")
    state = models.CharField(max_length=9, default=WAITING)
    tries = models.PositiveSmallIntegerField(default=0)
    # When to try (again), or when the try that is under way began, or when it ended.
    at = models.DateTimeField()
    # What each try was answered, the newest last: [{at, status, why, text}].
    answers = models.JSONField(default=list)

    class Meta:
        db_table = "webhook_delivery"
        constraints = [
            models.UniqueConstraint(fields=["webhook", "event"], name="webhook_event_once")
        ]
        indexes = [
            models.Index(
                fields=["state", "at"],
                condition=models.Q(state__in=["waiting", "under_way"]),
                name="webhook_delivery_due",
            )
        ]

    @property
    def is_coming(self) -> bool:
        """Whether it is to be sent, by itself, once its moment has come."""
        return self.state in (self.WAITING, self.UNDER_WAY)
