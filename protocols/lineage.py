"""The history of a batch, with what it inherited through splits and joins."""

from collections.abc import Iterable, Iterator, Mapping
from datetime import datetime
from typing import Any
from uuid import UUID

from protocols.told import Happening, History, Lineage, Link, Placement
from protocols.uids import as_uid

# Answers to what was asked before: they count for all who inherited the question.
ANSWERS = frozenset({"deviation_decided"})


def history(batch: UUID, told: Iterable[Happening], links: Lineage) -> History:
    """What concerns `batch`: its own, and its ancestors' up to when it came out of them.

    Those it was joined with count up to then as well: what the join did to its series hangs on
    them. Happenings that name no batch at all (a contact with a container, a piece fitted) stay
    in: whether they concern it depends on where it was then.
    """
    known = tuple(told)
    until = _ancestors(batch, links, _joined_with(batch, known))
    kept = tuple(one for one in known if _concerns(one, batch, until))
    return History(batch, kept, frozenset({batch, *until}))


def lineage(told: Iterable[Happening]) -> Lineage:
    """Where batches came from, by what was told of splits, joins and animals found again."""
    happened = tuple(told)
    missed = {
        one.uid: one for one in happened if one.kind in ("missing_recorded", "batch_moved")
    }
    parents: dict[UUID, tuple[Link, ...]] = {}
    for one in happened:
        for parent, child in _links(one, missed):
            link = Link(parent, child, one.uid, one.when.latest)
            parents[child] = (*parents.get(child, ()), link)
    return Lineage(parents)


def _links(one: Happening, missed: dict[UUID, Happening]) -> Iterator[tuple[UUID, UUID]]:
    body = one.body
    if one.kind == "batch_split":
        parent = as_uid(body["batch"])
        yield from ((parent, as_uid(part["batch"])) for part in body["parts"])
    elif one.kind == "batches_joined":
        child = as_uid(body["batch"])
        yield from ((as_uid(member), child) for member in body["members"])
    elif one.kind == "found_again" and "batch" in body:
        report = missed.get(as_uid(body["of"]))
        if report is not None and as_uid(report.body["batch"]) != as_uid(body["batch"]):
            yield as_uid(report.body["batch"]), as_uid(body["batch"])


def _joined_with(batch: UUID, told: Iterable[Happening]) -> dict[UUID, datetime]:
    return {
        other: one.when.latest
        for one in told
        if one.kind == "batches_joined"
        and batch in (members := [as_uid(member) for member in one.body["members"]])
        for other in members
        if other != batch
    }


def _ancestors(
    batch: UUID, links: Lineage, beside: dict[UUID, datetime]
) -> dict[UUID, datetime]:
    """Every batch this one came out of, with the latest moment up to which it matters."""
    until = dict(beside)
    waiting = [link for one in (batch, *beside) for link in links.of(one)]
    while waiting:
        link = waiting.pop()
        if link.parent not in until or until[link.parent] < link.at:
            until[link.parent] = link.at
            waiting.extend(links.of(link.parent))
    return until


def _concerns(happening: Happening, batch: UUID, until: dict[UUID, datetime]) -> bool:
    named = named_batches(happening)
    return not named or any(
        one == batch
        or (one in until and (_answers(happening) or happening.when.earliest <= until[one]))
        for one in named
    )


def _answers(happening: Happening) -> bool:
    return happening.kind in ANSWERS


def named_batches(happening: Happening) -> tuple[UUID, ...]:
    """The batches that a happening is told of; none where it is told of a place or a report."""
    body = happening.body
    if "attribution" in body:
        return tuple(as_uid(part["batch"]) for part in body["attribution"])
    if "members" in body:
        return tuple(as_uid(one) for one in (*body["members"], body["batch"]))
    if "batch" not in body or happening.kind == "found_again":
        return ()
    parts = (part["batch"] for part in body.get("parts", ()))
    return tuple(as_uid(one) for one in (body["batch"], *parts))


def placements(history: History) -> tuple[Placement, ...]:
    """Every placement a judge will look at: what must be known of container, kit and water."""
    found: list[Placement] = []
    places: dict[UUID, UUID] = {}
    where: dict[UUID, UUID] = {}
    for one in history.happenings:
        for placed in _placed_by(one, places, where):
            found.append(placed)
            places[placed.stay] = where[placed.batch] = placed.container
    return tuple(found)


def _placed_by(
    one: Happening, places: dict[UUID, UUID], where: dict[UUID, UUID]
) -> Iterator[Placement]:
    body = one.body
    if one.kind in ("batch_placed", "batch_moved"):
        ended = body.get("ended_stay")
        source = None if ended is None else places.get(as_uid(ended))
        yield _placement(one, body, source)
    elif one.kind == "batch_split":
        source = where.get(as_uid(body["batch"]))
        yield from (_placement(one, part, source) for part in body["parts"])
    elif one.kind == "batches_joined":
        from_ = [where.get(as_uid(member)) for member in body["came_in"]]
        yield _placement(one, body, next(iter(from_), None))
    elif one.kind == "found_again" and "batch" in body and "stay" in body:
        where[as_uid(body["batch"])] = as_uid(body["container"])


def _placement(one: Happening, body: Mapping[str, Any], source: UUID | None) -> Placement:
    kit = body.get("kit")
    return Placement(
        stay=as_uid(body["stay"]),
        batch=as_uid(body["batch"]),
        container=as_uid(body["container"]),
        kit=None if kit is None else as_uid(kit),
        when=one.when,
        by=one.uid,
        source=source,
    )
