"""Suppliers, species, packing lists, and what came out of the bags."""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from typing import Any
from uuid import UUID

from protocols import codes
from protocols.animals import Spot
from protocols.intake import BoxCounted, may_count, may_deliver
from protocols.values import Reason
from stock.apply.counts import Going, transfer
from stock.apply.places import put
from stock.apply.registry import applies, moment
from stock.models import Consignment, Fact, Line, LineCount, Species, Supplier
from stock.refusals import CannotApply, not_here, refuse


@applies("supplier_set")
def set_supplier(fact: Fact) -> None:
    """A fact without a name leaves the name as it is: it lives in an erasable text."""
    body = fact.body
    name = fact.texts.filter(name="name").values_list("value", flat=True).first()
    _is_ours(Supplier, fact, body["supplier"])
    put(
        Supplier,
        fact,
        body["supplier"],
        organisation_id=fact.log.organisation,
        date_order=body.get("date_order"),
        decimal=body.get("decimal"),
        mapping=body["mapping"],
        claim_terms=body["claim_terms"],
        **({} if name is None else {"name": name}),
    )


@applies("species_set")
def set_species(fact: Fact) -> None:
    body = fact.body
    _is_ours(Species, fact, body["species"])
    put(
        Species,
        fact,
        body["species"],
        organisation_id=fact.log.organisation,
        scientific_name=body["scientific_name"],
        aphia_id=body.get("aphia_id"),
        groups=body["groups"],
        trade_names=body["trade_names"],
    )


@applies("list_applied")
def apply_list(fact: Fact) -> None:
    """The lines of a list, or of one part of it. Counts stay as they are whatever it says."""
    body = fact.body
    part, parts = body.get("part", 1), body.get("parts", 1)
    consignment = _begin_list(fact) if part == 1 else _list_begun(fact)
    _are_known(fact, body["lines"])
    _put_lines(fact, consignment, body["lines"])
    if part == parts:
        first = fact.seq - parts + 1
        gone = Line.objects.filter(consignment=consignment, version__lt=first)
        gone.update(listed=0, boxes=[], version=fact.seq)


@applies("consignment_delivered")
def deliver_consignment(fact: Fact) -> None:
    consignment = Consignment.read(uid=fact.body["consignment"], site=fact.log_id)
    if consignment is None:
        raise not_here("consignment")
    at = moment(fact.body["delivered_at"])
    _fits(may_deliver(at, already=consignment.delivered_at))
    consignment.delivered_at, consignment.version = at, fact.seq
    consignment.save()


@applies("line_counted")
def count_line(fact: Fact) -> None:
    """Out of the bags into the line; the dead on arrival apart. Counts by box add up."""
    body = fact.body
    line = _line(fact)
    count = BoxCounted(
        body.get("box"), body["received"], body["doa"], body.get("wrong_species", 0)
    )
    earlier = line.counts.values_list("box", flat=True)
    _fits(may_count(count, list(earlier), named=count.box is not None))
    LineCount.objects.create(
        fact=fact.uid,
        line=line,
        box=count.box,
        received=count.received,
        doa=count.doa,
        wrong_species=count.wrong_species,
        length_cm=body.get("length_cm"),
        performed_at=fact.performed_at,
    )
    received = Spot(line.uid, "received")
    goings = (
        Going(Spot(line.uid, "outside"), received, count.received),
        Going(received, Spot(line.uid, "doa"), count.doa),
    )
    transfer(fact, *(going for going in goings if going.count), code="more_than_received")


@applies("doa_reversed")
def reverse_doa(fact: Fact) -> None:
    """Some that were counted as dead live: they can be placed, as a batch of their own."""
    line = _line(fact)
    begin, end = Spot(line.uid, "doa"), Spot(line.uid, "received")
    transfer(fact, Going(begin, end, fact.body["count"]), code="more_than_received")


@applies("line_matched")
def match_line(fact: Fact) -> None:
    line = _line(fact)
    _are_known(fact, [fact.body])
    line.species_id, line.version = UUID(fact.body["species"]), fact.seq
    line.save()


def _begin_list(fact: Fact) -> Consignment:
    """The consignment of a first list, or the same one under a later version of its list."""
    body = fact.body
    known = Consignment.read(uid=body["consignment"])
    before = known.list_version if known and known.site_id == fact.log_id else 0
    if (known and not before) or body["list_version"] != before + 1:
        text = "The list is not the one that follows the list on record."
        raise CannotApply(refuse("contradicts_record", text))
    put(
        Consignment,
        fact,
        body["consignment"],
        site_id=fact.log_id,
        supplier_id=_supplier(fact),
        waybill=body.get("waybill"),
        list_version=body["list_version"],
        file=body.get("file"),
        listed_at=known.listed_at if known else fact.performed_at,
    )
    return Consignment.objects.get(uid=body["consignment"])


def _list_begun(fact: Fact) -> Consignment:
    body = fact.body
    found = Consignment.read(
        uid=body["consignment"], site=fact.log_id, list_version=body["list_version"]
    )
    if found is None:
        raise CannotApply(
            refuse("contradicts_record", "The first part of the list is missing.")
        )
    return found


def _put_lines(fact: Fact, consignment: Consignment, told: Sequence[Mapping[str, Any]]) -> None:
    """Lines there are keep their place and uid; new ones follow after the last."""
    known = {str(uid): line for uid, line in Line.objects.in_bulk(_uids(told)).items()}
    if any(line.consignment_id != consignment.uid for line in known.values()):
        raise CannotApply(refuse("contradicts_record", "A line belongs to another list."))
    n = Line.objects.filter(consignment=consignment).count()
    fresh = []
    for one in told:
        line = known.get(one["line"])
        if line is None:
            n += 1
            code = codes.short_code(one["line"])
            line = Line(uid=one["line"], consignment=consignment, n=n, code=code)
            fresh.append(line)
        _print_line(line, one, fact)
    Line.objects.bulk_create(fresh, batch_size=200)
    Line.objects.bulk_update(known.values(), PRINTED, batch_size=100)


def _uids(told: Iterable[Mapping[str, Any]]) -> list[UUID]:
    return [UUID(one["line"]) for one in told]


PRINTED = ("version", "box", "boxes", "bag", "text", "species", "listed", "price")


def _print_line(line: Line, told: Mapping[str, Any], fact: Fact) -> None:
    """What the paper says; a species that a person matched stays where it says nothing."""
    species = told.get("species")
    line.version = fact.seq
    line.box, line.boxes = told.get("box"), told.get("boxes", [])
    line.bag, line.text = told.get("bag"), told["text"]
    line.species_id = UUID(species) if species else line.species_id
    line.listed, line.price = told["listed"], told.get("price")


def _supplier(fact: Fact) -> UUID:
    supplier = Supplier.read(uid=fact.body["supplier"], organisation=fact.log.organisation)
    if supplier is None:
        raise not_here("supplier")
    return supplier.uid


def _are_known(fact: Fact, told: Iterable[Mapping[str, Any]]) -> None:
    """Species are those of the site's organisation."""
    named = {one["species"] for one in told if one.get("species")}
    ours = Species.objects.filter(uid__in=named, organisation=fact.log.organisation)
    if ours.count() != len(named):
        raise not_here("species")


def _line(fact: Fact) -> Line:
    line = Line.read(uid=fact.body["line"], consignment__site=fact.log_id)
    if line is None:
        raise not_here("line")
    return line


def _is_ours(kind: type[Supplier] | type[Species], fact: Fact, uid: str) -> None:
    """A uid that another organisation uses is no name for a thing of this one."""
    known = kind.read(uid=uid)
    if known is not None and known.organisation_id != fact.log.organisation:
        raise not_here("supplier or species")


def _fits(reasons: Iterator[Reason]) -> None:
    for reason in reasons:
        raise CannotApply(reason)
