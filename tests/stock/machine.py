"""A shop in which anybody may tell anything at any time, and what must hold whatever they tell.

The rules of the machine stand by subject in `machine_animals`, `machine_equipment` and
`machine_questions`; here are the ground they stand on and the claims made after every step.
"""

import json
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from typing import Any, TypeVar
from uuid import UUID

from django.core.management import call_command
from django.db import connection
from django.db.models import Count, Q
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, invariant

from api.rest.outputs import to_json
from api.rest.problems import explain
from protocols.values import Standing
from stock import rebuild, rejudge, triggers
from stock.answers import Answered
from stock.doors.door import Asking
from stock.doors.kits import Disinfection, disinfect, see_dry
from stock.doors.readings import Comparison, check_instrument
from stock.judging.load import judged_many
from stock.models import (
    Balance,
    Batch,
    Container,
    DeviationRow,
    Fact,
    FactSubject,
    Instrument,
    Kin,
    Kit,
    Log,
    Person,
    Piece,
    Site,
    StayRow,
)
from stock.refusals import NotFound, Refused
from stock.sums import wrong_sums
from stock.verify import verify
from tests.make import START, Shop, asking, make, make_container, make_person, make_rack
from tests.make import make_shop as begin_shop

T = TypeVar("T")
HOUR, MINUTE = timedelta(hours=1), timedelta(minutes=1)
REBUILT_EVERY = 10
COMPARED_EVERY = 3
CONTAINERS = ("R1-01", "R1-02", "R1-03", "R1-04")
INSTRUMENTS = ("T-1", "T-2")
KITS = ("A-1", "A-2", "A-3")
# What a device, a careless person or a wrong clock makes of the time: seconds told late.
LATE_S = (0, 0, 0, 0, 1800, 2 * 3600, 13 * 3600, 30 * 3600, -90, -7200)
EXACT = Comparison("reference", "25.0", "25.0", quantity="temperature")
INSISTED = (
    "kit_not_ready",
    "container_not_ready",
    "water_mismatch",
    "reading_missing",
    "joins_running_series",
)


@dataclass(frozen=True)
class How:
    """Who tells it (by place in the cast), how late, in which standing, with which words."""

    who: int
    late_s: int
    standing: Standing
    explained: bool = True
    insisting: bool = False

    def __repr__(self) -> str:
        words = f", explained={self.explained}, insisting={self.insisting}"
        return f"How({self.who}, {self.late_s}, Standing.{self.standing.name}{words})"


CLEAN = How(0, 0, Standing.HAPPENED)
hows = st.builds(
    How,
    who=st.integers(0, 4),
    late_s=st.sampled_from(LATE_S),
    standing=st.sampled_from([Standing.HAPPENED, Standing.ASKED, Standing.EMERGENCY]),
    explained=st.booleans(),
    insisting=st.booleans(),
)
# Which of the things there are, by their order; counts that are mostly small.
which = st.integers(0, 7)
few = st.integers(1, 4)


class Ground(RuleBasedStateMachine):
    """The shop, its people, the clock, and the invariants."""

    def __init__(self) -> None:
        super().__init__()
        empty_database()
        self.now = START - 3 * 24 * HOUR
        self.shop: Shop = begin_shop(at=self.now)
        self.site = Site.objects.get(uid=self.shop.site)
        self.cast = self._people()
        self.steps = self.told = 0
        self.seen: tuple[int, datetime] | None = None
        self.last: tuple[Callable[..., Answered], Asking, dict[str, Any], Answered] | None
        self.last = None
        self._set_up()

    def _people(self) -> list[Person]:
        others = (("Ola", "keeper"), ("Eve", "manager"), ("Vera", "veterinarian"))
        made = [make_person(self.shop, name, role, self.now) for name, role in others]
        return [self.shop.manager, *made, make_person(self.shop, "Ann", "auditor", self.now)]

    def _set_up(self) -> None:
        rack = make_rack(self.shop)
        for label in CONTAINERS:
            make_container(self.shop, label, rack=rack)
        for label in KITS:
            make(self.shop, "kits", label, needs=[])
        for label in INSTRUMENTS:
            quantities = ["temperature", "salinity"]
            make(self.shop, "instruments", label, quantities=quantities)

    def make_ready(self) -> None:
        """All that is free is clean and seen dry, and instruments are checked, as of now."""
        free = [uid for uid in self.all_equipment() if not self.is_in_use(uid)]
        site = self.site.uid
        self.tell(CLEAN, disinfect, site=site, subjects=free, done=chlorine(self.now))
        self.tell(CLEAN, see_dry, site=site, subjects=free)
        for uid in self.uids(Instrument):
            self.tell(CLEAN, check_instrument, instrument=uid, compared=EXACT)

    # -- What rules are made of ------------------------------------------------------------

    def asking(self, how: How) -> Asking:
        at = self.now - timedelta(seconds=how.late_s)
        person = self.cast[how.who % len(self.cast)]
        return asking(
            person,
            self.now,
            performed_at=at,
            standing=how.standing,
            reason="the network was down" if how.explained else None,
            insist=INSISTED if how.insisting else (),
        )

    def tell(self, how: How, door: Callable[..., Answered], **what: Any) -> Answered | None:
        """Go through a door. It may refuse, then nothing is stored; nothing else comes out."""
        asked = self.asking(how)
        before = self.book()
        self.told += 1
        try:
            answer = self._through(door, asked, what)
        except (Refused, NotFound) as refusal:
            self._is_a_problem(refusal)
            assert self.book() == before
            return None
        self.as_sent(answer)
        self.last = (door, asked, what, answer)
        return answer

    def _through(
        self, door: Callable[..., Answered], asked: Asking, what: dict[str, Any]
    ) -> Answered:
        """Now and then whom it reaches is found in two ways: by marks, and by judging all."""
        if self.told % COMPARED_EVERY:
            return door(asked, **what)
        answer, reached = rejudge.reach_of(lambda: door(asked, **what), self.now)
        assert not reached.missed, (door.__name__, what, reached)
        return answer

    def book(self) -> int:
        """How long the record book of the site is."""
        return Log.objects.values_list("size", flat=True).get(uid=self.site.uid)

    def asks(self, how: How, query: Callable[..., T], **what: Any) -> T | None:
        """Ask what a door would say."""
        try:
            return query(self.asking(how), **what)
        except (Refused, NotFound) as refusal:
            self._is_a_problem(refusal)
            return None

    @staticmethod
    def as_sent(answer: Answered) -> Any:
        return json.loads(to_json(answer.body))

    def all_equipment(self) -> list[UUID]:
        return [uid for sort in (Container, Kit, Piece) for uid in self.uids(sort)]

    def is_in_use(self, uid: UUID) -> bool:
        stays = StayRow.objects.filter(Q(container=uid) | Q(kit=uid) | Q(kit__pieces=uid))
        return stays.filter(ended_latest=None).exists()

    @staticmethod
    def _is_a_problem(refusal: Exception) -> None:
        shown = explain(refusal, {})
        assert shown is not None
        assert 400 <= shown.status_code < 500, shown.data
        to_json(shown.data)

    @staticmethod
    def pick(rows: Sequence[Any], n: int) -> Any:
        """One of them, the last ones first, so that a story stays with what it began."""
        return rows[-1 - n % len(rows)] if rows else None

    def uids(self, sort: type[Any], order: str = "label") -> list[UUID]:
        rows = sort.objects.filter(site=self.site).order_by(order)
        return list(rows.values_list("uid", flat=True))

    def batch(self, n: int) -> Any:
        return self.pick(self.uids(Batch, "version"), n)

    # -- What must hold whatever was told ---------------------------------------------------

    @invariant()
    def the_record_is_whole(self) -> None:
        self.steps += 1
        if self.steps % REBUILT_EVERY == 0:
            self.it_can_be_made_again()
        if self.seen == (self.book(), self.now):
            return  # nothing was told, and no time has passed
        self.sums_close()
        self.nobody_is_in_two_places()
        self.pieces_belong_to_kits_of_their_site()
        self.caches_are_fresh_judgements()
        self.rows_say_what_is_judged()
        self.seen = (self.book(), self.now)

    def sums_close(self) -> None:
        assert wrong_sums() == []

    def nobody_is_in_two_places(self) -> None:
        open_stays = StayRow.objects.filter(ended_latest=None).order_by()
        for name in ("container", "batch", "kit"):
            named = open_stays.exclude(**{name: None}).values(name)
            assert not named.annotate(n=Count("uid")).filter(n__gt=1).exists(), name

    def pieces_belong_to_kits_of_their_site(self) -> None:
        assert not Piece.objects.exclude(kit=None).exclude(kit__site=self.site).exists()

    def caches_are_fresh_judgements(self) -> None:
        assert rejudge.check(self.now) == []

    def rows_say_what_is_judged(self) -> None:
        """Who is alive and who stands where; unless a report about them is in question.

        Such a report is judged at once, and counted when somebody has decided it.
        """
        batches = [uid for uid in self.uids(Batch, "version") if not self.is_in_question(uid)]
        alive = Balance.objects.filter(place="alive", holder__in=batches, n__gt=0)
        open_stays = StayRow.objects.filter(batch__in=batches, ended_latest=None)
        # A clock may be ahead by two minutes; what it told then is in the rows already.
        judged = judged_many(batches, self.now + 2 * MINUTE).values()
        assert {one.batch: one.alive for one in judged if one.alive} == dict(
            alive.values_list("holder", "n")
        )
        assert {one.batch: one.open_stay.uid for one in judged if one.open_stay} == dict(
            open_stays.values_list("batch", "uid")
        )

    def is_in_question(self, batch: UUID) -> bool:
        """Whether there are two accounts of it, or words that take back or change a report.

        Or of those it came from: its history is theirs.
        """
        kin = Kin.objects.filter(batch=batch).values_list("of", flat=True)
        told = FactSubject.objects.filter(subject__in=[batch, *kin]).values("fact")
        words = Fact.objects.filter(kind__in=("fact_withdrawn", "fact_corrected"))
        return (
            words.filter(about__in=told).exists()
            or DeviationRow.objects.filter(
                batch__in=[batch, *kin], rule="two_accounts"
            ).exists()
        )

    def it_can_be_made_again(self) -> None:
        """The bytes are what was told, and the rows are what follows from them."""
        assert [verify(log) for log in Log.objects.all()] == [None, None]
        assert rebuild.check(self.now) == []

    def teardown(self) -> None:
        self.it_can_be_made_again()


def chlorine(ended: datetime) -> Disinfection:
    """An hour in 200 mg/L, measured, after cleaning; then rinsed."""
    return Disinfection(
        cleaned=True,
        agent="chlorine",
        mg_per_l="200",
        measured=True,
        started_at=ended - HOUR,
        ended_at=ended,
        rinsed=True,
    )


def again(asked: Asking, now: datetime) -> Asking:
    """The same request, sent once more later."""
    return replace(asked, now=now)


def empty_database() -> None:
    """As a test with real transactions leaves it; the next story begins with nothing."""
    triggers.drop(connection)
    call_command("flush", verbosity=0, interactive=False, inhibit_post_migrate=True)
    triggers.install(connection)
