"""What is kept beside the record books so that proofs of them are short. Made from entries."""

from django.db import models

from stock.models.facts import Log


class KeptSubtree(models.Model):
    """The root of a complete subtree of a record book; it never changes once it is complete."""

    log = models.ForeignKey(Log, models.PROTECT, related_name="subtrees", db_column="log")
    level = models.PositiveSmallIntegerField()
    position = models.PositiveBigIntegerField()
    root = models.BinaryField(max_length=32)

    class Meta:
        db_table = "subtree"
        constraints = [
            models.UniqueConstraint(
                fields=["log", "level", "position"], name="subtree_once_per_log"
            )
        ]


class Checkpoint(models.Model):
    """A sealed page: how long a record book was, and its root, as it was signed then."""

    log = models.ForeignKey(Log, models.PROTECT, related_name="checkpoints", db_column="log")
    size = models.PositiveBigIntegerField()
    note = models.TextField()
    made_at = models.DateTimeField()

    class Meta:
        db_table = "checkpoint"
        constraints = [
            models.UniqueConstraint(fields=["log", "size"], name="checkpoint_once_per_size")
        ]
