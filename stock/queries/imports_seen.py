"""A packing list that was read, with who sent it."""

from dataclasses import dataclass
from typing import Any
from uuid import UUID

from django.db.models import OuterRef, Subquery

from stock.access import Person
from stock.models import Import, Supplier
from stock.queries.lists import import_shown
from stock.refusals import NotFound


@dataclass(frozen=True, slots=True)
class ImportSeen:
    """The row of a read list; `consignment` once it is applied."""

    row: Import
    site: UUID
    supplier: str
    consignment: UUID | None

    def shown(self, person: Person) -> dict[str, Any]:
        """As people look through it. Five queries at most."""
        return import_shown(self.row, person)


def import_seen(uid: UUID) -> ImportSeen:
    """A read list. One query. Raises NotFound."""
    name = Supplier.objects.filter(uid=OuterRef("supplier")).values("name")[:1]
    row: Any = Import.objects.annotate(sent_by=Subquery(name)).filter(uid=uid).first()
    if row is None:
        raise NotFound
    return ImportSeen(row, row.site, row.sent_by or "", row.consignment)
