"""What people ask and answer: signs, holds, words about facts, decisions, certificates."""

from datetime import timedelta
from typing import Any

from hypothesis import strategies as st
from hypothesis.stateful import precondition, rule

from protocols.kinds.readings import WAYS
from stock.doors.accounts import decide_account
from stock.doors.certificates import (
    issue_certificate,
    lift_certificate,
    revoke_certificate,
    supersede_certificate,
    suspend_certificate,
)
from stock.doors.questions import (
    confirm_fact,
    contradict_fact,
    correct_fact,
    decide_deviation,
    withdraw_fact,
)
from stock.doors.settling import PartAsked, settle_report
from stock.doors.signs import (
    lift_hold,
    place_hold,
    record_contact,
    record_incident,
    record_sign,
)
from stock.judging.load import judged
from stock.models import Certificate, Container, DeviationRow, Fact, HoldRow, Parked
from tests.stock.machine import Ground, How, again, few, hows, which

ADDRESS = "https://shop.example"
STEPS = (suspend_certificate, lift_certificate, revoke_certificate)
# What can be said of a fact with nothing but its name.
WORDS = (confirm_fact, withdraw_fact)


class Questions(Ground):
    @rule(how=hows, batch=which, affected=few)
    def see_sign(self, how: How, batch: int, affected: int) -> None:
        uid = self.batch(batch)
        if uid is not None:
            self.tell(how, record_sign, batch=uid, signs=["white spots"], affected=affected)

    @rule(how=hows, batch=which, container=which)
    def see_incident(self, how: How, batch: int, container: int) -> None:
        where = self.pick(self.uids(Container), container)
        self.tell(
            how,
            record_incident,
            batch=self.batch(batch),
            container=where,
            kind="jumped",
            what={"found": "on the floor"},
        )

    @rule(how=hows, begin=which, end=which, way=st.sampled_from(WAYS))
    def see_contact(self, how: How, begin: int, end: int, way: str) -> None:
        containers = self.uids(Container)
        self.tell(
            how,
            record_contact,
            begin=self.pick(containers, begin),
            end=self.pick(containers, end),
            way=way,
            thing=None,
        )

    @rule(how=hows, batch=which)
    def hold(self, how: How, batch: int) -> None:
        uid = self.batch(batch)
        if uid is not None:
            self.tell(how, place_hold, batch=uid, why="the veterinarian comes on Friday")

    @rule(how=hows, hold=which)
    def lift(self, how: How, hold: int) -> None:
        rows = HoldRow.objects.order_by("at", "fact").values_list("fact", flat=True)
        uid = self.pick(list(rows), hold)
        if uid is not None:
            self.tell(how, lift_hold, hold=uid, why="she came")

    # -- Words about what was told, and decisions ----------------------------------------------

    @rule(how=hows, fact=st.integers(0, 15), word=st.sampled_from(WORDS))
    def say(self, how: How, fact: int, word: Any) -> None:
        self.tell(how, word, fact=self.fact(fact))

    @rule(how=hows, fact=st.integers(0, 15))
    def contradict(self, how: How, fact: int) -> None:
        self.tell(how, contradict_fact, fact=self.fact(fact), what="I saw it otherwise")

    @rule(how=hows, fact=st.integers(0, 15), later_s=st.sampled_from([-7200, -600, 600, 7200]))
    def correct_time(self, how: How, fact: int, later_s: int) -> None:
        uid = self.fact(fact)
        at = Fact.objects.get(uid=uid).performed_at + timedelta(seconds=later_s)
        new = at.strftime("%Y-%m-%dT%H:%M:%SZ")
        self.tell(how, correct_fact, fact=uid, field="performed_at", new=new)

    @rule(
        how=hows,
        fact=st.integers(0, 15),
        field=st.sampled_from(["/counts/0", "/count", "/value", "/missing", "/affected"]),
        new=st.sampled_from([1, 3, "33.2"]),
    )
    def correct_number(self, how: How, fact: int, field: str, new: Any) -> None:
        self.tell(how, correct_fact, fact=self.fact(fact), field=field, new=new)

    @rule(how=hows, report=which, first=which, second=which, void=st.booleans())
    def settle(self, how: How, report: int, first: int, second: int, void: bool) -> None:
        """Half of those reported count for each of two batches, or the report is void."""
        rows = Parked.objects.filter(settled_by=None).order_by("fact__seq")
        row = self.pick(list(rows.select_related("fact")), report)
        if row is None:
            return
        count = row.fact.body.get("count", 2)
        shares = ((self.batch(first), count - count // 2), (self.batch(second), count // 2))
        parts = [PartAsked(uid, n) for uid, n in shares if uid is not None and n]
        self.tell(how, settle_report, fact=row.fact_id, parts=[] if void else parts, void=void)

    @rule(how=hows, move=which, accepted=which)
    def choose_account(self, how: How, move: int, accepted: int) -> None:
        moves = Fact.objects.filter(log=self.site.uid, kind="batch_moved").order_by("-seq")
        told = list(moves.values_list("uid", flat=True))
        if told:
            uids = {"fact": self.pick(told, move), "accepted": self.pick(told, accepted)}
            self.tell(how, decide_account, **uids)

    def fact(self, n: int) -> Any:
        """One of the latest facts of the site."""
        rows = Fact.objects.filter(log=self.site.uid).order_by("seq")
        return self.pick(list(rows.values_list("uid", flat=True)), n)

    @rule(
        how=hows,
        deviation=which,
        decision=st.sampled_from(["keep", "restart", "void"]),
        knows=st.sampled_from([True, True, False]),
        from_this_stay=st.booleans(),
    )
    def decide(
        self, how: How, deviation: int, decision: str, knows: bool, from_this_stay: bool
    ) -> None:
        rows = DeviationRow.objects.order_by("at", "batch__version", "rule", "cause")
        row = self.pick(list(rows), deviation)
        if row is not None:
            self.tell(
                how,
                decide_deviation,
                deviation=row.uid,
                decision=decision,
                known=self._numbers(row) if knows else {"over_s": 1},
                from_this_stay=from_this_stay,
            )

    def _numbers(self, row: DeviationRow) -> dict[str, Any]:
        """What somebody who looks at the question now sees of it."""
        found = judged(row.batch_id, self.now).deviations
        same = [one for one in found if (one.rule, one.cause) == (row.rule, row.cause)]
        return dict(same[0].numbers) if same else {}

    # -- Certificates --------------------------------------------------------------------------

    @rule(how=hows, batch=which, count=few)
    def certify(self, how: How, batch: int, count: int) -> None:
        uid = self.batch(batch)
        if uid is not None:
            self.tell(
                how, issue_certificate, site=self.site, batch=uid, count=count, address=ADDRESS
            )

    @rule(how=hows, certificate=which, step=st.sampled_from(STEPS))
    @precondition(lambda self: Certificate.objects.exists())
    def tell_of_certificate(self, how: How, certificate: int, step: Any) -> None:
        uid = self.certificate(certificate)
        self.tell(how, step, certificate=uid, address=ADDRESS)

    @rule(how=hows, certificate=which, count=st.none() | few)
    @precondition(lambda self: Certificate.objects.exists())
    def supersede(self, how: How, certificate: int, count: int | None) -> None:
        uid = self.certificate(certificate)
        self.tell(how, supersede_certificate, certificate=uid, count=count, address=ADDRESS)

    def certificate(self, n: int) -> Any:
        return self.pick(self.uids(Certificate, "version"), n)

    # -- Once more -----------------------------------------------------------------------------

    @rule()
    def send_again(self) -> None:
        """The same request is answered with the same words, and nothing is entered."""
        if self.last is None:
            return
        door, asked, what, first = self.last
        before = self.book()
        answer = door(again(asked, self.now), **what)
        assert answer.replayed
        assert self.book() == before
        assert self.as_sent(answer) == self.as_sent(first)
