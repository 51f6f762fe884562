"""Where animals stand and what is fitted where, as EPCIS events."""

from collections.abc import Iterator
from typing import Any
from uuid import UUID

from protocols.epcis.form import Event, Names, Told, own, quantity


def _aggregation(
    action: str, container: object, batch: object, count: int, names: Names, **more: Any
) -> Event:
    return {
        "type": "AggregationEvent",
        "action": action,
        "parentID": names.of("obj", container),
        "childQuantityList": [quantity(names, batch, count)],
        "bizStep": "storing",
        "disposition": "in_progress",
        **more,
    }


def placed(told: Told, names: Names) -> Iterator[Event]:
    """Into a container for the first time here."""
    body = told.body
    count = sum(source["count"] for source in body["from"])
    here = {"disposition": "non_sellable_other", **_course(body)}
    yield _aggregation("ADD", body["container"], body["batch"], count, names, **here)


def _course(body: Any) -> Event:
    return own(protocol=f"{body['protocol']}@{body['version']}")


def moved(told: Told, names: Names) -> Iterator[Event]:
    """Out of one container into the next; both halves bear the name of the move."""
    body = told.body
    count, joint = (body["counts"] or [0])[-1], own(movementID=f"urn:uuid:{told.event}")
    if count == 0:
        return
    for one in told.ended:
        if str(one.stay) == body["ended_stay"]:
            yield _aggregation("DELETE", one.container, body["batch"], count, names, **joint)
    kit = own(kit=names.of("obj", body["kit"]) if body.get("kit") else None)
    yield _aggregation("ADD", body["container"], body["batch"], count, names, **joint, **kit)


def parted(told: Told, names: Names) -> Iterator[Event]:
    """A split: whoever was in the container left it, each part is where it was put."""
    yield from _left(told, names)
    for part in told.body["parts"]:
        yield _aggregation("ADD", part["container"], part["batch"], part["count"], names)


def joined(told: Told, names: Names) -> Iterator[Event]:
    """A join: every member left where it was, all of them stand where the new batch is."""
    yield from _left(told, names)
    batch = UUID(told.body["batch"])
    count = sum(one.count for one in told.goings if one.end[0] == batch)
    if count:
        yield _aggregation("ADD", told.body["container"], batch, count, names)


def _left(told: Told, names: Names) -> Iterator[Event]:
    for one in told.ended:
        count = sum(going.count for going in told.goings if going.begin[0] == one.batch)
        if count:
            yield _aggregation("DELETE", one.container, one.batch, count, names)


def picked(told: Told, names: Names) -> Iterator[Event]:
    """Out of their container, before they are handed over."""
    if told.stood is not None:
        body, ready = told.body, {"bizStep": "picking"}
        more = {**ready, "disposition": "sellable_not_accessible"}
        yield _aggregation("DELETE", told.stood, body["batch"], body["count"], names, **more)


def fitted(told: Told, names: Names) -> Iterator[Event]:
    """A piece of equipment into a kit or a container."""
    body = told.body
    parent = body.get("kit") or body.get("container")
    if parent is None:
        return
    yield {
        "type": "AssociationEvent",
        "action": "ADD",
        "parentID": names.of("obj", parent),
        "childEPCs": [names.of("obj", body["piece"])],
        "bizStep": "assembling",
        **own(replaces=names.of("obj", body["replaces"]) if "replaces" in body else None),
    }
