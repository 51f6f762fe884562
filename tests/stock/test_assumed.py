"""What a decision would do is what it does."""

from uuid import UUID

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from stock.doors.accounts import decide_account
from stock.doors.moves import MoveAsked, move_batch
from stock.doors.questions import decide_deviation
from stock.judging.load import judged
from stock.models import DeviationRow, Fact, Site, StayRow
from stock.queries.assumed import if_decided
from tests.make import asking, make_batch, make_container, make_person, make_shop, move
from tests.stock.telling import HAPPENED, HOUR, NOON

pytestmark = pytest.mark.django_db
DECISIONS = ("keep", "restart", "void")


@pytest.fixture
def shop(db):
    return make_shop()


@pytest.fixture
def eve(shop):
    return make_person(shop, "Eve", "manager")


@pytest.mark.parametrize("decision", DECISIONS)
def test_a_decision_does_what_was_said_it_would(shop, eve, decision):
    batch, at = make_batch(shop, 5), NOON + 90 * HOUR
    move(shop, batch, (5,), at=at)
    row = DeviationRow.objects.get(batch=batch, rule="stay_over")
    before = Fact.objects.count()

    said = if_decided(row, at, decisions=DECISIONS)
    told = Fact.objects.count()
    decide_deviation(
        asking(eve, at, reason="-"),
        deviation=row.uid,
        decision=decision,
        known=said.question(row).numbers,
        from_this_stay=False,
    )

    assert said.now.series.number == 2
    assert said.then[decision].series == judged(batch, at).series
    assert told == before


def test_an_account_does_what_was_said_it_would(shop, eve):
    batch, at = make_batch(shop, 5), NOON
    stay, target = StayRow.objects.get(batch=batch), make_container(shop, "R7-01")
    site = Site.objects.get(uid=shop.site)
    uids = []
    for who, count in ((shop.manager, 5), (make_person(shop, "Ola", "keeper"), 4)):
        asked = MoveAsked(batch, stay.uid, target, None, (count,))
        told = move_batch(asking(who, at, **HAPPENED), site=site, asked=asked)
        uids.append(UUID(told.body["fact"]["uid"]))
    row = DeviationRow.objects.get(batch=batch, rule="two_accounts")

    said = if_decided(row, at + HOUR, decisions=(), accounts=uids)
    decide_account(asking(eve, at + HOUR, reason="-"), fact=uids[0], accepted=uids[1])

    assert [said.then[str(uid)].alive for uid in uids] == [5, 4]
    assert judged(batch, at + HOUR).series == said.then[str(uids[1])].series


def test_asking_about_three_decisions_costs_no_more_than_about_one(shop):
    batch, at = make_batch(shop, 5), NOON + 90 * HOUR
    move(shop, batch, (5,), at=at)
    row = DeviationRow.objects.get(batch=batch, rule="stay_over")

    def queries(*decisions):
        with CaptureQueriesContext(connection) as asked:
            if_decided(row, at, decisions=decisions)
        return len(asked)

    assert queries("keep") == queries(*DECISIONS) <= 24
