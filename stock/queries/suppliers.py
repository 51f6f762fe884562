"""Suppliers and species of an organisation as they are shown."""

from typing import Any
from uuid import UUID

from stock.models import Person, Species, Supplier

SUPPLIER = ("uid", "version", "name", "date_order", "decimal", "mapping", "claim_terms")
SPECIES = ("uid", "version", "scientific_name", "aphia_id", "groups", "trade_names")


def supplier_shown(uid: UUID) -> dict[str, Any]:
    """One supplier. One query."""
    return dict(Supplier.objects.values(*SUPPLIER).get(uid=uid))


def species_shown(uid: UUID) -> dict[str, Any]:
    """One species. One query."""
    return dict(Species.objects.values(*SPECIES).get(uid=uid))


def suppliers_listed(person: Person) -> list[dict[str, Any]]:
    """The suppliers of the person's organisation, by name. One query."""
    rows = Supplier.objects.filter(organisation=person.organisation)
    return list(rows.order_by("name", "uid").values(*SUPPLIER))


def species_listed(person: Person) -> list[dict[str, Any]]:
    """The species of the person's organisation, by scientific name. One query."""
    rows = Species.objects.filter(organisation=person.organisation)
    return list(rows.order_by("scientific_name", "uid").values(*SPECIES))


def supplier_of(person: Person, uid: UUID) -> Supplier | None:
    """A supplier of the person's organisation; a foreign one is not there."""
    return Supplier.read(uid=uid, organisation=person.organisation)


def species_of(person: Person, uid: UUID) -> Species | None:
    """A species of the person's organisation; a foreign one is not there."""
    return Species.read(uid=uid, organisation=person.organisation)
