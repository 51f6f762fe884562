"""A GET changes nothing: no statement but SELECT, no transaction, no mark that could write."""

from typing import Any

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext

from stock.models import CertificateText
from tests.api.every_route import OPEN, Route, every_route
from tests.api.shops import Shops
from tests.certified import kept

READING = [one for one in every_route() if one.method == "GET" and one.name not in OPEN]
OUTWARD = ("/health", "/.well-known/jwks.json", "/sign-in", "/first-run", "/")
# How a question begins; large answers come through a cursor, which only reads.
QUESTIONS = ("SELECT", "WITH", "DECLARE")
by_name: Any = {"ids": lambda one: one.name if isinstance(one, Route) else str(one)}


@pytest.fixture(scope="module")
def shops(django_db_setup, django_db_blocker):
    with kept(django_db_blocker):
        yield Shops.open(Client())


@pytest.fixture(autouse=True)
def _under_the_test_clock(shops, db, settings):
    settings.TEST_CLOCK = True


def said_by(client, path, *, may_be=(200, 302), **headers):
    """What a GET says to the database, SELECTs apart."""
    with CaptureQueriesContext(connection) as queries:
        answer = client.get(path, headers=headers)
        answer.getvalue()  # a file is read while it is sent
    assert answer.status_code in may_be, answer.content[:300]
    said = [one["sql"] for one in queries]
    return [sql for sql in said if not sql.lstrip("(").startswith(QUESTIONS)]


@pytest.mark.parametrize("route", READING, **by_name)
def test_no_answer_of_the_interface_writes(route, shops):
    walk = shops.people["manager"]
    path = route.path(shops.ours.uids[route.subject] if route.subject else "")
    headers = {"Fillmark-Now": walk.now, "Authorization": f"Bearer {walk.token}"}

    # A bag that was asked for and is not made yet has no file.
    may_be = (404,) if route.name == "GET exports/<uid>/file" else (200, 302)
    assert said_by(walk.client, path, may_be=may_be, **headers) == []


@pytest.mark.parametrize("path", OUTWARD)
def test_what_everybody_may_read_writes_nothing(path, client):
    assert said_by(client, path) == []


@pytest.mark.parametrize("form", ["html", "json", "jwt"])
def test_a_buyer_who_looks_writes_nothing(form, shops, client):
    issued = CertificateText.objects.get(certificate=shops.ours.uids["certificate"])

    assert said_by(client, f"/c/{issued.address}?format={form}") == []


@pytest.mark.parametrize("purpose", ["revocation", "suspension"])
def test_a_wallet_that_asks_for_the_state_writes_nothing(purpose, shops, client):
    path = f"/status/{shops.ours.uids['organisation']}-{purpose}"

    assert said_by(client, path) == []
