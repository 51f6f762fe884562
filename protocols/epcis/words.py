"""What people found, decided and certified of batches, as EPCIS events."""

from collections.abc import Iterator
from uuid import UUID

from protocols.epcis.form import Around, Event, Names, Told, object_event, own, quantity

STATES = {
    "certificate_issued": "conformant",
    "certificate_lifted": "conformant",
    "certificate_suspended": "non_conformant",
    "certificate_superseded": "non_conformant",
    "certificate_revoked": "non_conformant",
    "certificate_ended": "inactive",
}


def delivered(told: Told, names: Names, around: Around) -> Iterator[Event]:
    """The boxes of a consignment; where none has a name, the consignment as a whole."""
    uid = UUID(told.body["consignment"])
    boxes = around.boxes.get(uid, ())
    things = [names.of("obj", f"{uid}-{n}") for n, _ in enumerate(boxes, start=1)]
    event = object_event("OBSERVE", "receiving", "in_progress")
    event["epcList"] = things or [names.of("obj", uid)]
    papers = [{"type": "recadv", "bizTransaction": names.of("bt", uid)}]
    if uid in around.waybills:
        papers.append({"type": "bol", "bizTransaction": names.of("bt", f"{uid}-waybill")})
    event["bizTransactionList"] = papers
    if supplier := around.suppliers.get(uid):
        sent, got = names.of("party", supplier), names.of("party", around.site)
        event["sourceList"] = [{"type": "owning_party", "source": sent}]
        event["destinationList"] = [{"type": "owning_party", "destination": got}]
    yield {**event, **own(waybill=around.waybills.get(uid), boxes=list(boxes) or None)}


def differing(told: Told, names: Names, around: Around) -> Iterator[Event]:
    """Where the count of a whole line is not what its papers list."""
    body = told.body
    line = around.lines.get(UUID(body["line"]), {})
    listed = line.get("listed")
    if "box" in body or listed is None or listed == body["received"]:
        return
    counted = [quantity(names, body["line"], body["received"])]
    said = own(declaredQuantity=listed, deadOnArrival=body["doa"])
    event = object_event("OBSERVE", "stock_taking", "mismatch_quantity", quantityList=counted)
    yield {**event, **said}


def counted(told: Told, names: Names, _: Around) -> Iterator[Event]:
    """A count of a batch; it changes nothing by itself."""
    if told.body["counts"]:
        found = [quantity(names, told.body["batch"], told.body["counts"][-1])]
        yield object_event("OBSERVE", "cycle_counting", quantityList=found)


def held(told: Told, names: Names, _: Around) -> Iterator[Event]:
    """On hold. Why is a person's text, and stays in the record book."""
    whoever = [quantity(names, told.body["batch"])]
    event = object_event("OBSERVE", "holding", "non_sellable_other", quantityList=whoever)
    yield {**event, **own(hold=f"urn:uuid:{told.event}")}


def released(told: Told, names: Names, around: Around) -> Iterator[Event]:
    """No longer on hold."""
    hold = UUID(told.body["hold"])
    if hold in around.of:
        whoever = [quantity(names, around.of[hold]["batch"])]
        event = object_event("OBSERVE", "inspecting", "conformant", quantityList=whoever)
        yield {**event, **own(hold=f"urn:uuid:{hold}")}


def signs(told: Told, names: Names, _: Around) -> Iterator[Event]:
    """What somebody saw on animals that live on."""
    body = told.body
    some = [quantity(names, body["batch"])]
    said = own(signs=list(body["signs"]), affected=body["affected"])
    yield object_event("OBSERVE", "inspecting", "non_conformant", quantityList=some, **said)


def renamed(told: Told, names: Names, _: Around) -> Iterator[Event]:
    """Some of a batch are of another species than its papers say."""
    body = told.body
    some = [quantity(names, body["batch"], body["count"])]
    said = own(species=names.of("class", body["species"]))
    yield object_event("OBSERVE", "inspecting", "mismatch_class", quantityList=some, **said)


def reserved(told: Told, names: Names, _: Around) -> Iterator[Event]:
    """Kept for somebody for a while."""
    body = told.body
    some = [quantity(names, body["batch"], body["count"])]
    yield object_event(
        "OBSERVE", "reserving", "reserved", quantityList=some, **own(until=body["until"])
    )


def certified(told: Told, names: Names, around: Around) -> Iterator[Event]:
    """A certificate issued, and what became of it since."""
    body, uid = told.body, UUID(told.body["certificate"])
    batch = [quantity(names, body["batch"], body.get("count"))]
    event = object_event("OBSERVE", "inspecting", STATES[told.kind], quantityList=batch)
    page = around.addresses.get(uid)
    shown = f"{names.base}/c/{page}" if names.base and page else names.of("bt", uid)
    event["certificationInfo"] = [shown]
    event["bizTransactionList"] = [{"type": "cert", "bizTransaction": names.of("bt", uid)}]
    yield {**event, **own(certificate=told.kind.removeprefix("certificate_"))}
