"""What became of animals as EPCIS events: every going of the record book is in exactly one.

Added up, class by class, ADD and outputs are what came; DELETE, inputs and what was sent
without what came back are what went; the rest is what is there. `tallied` does that sum.
"""

from collections import Counter
from collections.abc import Iterable, Iterator, Mapping
from typing import Any
from uuid import UUID

from protocols.epcis.form import Around, Event, Going, Names, Told, object_event, own, quantity

HERE = frozenset({"received", "alive", "unaccounted"})
SENT = frozenset({"sold", "on_the_way"})
OUTSIDE = "outside"
RETURNED = "returned"
DEAD_ON_ARRIVAL = {"doa": "dead_on_arrival"}


def quantity_events(told: Told, names: Names, around: Around) -> Iterator[Event]:
    """The events of all goings of one report."""
    across = [one for one in told.goings if one.begin[0] != one.end[0]]
    if across:
        yield _transformed(told, across, names)
    for one in told.goings:
        if one.begin[0] == one.end[0]:
            yield from _within(told, one, names, around)


def _transformed(told: Told, goings: Iterable[Going], names: Names) -> Event:
    inputs, outputs = Counter[UUID](), Counter[UUID]()
    for one in goings:
        inputs[one.begin[0]] += one.count
        outputs[one.end[0]] += one.count
    return {
        "type": "TransformationEvent",
        "transformationID": f"urn:uuid:{told.event}",
        "inputQuantityList": [quantity(names, uid, n) for uid, n in inputs.items()],
        "outputQuantityList": [quantity(names, uid, n) for uid, n in outputs.items()],
        "bizStep": "creating_class_instance",
        "disposition": "active",
        "ilmd": own(parents=[names.of("class", uid) for uid in inputs]),
    }


def _within(told: Told, one: Going, names: Names, around: Around) -> Iterator[Event]:
    """What left a place, undone where it had been gone, and what came to the next."""
    holder, left, reached = one.begin[0], one.begin[1], one.end[1]
    counted = {"quantityList": [quantity(names, holder, one.count)]}
    if left in SENT and reached == RETURNED:
        yield object_event("OBSERVE", "receiving", "returned", **counted)
        return
    if left in HERE and reached in HERE:
        yield _looked_for(reached, counted)
        return
    if left == OUTSIDE:
        yield _come(told, holder, counted, names, around)
    elif left not in HERE:
        yield _undone(left, counted)
    if reached == OUTSIDE:
        yield object_event("DELETE", "decommissioning", "inactive", **counted)
    elif reached not in HERE:
        yield _gone(told, one, counted, names, around)


def _looked_for(reached: str, counted: Mapping[str, Any]) -> Event:
    if reached == "unaccounted":
        more = own(what="unaccounted")
        return object_event("OBSERVE", "stock_taking", "mismatch_quantity", **counted, **more)
    more = own(what="found")
    return object_event("OBSERVE", "stock_taking", "available", **counted, **more)


def _come(
    told: Told, holder: UUID, counted: Mapping[str, Any], names: Names, around: Around
) -> Event:
    """Counted out of the bags, or born here."""
    line = around.lines.get(holder)
    more: Event = {}
    if line is not None:
        more = {
            "bizTransactionList": _intake(line["consignment"], names),
            "ilmd": own(
                scientificName=line.get("scientific_name"),
                scientificNameID=_taxon(line.get("aphia_id")),
                countryOfOrigin=line.get("origin"),
                sourceType=line.get("source_type"),
                declaredQuantity=line.get("listed"),
            ),
        }
    elif told.kind == "born_here":
        more = {"ilmd": own(bornHere=True, estimated=told.body.get("estimated"))}
    return object_event("ADD", "creating_class_instance", "active", **counted, **more)


def _taxon(aphia_id: int | None) -> str | None:
    """A species of the World Register of Marine Species, as its LSID."""
    return None if aphia_id is None else f"urn:lsid:marinespecies.org:taxname:{aphia_id}"


def _intake(consignment: object, names: Names) -> list[Event]:
    return [{"type": "recadv", "bizTransaction": names.of("bt", consignment)}]


def _undone(left: str, counted: Mapping[str, Any]) -> Event:
    """Said to be gone, and not gone."""
    if left in SENT:
        return object_event("OBSERVE", "void_shipping", "available", **counted)
    more = own(reversalOf=DEAD_ON_ARRIVAL.get(left, left))
    return object_event("ADD", "stock_taking", "active", **counted, **more)


def _gone(
    told: Told, one: Going, counted: Mapping[str, Any], names: Names, around: Around
) -> Event:
    """Dead or lost for good, handed over, or back from there."""
    holder, reached = one.end
    if reached in SENT:
        return _sent(told, reached, counted, names, around)
    if reached == RETURNED:
        return object_event("OBSERVE", "receiving", "returned", **counted)
    step = "sampling" if reached == "sampled" else "destroying"
    reason = own(lossReason=DEAD_ON_ARRIVAL.get(reached, reached), cause=_cause(told))
    line = around.lines.get(holder)
    more = {"bizTransactionList": _intake(line["consignment"], names)} if line else {}
    return object_event("DELETE", step, "destroyed", **counted, **more, **reason)


def _cause(told: Told) -> list[str] | None:
    """Two levels, the broader first; None where nobody said."""
    return list(told.body.get("cause", ())) or None


def _sent(
    told: Told, reached: str, counted: Mapping[str, Any], names: Names, around: Around
) -> Event:
    """To another site or a buyer with a name in the books, or over the counter."""
    body = told.body
    buyer = body.get("site") if reached == "on_the_way" else body.get("buyer")
    if buyer is None:
        event = object_event("OBSERVE", "retail_selling", "retail_sold", **counted)
    else:
        kind = "possessing_party" if reached == "on_the_way" else "owning_party"
        source, to = names.of("party", around.site), names.of("party", buyer)
        event = object_event("OBSERVE", "shipping", "in_transit", **counted)
        event["sourceList"] = [{"type": kind, "source": source}]
        event["destinationList"] = [{"type": kind, "destination": to}]
    if "dispatch" in body:
        document = {"type": "desadv", "bizTransaction": names.of("bt", body["dispatch"])}
        event["bizTransactionList"] = [document]
    return event


def tallied(events: Iterable[Mapping[str, Any]]) -> dict[str, Counter[str]]:
    """What the events alone say of each class: came, went, sent, returned, here.

    An event with an error declaration takes back the one of the same name.
    """
    found: dict[str, Counter[str]] = {}
    for event in events:
        sign = -1 if "errorDeclaration" in event else 1
        for part, rows in _parts(event):
            for row in rows:
                count = sign * row.get("quantity", 0)
                tally = found.setdefault(row["epcClass"], Counter())
                tally[part] += count
                tally["here"] += count if part == "came" else -count
    return found


def _parts(event: Mapping[str, Any]) -> Iterator[tuple[str, Iterable[Mapping[str, Any]]]]:
    rows = event.get("quantityList", ())
    if event["type"] == "TransformationEvent":
        yield "went", event["inputQuantityList"]
        yield "came", event["outputQuantityList"]
    elif event.get("action") == "ADD" and event["type"] == "ObjectEvent":
        yield "came", rows
    elif event.get("action") == "DELETE" and event["type"] == "ObjectEvent":
        yield "went", rows
    elif event.get("bizStep") in ("shipping", "retail_selling"):
        yield "sent", rows
    elif event.get("bizStep") == "void_shipping":
        yield "sent", _less(rows)
    elif event.get("disposition") == "returned":
        yield "sent", _less(rows)
        yield "returned", rows


def _less(rows: Iterable[Mapping[str, Any]]) -> list[Mapping[str, Any]]:
    return [{**row, "quantity": -row["quantity"]} for row in rows]
