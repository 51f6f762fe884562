"""Signs seen on others, as they are told to whoever stood near them at that time."""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from decimal import Decimal
from typing import Any
from uuid import UUID

from django.db.models import Q

from protocols.exposure import Point, Spot, Suspected, nearest, neighbours, stood_near
from protocols.order import happenings
from protocols.values import Happening, RulesHistory, When
from protocols.whereabouts import Standing, may_have_been
from stock.judging.facts import facts_about
from stock.judging.words import words_about
from stock.models import DeviationRow, Fact, Sign, StayRow

SETS = ("container_set", "rack_set")
AHEAD = timedelta(days=1)
Known = tuple[datetime, Mapping[str, Any]]


@dataclass(frozen=True, slots=True)
class FloorPlan:
    """Where racks and containers of a site stood, whenever somebody said so."""

    racks: Mapping[str, Sequence[Known]]
    containers: Mapping[str, Sequence[Known]]
    _drawn: dict[datetime, dict[UUID, Spot]] = field(default_factory=dict)

    def at(self, moment: datetime) -> dict[UUID, Spot]:
        """Every container as it stood at a moment; what was set up later, as it was then."""
        if moment not in self._drawn:
            found = ((uid, _then(known, moment)) for uid, known in self.containers.items())
            self._drawn[moment] = {UUID(uid): self._spot(body, moment) for uid, body in found}
        return self._drawn[moment]

    def near(
        self, container: UUID, moment: datetime, within_m: Decimal
    ) -> tuple[tuple[UUID, Decimal], ...]:
        """Other containers of the same room at most so far away, the nearest first."""
        spots = self.at(moment)
        if container not in spots:
            return ()
        room = spots[container].room
        points = {uid: spot.point for uid, spot in spots.items() if spot.room == room}
        return neighbours(container, points, within_m=within_m)

    def _spot(self, body: Mapping[str, Any], moment: datetime) -> Spot:
        rack = _then(self.racks[body["rack"]], moment)
        x, y = (Decimal(rack[name]) + Decimal(body[name]) for name in ("x_m", "y_m"))
        point = Point(x, y, Decimal(body["z_m"]))
        room = UUID(rack["room"])
        return Spot(body["label"], room, point, body["lid"], body["air_stone"])


def floor_plan(site: UUID, *, known_by: int | None = None) -> FloorPlan:
    """One query."""
    rows = Fact.objects.filter(log=site, kind__in=SETS, parked=None)
    if known_by is not None:
        rows = rows.filter(seq__lte=known_by)
    found: dict[str, dict[str, list[Known]]] = {"container": {}, "rack": {}}
    told = rows.order_by("performed_at", "seq").values_list("kind", "performed_at", "body")
    for kind, moment, body in told:
        what = kind.removesuffix("_set")
        found[what].setdefault(body[what], []).append((moment, body))
    return FloorPlan(found["rack"], found["container"])


def _then(known: Sequence[Known], moment: datetime) -> Mapping[str, Any]:
    before = [body for since, body in known if since <= moment]
    return before[-1] if before else known[0][1]


def near_signs(
    site: UUID,
    stays: Sequence[StayRow],
    *,
    rules: RulesHistory,
    at: datetime,
    known_by: int | None = None,
) -> dict[UUID, tuple[Happening, ...]]:
    """What signs on others are to the batches of these stays, by batch.

    One query where nobody had a sign meanwhile, else six.
    """
    if not stays:
        return {}
    since = min(row.began_earliest for row in stays)
    ill = StayRow.objects.filter(
        Q(ended_latest=None) | Q(ended_latest__gt=since),
        batch__in=Sign.objects.filter(batch__site=site).values("batch"),
    )
    standings = [standing_of(row) for row in ill.order_by("uid")]
    if not standings:
        return {}
    # A clock may be ahead: whoever asks leaves out what is still to come.
    suspected = list(_suspected(standings, rules=rules, at=at + AHEAD, known_by=known_by))
    plan = floor_plan(site, known_by=known_by)
    found: dict[UUID, list[Happening]] = {}
    for row in stays:
        for one in suspected:
            moment = one.sign.when.earliest
            within_m = rules.at(moment).neighbour_m
            near = stood_near(one, standing_of(row), plan.at(moment), within_m=within_m)
            if near is not None:
                found.setdefault(row.batch_id, []).append(near)
    return {batch: nearest(told) for batch, told in found.items()}


def near_whom(facts: Iterable[Fact], subjects: set[UUID], rules: RulesHistory) -> set[UUID]:
    """Batches for whom it matters what these facts say: of animals that had a sign near them.

    Both those who stand near now and those who were said to. One query where nobody had one.
    """
    signs = Sign.objects.filter(Q(batch__in=subjects) | Q(fact__in=subjects))
    moved = {fact.log_id for fact in facts if fact.kind in SETS}
    if moved:
        signs = Sign.objects.filter(batch__site__in=moved)
    rows = list(signs.select_related("batch"))
    if not rows:
        return set()
    causes = [row.fact for row in rows]
    told = DeviationRow.objects.filter(rule="proximity", cause__in=causes)
    found = set(told.values_list("batch", flat=True))
    plan = floor_plan(rows[0].batch.site_id)
    for stay in StayRow.objects.filter(batch__in={row.batch_id for row in rows}):
        for sign in rows:
            if sign.batch_id == stay.batch_id:
                found |= _there(stay, sign.at, plan, rules)
    return found


def _there(stay: StayRow, at: datetime, plan: FloorPlan, rules: RulesHistory) -> set[UUID]:
    """Batches that stood near a stay while it went on. One query."""
    near = plan.near(stay.container_id, at, rules.at(at).neighbour_m)
    others = StayRow.objects.filter(
        Q(ended_latest=None) | Q(ended_latest__gt=stay.began_earliest),
        container__in=[uid for uid, _ in near],
    )
    if stay.ended_latest is not None:
        others = others.filter(began_earliest__lt=stay.ended_latest)
    return set(others.values_list("batch", flat=True))


def _suspected(
    standings: Sequence[Standing],
    *,
    rules: RulesHistory,
    at: datetime,
    known_by: int | None,
) -> Iterator[Suspected]:
    """Signs that stand, with the stay in which each was seen. Three queries at most."""
    batches = {one.batch for one in standings}
    told = facts_about(batches, kinds=("sign_seen",), known_by=known_by, parked=False)
    facts = {fact.uid: fact for found in told.values() for fact in found}
    words = words_about(facts, known_by=known_by)
    for sign in happenings([*facts.values(), *words], at=at, rules=rules):
        if sign.kind == "sign_seen":
            for one in standings:
                named = str(one.batch) == sign.body["batch"]
                if named and may_have_been(sign.when, one.began, one.ended):
                    yield Suspected(sign, one)


def standing_of(row: StayRow) -> Standing:
    ended = None
    if row.ended_earliest is not None and row.ended_latest is not None:
        ended = When(row.ended_earliest, row.ended_latest)
    began = When(row.began_earliest, row.began_latest)
    return Standing(row.batch_id, row.container_id, row.kit_id, began, ended)
