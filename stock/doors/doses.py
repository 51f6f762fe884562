"""Giving something into a container's water, under a protocol version or by itself."""

from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal
from typing import Any
from uuid import UUID

from protocols.library.giving import Animals, DoseAsked, WaterWith, may_give
from protocols.library.values import Treatment
from protocols.versions import UnknownProtocol
from stock import access
from stock.answers import Answered
from stock.doors.door import Asking, Door, enter
from stock.ledger import Told
from stock.models import Container
from stock.queries.doses import animals_in, sharing_water, water_with
from stock.queries.protocols import version_of
from stock.queries.things import shown
from stock.refusals import Refused, refuse


@dataclass(frozen=True, slots=True)
class Giving:
    """Who shares the water and what it is like."""

    animals: tuple[Animals, ...]
    water: WaterWith


def give_dose(asking: Asking, *, container: UUID, body: Mapping[str, Any]) -> Answered:
    """Something given; `protocol` in the body names the version it is given under.

    Asked, a version refuses whom it is never for and what must not meet; a veterinarian may
    insist with a reason, which stands in the entry.
    """
    row, site = access.thing_for(asking.person, Container, container, access.HANDS)
    said = {name: value for name, value in body.items() if name != "protocol"}
    by = _version(site.organisation_id, body.get("protocol"))
    if by is not None:
        said |= {"protocol": by.name, "version": by.version}
    dose = DoseAsked(
        product=body["product"],
        amount=Decimal(body["amount"]),
        unit=body["unit"],
        prescribed=bool(body.get("prescription")),
    )
    told = Told("dose_given", {"container": container, **said}, asking.uid, texts=asking.texts)
    roles = access.roles_at(asking.person, site.uid)

    def load(_: object) -> Giving:
        shared, at = sharing_water(row), asking.performed_at
        return Giving(animals_in(shared, at), water_with(shared, site.organisation_id, at))

    return enter(
        asking,
        site.uid,
        Door(
            load=load,
            ask=lambda found: may_give(dose, by, found.animals, found.water, roles),
            tell=lambda _: (told,),
            show=lambda _: {"container": shown(Container, container), "warnings": []},
        ),
    )


def _version(organisation: UUID, key: str | None) -> Treatment | None:
    if key is None:
        return None
    try:
        found = version_of(organisation, key).found
    except UnknownProtocol:
        found = None
    if not isinstance(found, Treatment):
        text = "There is no such protocol of something that is given."
        raise Refused(refuse("unreadable", text, pointer="/protocol"))
    return found
