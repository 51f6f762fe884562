"""Which batch was in which container, and with which kit, as it was known by an entry."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime
from uuid import UUID

from django.db.models import Exists, OuterRef, Q

from stock.models import Fact, StayRow
from stock.queries.reports.form import Asked


@dataclass(frozen=True, slots=True)
class Stayed:
    """One stay; `ended` is None while it was not known to have ended."""

    uid: UUID
    batch: UUID
    code: str
    container: UUID
    container_label: str
    kit: UUID | None
    kit_label: str | None
    began: datetime
    ended: datetime | None

    def holds(self, moment: datetime) -> bool:
        return self.began <= moment and (self.ended is None or moment < self.ended)


def stays_within(asked: Asked) -> Iterator[Stayed]:
    """Stays that touch the span, of the batches asked about, in the order of their beginning.

    One query.
    """
    known = Fact.objects.filter(log=asked.site, seq__lte=asked.known_by)
    ended = Exists(known.filter(uid=OuterRef("ended_by")))
    rows = StayRow.objects.annotate(end_known=ended).filter(
        Q(ended_latest__isnull=True) | Q(ended_latest__gte=asked.begins) | Q(end_known=False),
        batch__site=asked.site,
        began_earliest__lt=asked.ends,
        began_by__in=known.values("uid"),
    )
    if asked.batches:
        rows = rows.filter(batch__in=asked.batches)
    names = rows.select_related("batch", "container", "kit").order_by("began_earliest", "uid")
    for row in names.iterator(chunk_size=500):
        yield _stayed(row)


def _stayed(row: StayRow) -> Stayed:
    end_known: bool = row.end_known  # type: ignore[attr-defined]  # annotated above
    return Stayed(
        uid=row.uid,
        batch=row.batch_id,
        code=row.batch.code,
        container=row.container_id,
        container_label=row.container.label,
        kit=row.kit_id,
        kit_label=row.kit.label if row.kit else None,
        began=row.began_latest,
        ended=row.ended_latest if end_known else None,
    )


class Whereabouts:
    """Who was where. One query; the stays of the span are kept in memory."""

    def __init__(self, asked: Asked) -> None:
        self._by: dict[UUID, list[Stayed]] = {}
        self._of: dict[UUID, list[Stayed]] = {}
        self._narrow = bool(asked.batches)
        for one in stays_within(asked):
            self._by.setdefault(one.container, []).append(one)
            self._of.setdefault(one.batch, []).append(one)

    def there(self, container: UUID, moment: datetime) -> list[Stayed]:
        """Whose stay it was in a container at a moment."""
        return [one for one in self._by.get(container, ()) if one.holds(moment)]

    def concerns(self, container: UUID, moment: datetime) -> bool:
        """Whether what was done in a container at a moment is asked about."""
        return not self._narrow or bool(self.there(container, moment))

    def of_batch(self, batch: UUID, moment: datetime) -> str | None:
        """The container in which a batch was just before a moment; None for nowhere."""
        found = [one for one in self._of.get(batch, ()) if one.began < moment]
        last = found[-1] if found else None
        if last is None or (last.ended is not None and last.ended < moment):
            return None
        return last.container_label

    @property
    def batches(self) -> list[UUID]:
        """Every batch of these stays."""
        return list(self._of)
