"""Carry-over by the sweep: the inputs that follow from a record, and when it computes anew."""

import dataclasses
import json

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from protocols.carryover import VERSION
from stock import carryover
from stock.doors.splitting import PartAsked, split_batch
from stock.models import Batch
from stock.queries.carryover import carry_over_of
from stock.queries.carryover_records import records_of
from tests.make import START, asking, make, make_batch, make_container, make_shop, move
from tests.stock.telling import HAPPENED, HOUR, lose

pytestmark = pytest.mark.django_db

NOW = START + 80 * HOUR


@pytest.fixture
def shop():
    return make_shop()


@pytest.fixture
def batch(shop):
    """Twenty, moved after 72 h into a container that was used before and never cleaned."""
    used = make_container(shop, "R1-01")
    before = make_batch(shop, 4, container=used, at=START - 100 * HOUR)
    move(shop, before, (4,), at=START - 30 * HOUR)
    found = make_batch(shop, 20)
    move(shop, found, (20,), at=START + 72 * HOUR, container=used)
    return found


def swept(shop, batch, at=NOW):
    carryover.sweep(shop.site, at)
    return carry_over_of(batch)


def test_stays_lights_and_what_was_not_ready_come_from_the_record(shop, batch):
    inputs = swept(shop, batch).inputs

    first, second = inputs["stays"]
    assert (inputs["fish"], inputs["start_clock_h"]) == (20, 9.0)
    assert [first["start_h"], first["end_h"], second["start_h"], second["end_h"]] == [
        0,
        72,
        72,
        80,
    ]
    assert (first["lights_on_h"], first["lights_off_h"], first["volume_l"]) == (8, 20, 60)
    assert first["gear"] == []
    [wet] = second["gear"]
    assert (wet["disinfected"], wet["dry_h"], wet["hours_since_use"]) == (False, 0, 102)
    assert inputs["assumed"] == ["load", "prior_cysts", "temperature"]


def test_cysts_in_used_gear_are_those_that_the_model_says_its_last_users_left(shop, batch):
    """Those are computed in the same sweep: from the next one on they are known."""
    unknown, known = (swept(shop, batch, at).inputs for at in (NOW, NOW + HOUR))

    said = [each["stays"][1]["gear"][0]["prior_cysts"] for each in (unknown, known)]
    assert said[0] == 5
    assert "prior_cysts" in unknown["assumed"]
    assert said[1] not in (0, 5)
    assert "prior_cysts" not in known["assumed"]


def test_an_animal_found_dead_died_between_when_it_was_seen_and_when_it_was_found(shop, batch):
    lose(shop, batch, 1, at=START + 50 * HOUR)

    inputs = swept(shop, batch).inputs

    assert inputs["fish"] == 20
    [death] = inputs["deaths"]
    assert death == {"hour": 44.0, "removed_after_h": 6.0}
    assert "death_hour" in inputs["assumed"]


def test_a_part_has_the_stays_of_the_batch_it_came_out_of(shop, batch):
    parts = [PartAsked(12), PartAsked(8, make_container(shop, "R9-01"))]
    at = START + 76 * HOUR
    split_batch(asking(shop.manager, at, **HAPPENED), batch=batch, parts=parts)
    away = Batch.objects.get(stays__container__label="R9-01")

    inputs = swept(shop, away.uid).inputs

    assert inputs["fish"] == 8
    assert [each["end_h"] for each in inputs["stays"]] == [72, 76, 80]


def test_what_is_computed_says_of_which_inputs_and_model_it_is(shop, batch):
    found = swept(shop, batch)

    assert found.version == found.found["version"] == VERSION
    assert len(found.digest) == 64
    assert found.found["hour"] == 80
    assert 0 < found.found["on_fish"]["central"] <= 1
    assert [each["action"] for each in found.found["actions"]][1] == "move_now"
    json.dumps(dataclasses.asdict(found)["found"])


def test_nothing_is_computed_again_before_an_hour_unless_the_batch_changed(shop, batch):
    carryover.sweep(shop.site, NOW)

    assert carryover.stale_at(shop.site, NOW + HOUR / 2) == []
    assert batch in carryover.stale_at(shop.site, NOW + HOUR)
    move(shop, batch, (20,), at=NOW + HOUR / 4)
    assert batch in carryover.stale_at(shop.site, NOW + HOUR / 2)


def test_records_of_many_batches_cost_as_many_queries_as_of_one(
    shop, batch, django_assert_num_queries
):
    with CaptureQueriesContext(connection) as one:
        records_of([batch], NOW)
    more = [make_batch(shop, 5), make_batch(shop, 6, kit=make(shop, "kits", "M", needs=[]))]

    with django_assert_num_queries(len(one)):
        found = records_of([batch, *more], NOW)

    assert len(found) == 3
