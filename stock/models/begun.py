"""A move that somebody began to tell and has not recorded yet. Nothing of it has happened."""

from django.db import models


class BegunMove(models.Model):
    """What was said so far on the way through the steps of one move, until it is recorded.

    One for each stay, so two tablets go on with the same one. `people` are uids: first who
    began, last who went on. `version` is one more with each word, so that nobody overwrites
    what they have not seen. `values` are fields as typed: no expected count, no secret.
    """

    stay = models.UUIDField(primary_key=True)
    site = models.UUIDField(db_index=True)
    batch = models.UUIDField(db_index=True)
    step = models.CharField(max_length=20)
    values = models.JSONField(default=dict)
    people = models.JSONField(default=list)
    began_at = models.DateTimeField()
    saved_at = models.DateTimeField()
    version = models.PositiveIntegerField(default=1)

    class Meta:
        db_table = "begun_move"
        constraints = [
            models.CheckConstraint(
                condition=models.Q(saved_at__gte=models.F("began_at")),
                name="begun_move_saved_after_begun",
            ),
        ]
