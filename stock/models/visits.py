"""Visits of inspectors: by which secret they read, what they may see, what they were shown."""

from django.db import models


class Visit(models.Model):
    """A reading right for a while. Not a projection: it holds digests of secrets.

    `link` is good for beginning it once; `session` is the browser that began it.
    """

    uid = models.UUIDField(primary_key=True)
    site = models.UUIDField(db_index=True)
    link = models.CharField(max_length=64, unique=True)
    session = models.CharField(max_length=64, unique=True, null=True)  # noqa: DJ001
    opened_by = models.UUIDField()
    opened_at = models.DateTimeField()
    ends_at = models.DateTimeField()
    begins = models.DateTimeField()
    ends = models.DateTimeField()
    reports = models.JSONField()
    batches = models.JSONField(default=list)
    may_take = models.BooleanField(default=False)
    begun_at = models.DateTimeField(null=True)
    closed_at = models.DateTimeField(null=True)

    class Meta:
        db_table = "visit"
        constraints = [
            models.CheckConstraint(
                condition=models.Q(ends_at__gt=models.F("opened_at")),
                name="visit_ends_after_it_was_opened",
            ),
            models.CheckConstraint(
                condition=models.Q(ends__gt=models.F("begins")), name="visit_speaks_of_days"
            ),
        ]


class VisitPage(models.Model):
    """One thing that was shown in a visit, in the order of showing."""

    visit = models.ForeignKey(Visit, models.PROTECT, related_name="pages")
    n = models.PositiveIntegerField()
    at = models.DateTimeField()
    report = models.CharField(max_length=40)
    how = models.CharField(max_length=12)
    begins = models.DateTimeField()
    ends = models.DateTimeField()
    known_by = models.BigIntegerField()
    sha256 = models.CharField(max_length=64)

    class Meta:
        db_table = "visit_page"
        constraints = [models.UniqueConstraint(fields=["visit", "n"], name="visit_page_once")]
