"""Batches placed and moved: what the rows, the caches and a rebuild say."""

from datetime import timedelta

import pytest

from protocols.values import Standing
from stock import rebuild, rejudge
from stock.doors.counts import find_again, record_missing
from stock.doors.signs import record_contact
from stock.models import Batch, DeviationRow, Missing, StayRow
from tests.make import START, asking, make_batch, make_container, make_shop, move

pytestmark = pytest.mark.django_db(transaction=True)

HOUR = timedelta(hours=1)


def test_a_placed_batch_has_its_first_limit():
    shop = make_shop()

    batch = Batch.objects.get(uid=make_batch(shop))

    assert batch.limit == START + 72 * HOUR
    assert (batch.state, batch.series_number, batch.moves) == ("moves", 1, 0)
    assert not batch.stale


def test_a_move_ends_one_stay_and_begins_the_next():
    shop = make_shop()
    batch = make_batch(shop)

    move(shop, batch, (20,), at=START + 71 * HOUR)

    first, second = StayRow.objects.filter(batch=batch).order_by("began_earliest")
    assert first.ended_latest == second.began_latest == START + 71 * HOUR
    kept = Batch.objects.get(uid=batch)
    assert (kept.moves, kept.moves_needed) == (1, 4)
    assert kept.limit == START + 143 * HOUR


def test_a_late_move_breaks_the_series_by_itself():
    shop = make_shop()
    batch = make_batch(shop)

    move(shop, batch, (20,), at=START + 73 * HOUR)

    kept = Batch.objects.get(uid=batch)
    assert (kept.series_number, kept.moves) == (2, 0)
    assert DeviationRow.objects.filter(batch=batch, rule="stay_over", open=True).exists()


def test_caches_are_fresh_judgements_and_rows_are_what_the_facts_give():
    shop = make_shop()
    batch = make_batch(shop)
    move(shop, batch, (20,), at=START + 71 * HOUR)
    move(shop, batch, (19,), missing=1, at=START + 140 * HOUR)

    assert rejudge.check(START + 140 * HOUR) == []
    assert rebuild.check(START + 140 * HOUR) == []


def test_what_is_said_of_one_batch_is_no_question_about_another_judged_with_it():
    shop = make_shop()
    first, second = make_container(shop, "R1-01"), make_container(shop, "R1-02")
    make_batch(shop, container=first)
    batch = make_batch(shop, container=second)
    record_missing(asking(shop.manager, START + HOUR), batch=batch, count=1)
    missing = Missing.objects.get().fact
    emergency = asking(shop.manager, START + 2 * HOUR, standing=Standing.EMERGENCY)
    find_again(emergency, missing=missing, count=2, container=second, alive=True)

    told = asking(shop.manager, START + 3 * HOUR)
    record_contact(told, begin=first, end=second, way="tool", thing=None)

    asked = DeviationRow.objects.filter(rule="parked")
    assert set(asked.values_list("batch", flat=True)) == {batch}
    assert rejudge.check(START + 3 * HOUR) == []


def test_what_a_clock_that_is_ahead_told_is_judged_when_it_has_happened():
    shop = make_shop()
    batch = make_batch(shop)
    ahead = asking(shop.manager, performed_at=START + timedelta(seconds=90))

    record_missing(ahead, batch=batch, count=1)

    assert rejudge.check(START) == []
    assert Batch.objects.get(uid=batch).fresh_until == START + timedelta(seconds=90)


def test_a_move_out_of_a_stay_that_had_not_begun_is_parked():
    shop = make_shop()
    batch = make_batch(shop)

    told = move(shop, batch, (20,), at=START, performed_at=START - HOUR)

    assert told.body["fact"]["parked"]
    assert StayRow.objects.get(batch=batch).ended_latest is None
