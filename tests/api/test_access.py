"""Every route with every role, with nobody signed in, and about another organisation."""

import json
import uuid
from typing import Any

import pytest
from django.test import Client

from tests.api.asked import ROWS
from tests.api.asking import ask, said
from tests.api.every_route import (
    OPEN,
    Route,
    every_route,
    filled,
    names_in,
    with_value,
)
from tests.api.shops import ROLES, Shops
from tests.certified import kept

ROUTES = every_route()
KNOWN = [route for route in ROUTES if route.name in ROWS]
CLOSED = [route for route in KNOWN if route.name not in OPEN]
ABOUT_SOMETHING = [route for route in CLOSED if route.subject]
by_name: Any = {"ids": lambda one: one.name if isinstance(one, Route) else str(one)}


@pytest.fixture(scope="module")
def shops(django_db_setup, django_db_blocker):
    with kept(django_db_blocker):
        yield Shops.open(Client())


@pytest.fixture(autouse=True)
def _under_the_test_clock(shops, db, settings):
    settings.TEST_CLOCK = True


def test_every_route_is_in_the_table_and_the_table_has_no_other():
    missing = [route.name for route in ROUTES if route.name not in ROWS]
    gone = sorted(set(ROWS) - {route.name for route in ROUTES})

    assert missing == [], "say in tests/api/asked who may ask this and how"
    assert gone == [], "these routes are not there any more"


@pytest.mark.parametrize("route", CLOSED, **by_name)
def test_nobody_signed_in_is_told_to_sign_in(route, shops):
    nobody = Client()
    uid = shops.ours.uids[route.subject] if route.subject else ""

    answer = nobody.generic(route.method, route.path(uid), content_type="application/json")

    assert (answer.status_code, answer.json()["code"]) == (401, "not_signed_in")


@pytest.mark.parametrize("role", ROLES)
@pytest.mark.parametrize("route", CLOSED, **by_name)
def test_a_role_may_do_what_the_table_says(route, role, shops):
    uids, row = shops.ours.uids, route.row
    uid = uids[route.subject] if route.subject else ""

    answer = ask(shops.people[role], route, uid, route.body(uids))

    expected = row.status if role in row.who else 403
    assert answer.status_code == expected, answer.headers


@pytest.mark.parametrize("route", ABOUT_SOMETHING, **by_name)
def test_what_is_anothers_is_like_what_is_not_there(route, shops):
    uids, stranger = shops.ours.uids, shops.people["stranger"]

    foreign = ask(stranger, route, uids[route.subject], route.body(uids))
    nowhere = ask(stranger, route, str(uuid.uuid4()), route.body(uids))

    assert foreign.status_code == 404
    assert said(foreign) == said(nowhere)


IN_BODIES = [
    pytest.param(route, pointer, name, id=f"{route.name} {pointer} {name}")
    for route in CLOSED
    for pointer, name in names_in(route.row.body)
]


@pytest.mark.parametrize(("route", "pointer", "name"), IN_BODIES)
def test_a_uid_of_anothers_in_a_body_is_like_one_that_is_not_there(route, pointer, name, shops):
    uids, manager = shops.ours.uids, shops.people["manager"]
    uid = uids[route.subject] if route.subject else ""
    body = filled(route.row.body, uids)
    theirs = shops.theirs.uids.get(name, str(uuid.uuid4()))

    foreign = ask(manager, route, uid, with_value(body, pointer, theirs))
    nowhere = ask(manager, route, uid, with_value(body, pointer, str(uuid.uuid4())))

    assert foreign.status_code == 404, foreign.content
    assert said(foreign) == said(nowhere)


ENTERING = [route for route in CLOSED if route.enters]


@pytest.mark.parametrize("route", ENTERING, **by_name)
def test_nobody_of_another_organisation_can_be_the_doer(route, shops):
    uids, manager = shops.ours.uids, shops.people["manager"]
    uid = uids[route.subject] if route.subject else ""
    body = {**route.body(uids), "doer": shops.theirs.uids["person"]}

    answer = ask(manager, route, uid, body)

    assert answer.status_code == 404, answer.content


# Certificates are the service's own doing, at once: whatever device asked is not said there.
BY_DEVICE = [route for route in ENTERING if "certificates" not in route.address]


@pytest.mark.parametrize("route", BY_DEVICE, **by_name)
def test_nothing_is_told_by_a_device_of_another_organisation(route, shops):
    uids, manager = shops.ours.uids, shops.people["manager"]
    uid = uids[route.subject] if route.subject else ""
    device = {"uid": shops.theirs.uids["device"], "entry_no": 1, "raw_at": manager.now}

    answer = ask(manager, route, uid, {**route.body(uids), "device": device})

    assert answer.status_code == 404, answer.content


@pytest.mark.parametrize("query", ["batches", "deviations", "tasks"])
def test_a_filter_by_what_is_anothers_gives_an_empty_list(query, shops):
    stranger, theirs = shops.people["stranger"], shops.ours.uids["site"]

    foreign = stranger.get(f"{query}?site={theirs}")
    nowhere = stranger.get(f"{query}?site={uuid.uuid4()}")

    assert foreign[query] == []
    assert foreign == nowhere


@pytest.mark.parametrize("query", ["batches", "deviations", "tasks", "suppliers", "species"])
def test_lists_hold_nothing_of_another_organisation(query, shops):
    told = json.dumps(shops.people["stranger"].get(query))

    assert not [name for name, uid in shops.ours.uids.items() if uid in told]
