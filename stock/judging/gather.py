"""Everything that judging some batches must look at, in a fixed number of queries."""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import datetime
from typing import Any
from uuid import UUID

from protocols.clocks import parse_utc
from protocols.filled import MakeKnown
from protocols.occurrences import DONE_TO_PLACES
from protocols.readiness import Membership
from protocols.uids import as_uid
from protocols.values import Fact, Happening, Reading, RulesHistory, Standing
from stock.judging.doses import Dosed, dosed, is_under_a_version
from stock.judging.equipment import Equipment, load_equipment
from stock.judging.facts import facts_about, facts_by_uid
from stock.judging.makes import makes_known, makes_named
from stock.judging.neighbours import near_signs
from stock.judging.water import instruments_in, readings_in, trust_in
from stock.judging.words import Words, with_words, words_by_fact
from stock.models import NEVER_JOINED, Kin, Parked, StayRow
from stock.models import Fact as FactRow

# What is said of a place or a kit and concerns whoever was there then.
CONCERNS_WHO_IS_THERE = frozenset({"contact_seen", "piece_fitted"})


def concerns_who_is_there(fact: Fact) -> bool:
    """Whether a fact about a place or a kit is part of the histories of those there."""
    if fact.kind in CONCERNS_WHO_IS_THERE or is_under_a_version(fact):
        return True
    return fact.standing is Standing.EMERGENCY and fact.kind in DONE_TO_PLACES


@dataclass(frozen=True, slots=True)
class Gathered:
    """Facts and equipment of some batches of one site."""

    facts: Mapping[UUID, Sequence[Fact]]
    words: Words
    equipment: Equipment
    met: Mapping[UUID, Mapping[UUID, datetime | None]]
    readings: Mapping[UUID, Sequence[Reading]]
    rules: RulesHistory
    parked: frozenset[UUID] = frozenset()
    void: frozenset[UUID] = frozenset()
    kin: Mapping[UUID, frozenset[UUID]] = field(default_factory=dict)
    near: Mapping[UUID, Sequence[Happening]] = field(default_factory=dict)
    makes: Mapping[UUID, MakeKnown] = field(default_factory=dict)
    dosed: Dosed = field(default_factory=Dosed)

    def signs_near(self, batch: UUID) -> list[tuple[Happening, datetime]]:
        """Signs seen on others, as told to the batch and those whose history it needs.

        Each with the moment from which it matters to them.
        """
        family = (batch, *self.kin.get(batch, ()))
        found = (one for uid in family for one in self.near.get(uid, ()))
        return [(one, parse_utc(one.body["seen_at"])) for one in found]

    def met_by(self, batch: UUID) -> dict[UUID, datetime | None]:
        """Where the batch was, and those whose history it needs; when the last of them left."""
        found = dict(self.met[batch])
        for one in self.kin.get(batch, ()):
            for place, left in self.met[one].items():
                found[place] = _latest((left, found.get(place, left)))
        return found

    def told_of(self, batch: UUID) -> list[Fact]:
        """Each fact once: of the batch and those whose history it needs, of places while they
        were there, and words about them."""
        family = (batch, *self.kin.get(batch, ()))
        told = (fact for one in family for fact in self.facts.get(one, ()))
        found = {fact.uid: fact for fact in told if fact.uid not in self.void}
        for place in self.met_by(batch):
            for fact in self.equipment.facts.get(place, ()):
                if concerns_who_is_there(fact):
                    found[fact.uid] = fact
        return with_words(found.values(), self.words)

    def looked_at(self, batch: UUID) -> dict[UUID, datetime | None]:
        """Places, kits, pieces, instruments looked at, and when the batch left them."""
        met = self.met_by(batch)
        found: dict[UUID, datetime | None] = dict(met)
        for piece, spans in self.equipment.belongs.items():
            left = [met[one.holder] for one in spans if _was_there(one, met)]
            if left:
                found[piece] = _latest(left)
        readings = (one for place in met for one in self.readings.get(place, ()))
        for one in readings:
            if one.instrument is not None:
                found[one.instrument] = None
        told = (one for place in met for one in self.equipment.told.get(place, ()))
        found |= dict.fromkeys(makes_named(told))
        found |= dict.fromkeys(self.dosed.known.get(batch, ()))
        return found | {batch: None}

    def moments(self, batch: UUID) -> Iterator[datetime]:
        """When everything happened that is told of the batch, of its places and its water.

        A clock may be ahead: some of it may be still to come.
        """
        for fact in self.told_of(batch):
            yield fact.performed_at
            if fact.kind == "fact_corrected" and fact.body["field"] == "performed_at":
                yield parse_utc(fact.body["new"])
        yield from (since for _, since in self.signs_near(batch))
        for place in self.met_by(batch):
            yield from (fact.performed_at for fact in self.equipment.facts.get(place, ()))
            yield from (one.at for one in self.readings.get(place, ()))


def gather(
    site: UUID,
    batches: Iterable[UUID],
    *,
    rules: RulesHistory,
    at: datetime,
    known_by: int | None = None,
) -> Gathered:
    """About seventeen queries, for one batch or fifty of a site."""
    kin = kin_of(batches, known_by=known_by)
    wanted = [*kin, *(frozenset(one for found in kin.values() for one in found) - kin.keys())]
    facts = _with_settled(facts_about(wanted, known_by=known_by), known_by)
    stays = list(StayRow.objects.filter(batch__in=wanted))
    met = equipment_met(wanted, stays)
    everything = frozenset(uid for uids in met.values() for uid in uids)
    equipment = load_equipment(everything, rules=rules, at=at, known_by=known_by)
    by_place = {place: equipment.facts.get(place, ()) for place in everything}
    in_water = {place: equipment.told.get(place, ()) for place in everything}
    used = (one for found in in_water.values() for one in found)
    trust = trust_in(instruments_in(used), known_by=known_by)
    told = {fact.uid for found in facts.values() for fact in found}
    told |= {
        fact.uid for found in by_place.values() for fact in found if concerns_who_is_there(fact)
    }
    parked, void = _parked_and_void(wanted, known_by)
    at_places = (fact for found in by_place.values() for fact in found)
    return Gathered(
        facts=facts,
        words=words_by_fact(told, known_by=known_by),
        equipment=equipment,
        met=met,
        readings={place: readings_in(found, trust, rules) for place, found in in_water.items()},
        rules=rules,
        parked=parked,
        void=void,
        kin=kin,
        makes=makes_known(
            makes_named(one for found in in_water.values() for one in found), known_by=known_by
        ),
        dosed=dosed(site, wanted, at_places),
        near=near_signs(site, stays, rules=rules, at=at, known_by=known_by),
    )


def _was_there(span: Membership, met: Mapping[UUID, datetime | None]) -> bool:
    """Whether the piece was put in while the batch was there, or before."""
    left = met.get(span.holder)
    return span.holder in met and (left is None or span.began <= left)


def _with_settled(
    facts: Mapping[UUID, Sequence[Fact]], known_by: int | None
) -> Mapping[UUID, Sequence[Fact]]:
    """With the reports that count for a batch as somebody settled them. One query, or none.

    Such a report names another batch, or none that there is.
    """
    asked = {
        batch: {as_uid(one.body["of"]) for one in told if one.kind == "parked_settled"}
        for batch, told in facts.items()
    }
    wanted = {uid for uids in asked.values() for uid in uids}
    if not wanted:
        return facts
    reports = facts_by_uid(wanted, known_by=known_by)
    return {
        batch: [*told, *(one for one in reports if one.uid in asked[batch])]
        for batch, told in facts.items()
    }


def kin_of(
    batches: Iterable[UUID], *, known_by: int | None = None
) -> dict[UUID, frozenset[UUID]]:
    """Of each batch the others whose history its judgement needs. One query."""
    found: dict[UUID, set[UUID]] = {batch: set() for batch in batches}
    rows = Kin.objects.filter(batch__in=found)
    if known_by is not None:
        rows = rows.filter(fact__in=_known(known_by))
    for batch, of in rows.values_list("batch", "of"):
        found[batch].add(of)
    return {batch: frozenset(kin) for batch, kin in found.items()}


def _parked_and_void(
    batches: Sequence[UUID], known_by: int | None
) -> tuple[frozenset[UUID], frozenset[UUID]]:
    """Reports about these batches that do not fit the record and are not settled, and joins
    made by rule that were none. One query, or two.

    What was settled later than `known_by` was not settled then.
    """
    rows = Parked.objects.filter(fact__subjects__subject__in=batches)
    told = set(rows.values_list("fact", "code", "settled_by"))
    known = {by for _, _, by in told if by is not None}
    if known_by is not None:
        held = FactRow.objects.filter(uid__in=known, seq__lte=known_by)
        known = set(held.values_list("uid", flat=True))
    waits = (uid for uid, code, by in told if code != NEVER_JOINED and by not in known)
    void = (uid for uid, code, by in told if code == NEVER_JOINED and by in known)
    return frozenset(waits), frozenset(void)


def _known(known_by: int) -> Any:
    """What record books held at that position; whoever asks names things of one of them."""
    return FactRow.objects.filter(seq__lte=known_by).values("uid")


def equipment_met(
    batches: Sequence[UUID], stays: Iterable[StayRow]
) -> dict[UUID, dict[UUID, datetime | None]]:
    """The containers and kits each batch was in and with, and when it left them."""
    met: dict[UUID, dict[UUID, datetime | None]] = {batch: {} for batch in batches}
    for row in stays:
        for uid in (row.container_id, row.kit_id):
            if uid is not None:
                known = met[row.batch_id]
                known[uid] = _latest((row.ended_latest, known.get(uid, row.ended_latest)))
    return met


def _latest(moments: Iterable[datetime | None]) -> datetime | None:
    """The last of them; None, which is still to come, is later than any."""
    known = list(moments)
    return None if None in known else max(one for one in known if one is not None)
