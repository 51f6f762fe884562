"""Whatever is sent: a problem with a code at the field, nothing half stored, never a 500."""

import json
from typing import Any

import pytest
from django.test import Client
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from protocols.water import QUANTITIES
from stock.models import Container, Fact
from tests.api.asking import JSON, send
from tests.api.every_route import OPEN, every_route
from tests.api.shops import Shops
from tests.api.wrong import (
    common_faults,
    faults_of,
    problem_faults,
    query_faults,
    raw_faults,
)
from tests.certified import kept

# The reckonings about water are one view over one table: a few of them stand for all.
STANDING_FOR_ALL = ("salt_mass_g", "topoff_volume_l", "nh3_n_mg_l")
ALIKE = [f"POST water/{name}" for name in QUANTITIES if name not in STANDING_FOR_ALL]
ROUTES = [route for route in every_route() if route.name not in (*OPEN, *ALIKE)]
WITH_BODY = [route for route in ROUTES if route.method not in ("GET", "DELETE")]
WRITING = [route for route in WITH_BODY if not route.row.form]
ENTERING = [route for route in WRITING if route.enters]
READING = [route for route in ROUTES if route.method == "GET"]
FORMS = [route for route in ROUTES if route.row.form]
MOVES = next(route for route in ENTERING if route.name == "POST batches/<uid>/moves")
by_name: Any = {"ids": lambda one: getattr(one, "name", None)}


@pytest.fixture(scope="module")
def shops(django_db_setup, django_db_blocker):
    with kept(django_db_blocker):
        yield Shops.open(Client())


@pytest.fixture(autouse=True)
def _under_the_test_clock(shops, db, settings):
    settings.TEST_CLOCK = True


@pytest.fixture
def manager(shops):
    walk = shops.people["manager"]
    walk.client.raise_request_exception = False
    return walk


@pytest.fixture
def uids(shops):
    return shops.ours.uids


@pytest.fixture
def uid_in(uids):
    return lambda route: uids[route.subject] if route.subject else ""


@pytest.mark.parametrize("route", WRITING, **by_name)
def test_one_value_wrong_or_missing_is_a_problem_and_nothing_is_stored(
    route, manager, uids, uid_in
):
    assert faults_of(manager, route, uid_in(route), route.body(uids)) == []


# A certificate is the service's own doing, now: when it was performed is not for others to say.
BY_OTHERS = [route for route in ENTERING if route.name != "POST batches/<uid>/certificates"]


@pytest.mark.parametrize("route", BY_OTHERS, **by_name)
def test_so_is_one_of_the_fields_that_every_entry_may_have(route, manager, uids, uid_in):
    assert common_faults(manager, route, uid_in(route), route.body(uids)) == []


@pytest.mark.parametrize("route", WRITING, **by_name)
def test_what_is_no_json_object_is_a_problem(route, manager, uid_in):
    assert raw_faults(manager, route, uid_in(route)) == []


@pytest.mark.parametrize("route", WRITING, **by_name)
def test_a_field_that_there_is_not_is_named(route, manager, uids, uid_in):
    body = {**route.body(uids), "colour": "blue"}

    answer = send(manager, route, uid_in(route), json.dumps(body))

    assert (answer.status_code, answer.json()["code"]) == (400, "unknown_field")
    assert [one["pointer"] for one in answer.json()["reasons"]] == ["/colour"]


@pytest.mark.parametrize(
    ("content_type", "data"),
    [
        ("text/plain", "count=5"),
        ("application/x-www-form-urlencoded", "count=5"),
        ("multipart/form-data; boundary=x", "--x--"),
        ("multipart/form-data", "--x--"),
        ("application/xml", "<count>5</count>"),
        ("", "{}"),
    ],
)
@pytest.mark.parametrize("route", [MOVES, *FORMS], **by_name)
def test_another_content_type_is_a_problem(route, content_type, data, manager, uid_in):
    answer = send(manager, route, uid_in(route), data, content_type)

    assert list(problem_faults(answer)) == []
    assert 400 <= answer.status_code < 500


def test_three_megabytes_are_too_many(manager, uid_in):
    answer = send(manager, MOVES, uid_in(MOVES), json.dumps({"note": "a" * 3_000_000}))

    assert (answer.status_code, answer.json()["code"]) == (413, "too_large")


@pytest.mark.parametrize(
    ("header", "value", "code"),
    [
        ("Idempotency-Key", "", "key_missing"),
        ("Idempotency-Key", "a" * 201, "key_missing"),
        ("Authorization", "Bearer", "not_signed_in"),
        ("Authorization", "Bearer nobody", "not_signed_in"),
        ("Authorization", "Bearer " + "\u00e9" * 40, "not_signed_in"),
        ("Authorization", "Basic bWFyYTp4", "not_signed_in"),
        ("Fillmark-Now", "soon", "unreadable"),
        ("Fillmark-Now", "2027-01-01T00:00:00", "unreadable"),
        ("Fillmark-Now", "0001-01-01T00:00:00+14:00", "unreadable"),
    ],
)
def test_a_header_that_cannot_be_read_is_a_problem(header, value, code, manager, uids, uid_in):
    data = json.dumps(MOVES.body(uids))

    answer = send(manager, MOVES, uid_in(MOVES), data, JSON, **{header: value})

    assert answer.json()["code"] == code


@pytest.mark.parametrize("version", ["x", '"-1"', "*", '"1", "2"', "9" * 40, "\u00b2"])
def test_a_version_that_nobody_read_changes_nothing(version, manager, uids):
    route = next(one for one in ENTERING if one.name == "PUT containers/<uid>")
    uid = uids["container_4"]

    answer = send(manager, route, uid, json.dumps(route.body(uids)), **{"If-Match": version})

    assert (answer.status_code, answer.json()["code"]) == (412, "changed")


@pytest.mark.parametrize("route", READING, **by_name)
def test_a_query_that_cannot_be_read_is_a_problem(route, manager, uid_in):
    assert query_faults(manager, route, uid_in(route)) == []


@pytest.mark.parametrize("path", ["batches/1", "batches/x/moves", "nothing", "sites//rooms"])
@pytest.mark.parametrize("method", ["GET", "POST", "PUT", "DELETE"])
def test_an_address_that_there_is_not_is_a_problem(path, method, manager):
    answer = manager.send(method, path)

    assert (answer.status_code, answer.json()["code"]) == (404, "not_found")


@pytest.mark.parametrize("route", ROUTES, **by_name)
def test_a_method_that_there_is_not_is_a_problem(route, manager, uid_in):
    answer = manager.send("PATCH", route.path(uid_in(route)))

    assert (answer.status_code, answer.json()["code"]) == (405, "method_not_allowed")


@pytest.mark.parametrize("whose", ["ours", "theirs"])
@pytest.mark.parametrize("name", ["container_1", "person", "fact"])
@pytest.mark.parametrize("route", ENTERING, **by_name)
def test_what_has_a_uid_keeps_it(route, name, whose, shops, manager, uids, uid_in):
    taken = getattr(shops, whose).uids[name]
    there = Container.objects.get(uid=shops.theirs.uids["container_1"])

    answer = send(manager, route, uid_in(route), json.dumps({**route.body(uids), "uid": taken}))

    refused = {"ours": 409, "theirs": 404}[whose]
    assert answer.status_code in (refused, 409, 201 if route.method == "PUT" else refused)
    there_now = Container.objects.get(uid=there.uid)
    assert (there_now.site_id, there_now.version) == (there.site_id, there.version)


values = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats() | st.text(max_size=20),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=9), inner),
    max_leaves=8,
)


@settings(
    max_examples=200,
    derandomize=True,
    deadline=None,
    suppress_health_check=[HealthCheck.function_scoped_fixture],
)
@given(name=st.sampled_from(sorted(MOVES.row.body or {})), value=values)
def test_no_value_whatever_is_more_than_a_problem(name, value, manager, uids, uid_in):
    body = {**MOVES.body(uids), name: value, "standing": "asked"}
    before = Fact.objects.count()

    answer = send(manager, MOVES, uid_in(MOVES), json.dumps(body))

    assert list(problem_faults(answer)) == []
    assert Fact.objects.count() == before
