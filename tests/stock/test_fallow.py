"""A system without fish, as the record tells it: who left, what was put in, how warm it was."""

from datetime import timedelta
from uuid import UUID

import pytest

from protocols.library.fallow import FallowState
from protocols.versions import definition
from stock.doors.fittings import Fitting, fit_piece
from stock.doors.questions import withdraw_fact
from stock.doors.signs import record_contact
from stock.models import Container, Fact, System
from stock.queries.fallow import system_left_alone
from tests.make import START, asking, make, make_batch, make_person, make_rack, make_shop, move

pytestmark = pytest.mark.django_db(transaction=True)

DAY = timedelta(days=1)
RULE = definition("fallow-system@1")


@pytest.fixture
def shop():
    return make_shop()


@pytest.fixture
def left(shop):
    """A system of one container, whose only batch moved elsewhere on the second day."""
    system = make(shop, "systems", "Left", status="unknown")
    container = in_system(shop, system)
    batch = make_batch(shop, container=container)
    move(shop, batch, (20,), at=START + 2 * DAY)
    return system, container, batch


def in_system(shop, system, label="L-1"):
    more = {"x_m": "0", "y_m": "0", "z_m": "0", "shape": "box", "fill_mark_l": "60"}
    flags = {"lid": True, "air_stone": True, "in_use": True}
    rack = str(make_rack(shop, f"rack of {label}"))
    return make(shop, "containers", label, rack=rack, system=str(system), **more, **flags)


def seen(system, day):
    return system_left_alone(System.objects.get(uid=system), RULE, START + day * DAY)


def test_it_begins_when_the_last_fish_left(left):
    system, _, _ = left
    found = seen(system, 10)

    assert found.since == START + 2 * DAY
    assert found.against[0].ends_at == START + 78 * DAY
    assert seen(system, 1).since is None
    assert seen(system, 1).against[0].state is FallowState.FISH_IN_IT


def test_what_touched_it_from_elsewhere_begins_it_anew_and_withdrawn_it_never_did(shop, left):
    system, container, _ = left
    elsewhere = Container.objects.exclude(uid=container).first().uid
    at = START + 5 * DAY
    keeper = make_person(shop, "Kim", "keeper")
    told = record_contact(
        asking(keeper, at), begin=elsewhere, end=container, way="splash", thing=None
    )

    assert seen(system, 10).since == at
    assert seen(system, 10).last.what == "a contact by splash"
    fact = UUID(str(told.body["fact"]["uid"]))
    withdraw_fact(asking(shop.manager, at + DAY, reason="it was not so"), fact=fact)
    assert seen(system, 10).since == START + 2 * DAY


def test_a_container_that_is_joined_to_it_begins_it_anew(shop, left):
    system, _, _ = left
    in_system(shop, system, "L-2")

    assert seen(system, 10).since == START + 2 * DAY  # it was set up before they left
    assert Fact.objects.filter(kind="container_set").count() > 1


def test_a_piece_that_is_put_in_begins_it_anew(shop, left):
    system, container, _ = left
    piece = make(shop, "pieces", "P-9", type="heater", single_use=False)
    fit_piece(asking(shop.manager, START + 6 * DAY), fitting=Fitting(piece, None, container))

    assert seen(system, 10).since == START + 6 * DAY
