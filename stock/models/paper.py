"""What was printed for a power cut."""

from django.db import models


class PaperSheet(models.Model):
    """A sheet as it was printed, so that its lines can be typed in later. Not a projection.

    `lines` say by number what stands there. A line is on record once the fact named by sheet
    and number is. `photos` are digests of kept files.
    """

    uid = models.UUIDField(primary_key=True)
    site = models.UUIDField()
    code = models.CharField(max_length=16)
    made_at = models.DateTimeField()
    made_by = models.UUIDField(null=True)
    lines = models.JSONField()
    photos = models.JSONField(default=list)

    class Meta:
        db_table = "paper_sheet"
        constraints = [
            models.UniqueConstraint(fields=["site", "code"], name="paper_sheet_code_once")
        ]
        indexes = [models.Index(fields=["site", "-made_at"], name="paper_sheet_newest")]
