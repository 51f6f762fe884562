"""Contacts as the record tells them: who stood where, with what, who did it, what was seen."""

from bisect import bisect_right
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import datetime
from typing import Any
from uuid import UUID
from zoneinfo import ZoneInfo

from protocols.exposure import GRADES, Grade
from protocols.ruled import DryingRule
from protocols.told import Happening, When
from protocols.tracing_things import cuts, kinds_of

# What reached whom by each way that is no contact somebody saw.
WAYS: Mapping[str, Grade] = {
    "same_container": Grade.STRONG,
    "same_water": Grade.STRONG,
    "make_of_water": Grade.STRONG,
    "came_out_of": Grade.STRONG,
    "consignment": Grade.STRONG,
    "supplier": Grade.LIKELY,
    "kit": Grade.LIKELY,
    "piece": Grade.LIKELY,
    "instrument": Grade.POSSIBLE,
    "person_day": Grade.POSSIBLE,
    "near": Grade.POSSIBLE,
}
# Things that carry something on for a while, and are no place where it lives.
CARRIERS = frozenset({"instrument", "person_day"})
# Who has their hands in the water, by the kind of report.
HANDS = frozenset(
    {
        *("batch_placed", "batch_moved", "batch_split", "batches_joined", "loss_recorded"),
        *("counted", "fed", "dose_given", "filled", "water_changed", "topped_up"),
        *("reading_taken", "emptied"),
    }
)
WATERED = frozenset({"filled", "water_changed", "topped_up"})


@dataclass(frozen=True, slots=True, order=True)
class Node:
    """A thing, and for what is cleaned how often it had been cleaned by then."""

    kind: str
    name: str  # its uid; of a person-day the uid and the day
    spell: int = 0


@dataclass(frozen=True, slots=True)
class Contact:
    """Something could pass from one to the other meanwhile; `until` is None while it lasts."""

    begin: Node
    end: Node
    since: datetime
    until: datetime | None
    way: str
    grade: Grade
    by: UUID

    def turned(self) -> "Contact":
        return Contact(
            self.end, self.begin, self.since, self.until, self.way, self.grade, self.by
        )


@dataclass(frozen=True, slots=True)
class Known:
    """What contacts need beside the happenings: the zone of days, what counts as clean, who is
    near whom, and of each container the system whose water it shares.
    """

    zone: ZoneInfo
    drying: DryingRule
    near: Mapping[str, Sequence[str]] = field(default_factory=dict)


def contacts(told: Sequence[Happening], known: Known) -> tuple[Contact, ...]:
    """Every contact that these happenings tell of, in an order that depends on them alone.

    Uncertain times are read cautiously: from the earliest to the latest. A container, kit or
    piece that was disinfected well enough and then seen dry is clean from that sighting on:
    what came before reaches nobody by it any more.
    """
    return tuple(_Reader(told, known).read())


@dataclass(slots=True)
class _Stay:
    batch: str
    container: str
    kit: str | None
    began: When
    by: UUID


class _Reader:
    """One pass over the happenings, in order."""

    def __init__(self, told: Sequence[Happening], known: Known) -> None:
        self.told, self.known = told, known
        self.kinds = kinds_of(told)
        self.cuts = cuts(told, known.drying)
        self.stays: dict[str, _Stay] = {}
        self.systems: dict[str, str] = {}
        self.fitted: dict[str, tuple[str, Happening]] = {}
        self.consignments: dict[str, str] = {}

    def read(self) -> Iterator[Contact]:
        lists = [one for one in self.told if one.kind == "list_applied"]
        for one in lists:
            yield from self._listed(one)
        for one in self.told:
            yield from self._told(one)
        for stay in self.stays.values():
            yield from self._stood(stay, None)
        for piece, (holder, since) in self.fitted.items():
            yield from self._fitted(piece, holder, since, None)
        yield from self._neighbours()

    def node(self, name: str, moment: datetime, kind: str | None = None) -> Node:
        spell = bisect_right(self.cuts.get(name, ()), moment)
        return Node(kind or self.kinds.get(name, "other"), name, spell)

    def _told(self, one: Happening) -> Iterator[Contact]:
        body = one.body
        if one.kind == "container_set" and body.get("system"):
            self.systems[str(body["container"])] = str(body["system"])
        elif one.kind == "piece_fitted":
            yield from self._fit(one)
        elif one.kind in ("batch_placed", "batch_moved"):
            yield from self._put(one)
        elif one.kind == "batch_split":
            yield from self._split(one)
        elif one.kind == "batches_joined":
            yield from self._joined(one)
        elif one.kind == "contact_seen":
            yield from self._seen(one)
        elif one.kind in WATERED and body.get("make"):
            make = Node("make", str(body["make"]))
            yield self._at(make, self._place(one), one, "make_of_water")
        elif one.kind == "reading_taken" and body.get("instrument"):
            instrument = self.node(str(body["instrument"]), one.when.earliest, "instrument")
            yield from _both(self._at(instrument, self._place(one), one, "instrument"))
        if one.kind in HANDS:
            yield from self._hands(one)

    def _place(self, one: Happening) -> Node:
        return self.node(str(one.body["container"]), one.when.earliest, "container")

    def _at(self, begin: Node, end: Node, one: Happening, way: str) -> Contact:
        return Contact(begin, end, one.when.earliest, one.when.latest, way, WAYS[way], one.uid)

    # -- Where animals come from and where they stand ------------------------------------------

    def _listed(self, one: Happening) -> Iterator[Contact]:
        consignment = Node("consignment", str(one.body["consignment"]))
        supplier = Node("supplier", str(one.body["supplier"]))
        for line in one.body["lines"]:
            self.consignments[str(line["line"])] = consignment.name
        way = "supplier"
        yield Contact(supplier, consignment, self._first(one), None, way, WAYS[way], one.uid)

    def _first(self, one: Happening) -> datetime:
        """Papers are often told after the animals came: they count from the first report."""
        return min(one.when.earliest, self.told[0].when.earliest)

    def _put(self, one: Happening) -> Iterator[Contact]:
        """Placed into a container, or moved into another."""
        batch = str(one.body["batch"])
        sent = {
            self.consignments.get(str(came.get("line"))) for came in one.body.get("from", ())
        }
        for name in sorted(one for one in sent if one):
            nodes = Node("consignment", name), Node("batch", batch)
            yield self._at(*nodes, one, "consignment")
        yield from self._leave(batch, one.when.latest)
        self._stand(batch, one.body, one)

    def _split(self, one: Happening) -> Iterator[Contact]:
        parent = str(one.body["batch"])
        yield from self._leave(parent, one.when.latest)
        for part in one.body["parts"]:
            child = str(part["batch"])
            if child != parent:
                nodes = Node("batch", parent), Node("batch", child)
                yield self._at(*nodes, one, "came_out_of")
            self._stand(child, part, one)

    def _joined(self, one: Happening) -> Iterator[Contact]:
        joined = str(one.body["batch"])
        for member in map(str, one.body["members"]):
            yield from self._leave(member, one.when.latest)
            if member != joined:
                nodes = Node("batch", member), Node("batch", joined)
                yield self._at(*nodes, one, "came_out_of")
        self._stand(joined, one.body, one)

    def _stand(self, batch: str, body: Mapping[str, Any], one: Happening) -> None:
        kit = body.get("kit")
        self.stays[batch] = _Stay(
            batch, str(body["container"]), None if kit is None else str(kit), one.when, one.uid
        )

    def _leave(self, batch: str, at: datetime) -> Iterator[Contact]:
        if batch in self.stays:
            yield from self._stood(self.stays.pop(batch), at)

    def _stood(self, stay: _Stay, ended: datetime | None) -> Iterator[Contact]:
        batch = Node("batch", stay.batch)
        others = [(self.node(stay.container, stay.began.latest, "container"), "same_container")]
        if stay.kit is not None:
            others.append((self.node(stay.kit, stay.began.latest, "kit"), "kit"))
        if stay.container in self.systems:
            others.append((Node("system", self.systems[stay.container]), "same_water"))
        for other, way in others:
            until = self._clean(other, ended)
            since = stay.began.earliest
            yield from _both(Contact(batch, other, since, until, way, WAYS[way], stay.by))

    def _clean(self, node: Node, ended: datetime | None) -> datetime | None:
        """When a stay can have ended at the latest: nobody stands in what is seen dry."""
        cuts = self.cuts.get(node.name, ())
        until = cuts[node.spell] if node.spell < len(cuts) else None
        return until if ended is None else ended

    # -- What they share -----------------------------------------------------------------------

    def _fit(self, one: Happening) -> Iterator[Contact]:
        piece = str(one.body["piece"])
        if piece in self.fitted:
            before, since = self.fitted.pop(piece)
            yield from self._fitted(piece, before, since, one.when.latest)
        holder = one.body.get("kit") or one.body.get("container")
        if holder:
            self.fitted[piece] = (str(holder), one)

    def _fitted(
        self, piece: str, holder: str, since: Happening, ended: datetime | None
    ) -> Iterator[Contact]:
        """A contact for each spell of either: what was cleaned off between does not count."""
        began = since.when.earliest
        cuts = sorted({*self.cuts.get(piece, ()), *self.cuts.get(holder, ())})
        inside = [one for one in cuts if began < one and (ended is None or one < ended)]
        for begin, end in zip([began, *inside], [*inside, ended], strict=True):
            nodes = self.node(piece, begin, "piece"), self.node(holder, begin)
            one = Contact(*nodes, begin, end, "piece", WAYS["piece"], since.uid)
            yield from _both(one)

    def _seen(self, one: Happening) -> Iterator[Contact]:
        way, at = one.body["way"], one.when.earliest
        begin, end = (self.node(str(one.body[name]), at) for name in ("from", "to"))
        nodes = [(begin, end)]
        if one.body.get("thing"):
            thing = self.node(str(one.body["thing"]), at)
            nodes += [(begin, thing), (thing, end)]
        for a, b in nodes:
            yield Contact(a, b, at, one.when.latest, way, GRADES[way], one.uid)

    def _hands(self, one: Happening) -> Iterator[Contact]:
        day = one.when.earliest.astimezone(self.known.zone).date()
        people = {fact.doer for fact in one.accounts} | one.first.beside
        places = {str(one.body[name]) for name in ("batch", "container") if name in one.body}
        places |= {str(part["container"]) for part in one.body.get("parts", ())}
        for person in sorted(people):
            hands = Node("person_day", f"{person} {day.isoformat()}")
            for place in sorted(places):
                node = self.node(place, one.when.earliest)
                yield from _both(self._at(hands, node, one, "person_day"))

    def _neighbours(self) -> Iterator[Contact]:
        """Containers in reach of splashes, in whichever spell; batches pass by them."""
        used = [name for name, kind in self.kinds.items() if kind == "container"]
        facts = {
            str(one.body["container"]): one for one in self.told if one.kind == "container_set"
        }
        for name in used:
            for other in self.known.near.get(name, ()):
                cuts = sorted({*self.cuts.get(name, ()), *self.cuts.get(other, ())})
                for begin, end in zip(
                    [self.told[0].when.earliest, *cuts], [*cuts, None], strict=True
                ):
                    nodes = (
                        self.node(name, begin, "container"),
                        self.node(other, begin, "container"),
                    )
                    yield Contact(*nodes, begin, end, "near", WAYS["near"], facts[name].uid)


def _both(one: Contact) -> tuple[Contact, Contact]:
    return one, one.turned()
