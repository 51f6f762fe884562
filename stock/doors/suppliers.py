"""Who sends animals, and which species there are: known to the whole organisation."""

from collections.abc import Callable, Iterable, Iterator, Mapping
from typing import Any, TypeVar
from uuid import UUID

from protocols.said import said
from protocols.values import Reason
from stock import access
from stock.answers import Answered
from stock.doors.door import Asking, Door, enter
from stock.ledger import Told
from stock.models import Log, Species, Supplier
from stock.queries.suppliers import species_shown, supplier_shown
from stock.refusals import NotFound, changed, refuse

T = TypeVar("T", Supplier, Species)


def make_supplier(asking: Asking, *, name: str, settings: Mapping[str, Any]) -> Answered:
    """A new supplier. `settings`: date_order, decimal, mapping, claim_terms (kind: seconds)."""
    uid = asking.new_uid()
    return _set_supplier(asking, uid=uid, name=name, settings=settings, version=None)


def change_supplier(
    asking: Asking, *, uid: UUID, version: int, name: str, settings: Mapping[str, Any]
) -> Answered:
    """Other words for a supplier, if nobody changed it since the asker read `version`."""
    return _set_supplier(asking, uid=uid, name=name, settings=settings, version=version)


def make_species(asking: Asking, *, body: Mapping[str, Any]) -> Answered:
    """A new species: scientific_name, aphia_id, groups, trade_names."""
    return _set_species(asking, uid=asking.new_uid(), body=body, version=None)


def change_species(
    asking: Asking, *, uid: UUID, version: int, body: Mapping[str, Any]
) -> Answered:
    """Other words for a species, if nobody changed it since the asker read `version`."""
    return _set_species(asking, uid=uid, body=body, version=version)


def _set_supplier(
    asking: Asking, *, uid: UUID, name: str, settings: Mapping[str, Any], version: int | None
) -> Answered:
    body = {"supplier": uid, "mapping": {}, "claim_terms": {}, **settings}
    # The name may be a person's: it stands beside the entry, where it can be erased.
    told = Told("supplier_set", body, texts={"name": name})
    return _set(
        asking,
        told,
        load=lambda log: Supplier.read(uid=uid, organisation=log.uid),
        ask=lambda known: _unchanged(known, version),
        show=lambda: {"supplier": supplier_shown(uid)},
    )


def _set_species(
    asking: Asking, *, uid: UUID, body: Mapping[str, Any], version: int | None
) -> Answered:
    def ask(known: Species | None) -> Iterator[Reason]:
        yield from _unchanged(known, version)
        yield from _name_is_free(asking.person.organisation, uid, body["scientific_name"])

    return _set(
        asking,
        Told("species_set", {"species": uid, **body}),
        load=lambda log: Species.read(uid=uid, organisation=log.uid),
        ask=ask,
        show=lambda: {"species": species_shown(uid)},
    )


def _set(
    asking: Asking,
    told: Told,
    *,
    load: Callable[[Log], T | None],
    ask: Callable[[T | None], Iterable[Reason]],
    show: Callable[[], dict[str, Any]],
) -> Answered:
    organisation = access.organisation_for(asking.person, access.MANAGERS)
    return enter(
        asking,
        organisation.uid,
        Door(load=load, ask=ask, tell=lambda _: (told,), show=lambda _: show()),
    )


def _unchanged(known: Supplier | Species | None, version: int | None) -> Iterator[Reason]:
    """Nothing bears the uid of a new thing; what is changed is there, as the asker read it."""
    if version is None and known is not None:
        text = "This uid names something else already."
        yield refuse("contradicts_record", text, pointer="/uid")
    if version is not None and known is None:
        raise NotFound
    if version is not None and known is not None and known.version != version:
        yield changed(known.version, version)


def _name_is_free(organisation: UUID, uid: UUID, name: str) -> Iterator[Reason]:
    bearers = Species.objects.filter(organisation=organisation, scientific_name__iexact=name)
    if bearers.exclude(uid=uid).exists():
        text = said("{name} is known already.", name=name)
        yield refuse("label_taken", text, pointer="/scientific_name", label=name)
