"""What every table shares: names made elsewhere, and projections that only `apply` writes."""

from collections.abc import Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from typing import Any, Self, TypeVar

from django.db import models

_applying: ContextVar[bool] = ContextVar("applying", default=False)


@contextmanager
def writing_projections() -> Iterator[None]:
    """Inside this block projections may be written: `apply`, judging and rebuild open it."""
    token = _applying.set(True)
    try:
        yield
    finally:
        _applying.reset(token)


def _refuse_outside_apply() -> None:
    if not _applying.get():
        raise TypeError("Projections are written by apply(fact) only; tell a fact instead.")


M = TypeVar("M", bound=models.Model)


class ProjectionQuerySet(models.QuerySet[M]):
    def update(self, **values: Any) -> int:
        _refuse_outside_apply()
        return super().update(**values)

    def delete(self) -> tuple[int, dict[str, int]]:
        _refuse_outside_apply()
        return super().delete()

    def bulk_create(self, *args: Any, **options: Any) -> list[M]:
        _refuse_outside_apply()
        return super().bulk_create(*args, **options)


class Projection(models.Model):
    """A table that can be made again from the facts at any time."""

    objects = ProjectionQuerySet.as_manager()

    class Meta:
        abstract = True

    def save(self, *args: Any, **options: Any) -> None:
        _refuse_outside_apply()
        super().save(*args, **options)

    def delete(self, *args: Any, **options: Any) -> tuple[int, dict[str, int]]:
        _refuse_outside_apply()
        return super().delete(*args, **options)


class Thing(Projection):
    """Something people name: its uid, and the ledger position that last changed it."""

    uid = models.UUIDField(primary_key=True)
    version = models.PositiveBigIntegerField()

    class Meta:
        abstract = True

    @classmethod
    def read(cls, **what: Any) -> Self | None:
        found: Self | None = cls._default_manager.filter(**what).first()  # type: ignore[assignment]
        return found
