"""What cannot be read, or is nowhere, is a problem like every other one."""

import json

import pytest
from django.test import Client

from stock.models import Fact, Person
from tests.walk import Walk


@pytest.fixture
def walk(client, settings, db):
    settings.TEST_CLOCK = True
    return Walk.begin(client, "2027-01-05T09:00:00+01:00")


def raw(walk, path, body):
    """A POST of these very bytes."""
    headers = {
        "Fillmark-Now": walk.now,
        "Authorization": f"Bearer {walk.token}",
        "Idempotency-Key": "raw",
    }
    return walk.client.generic(
        "POST", f"/api/v1/{path}", body, content_type="application/json", headers=headers
    )


@pytest.mark.parametrize(
    "body",
    [
        "",
        "{",
        "[]",
        '{"name": NaN}',
        b"\xff\xfe",
        '{"name": "\\ud800"}',
        '{"\\ud800": "X"}',
        '{"name": "X", "mapping": {"a\\u0000": "count"}}',
        "[" * 100_000,
        '{"name": "X", "mapping": ' + "[" * 40 + "]" * 40 + "}",
    ],
    ids=[
        "nothing",
        "half",
        "a list",
        "no number",
        "no text",
        "half a character",
        "half a character in a name",
        "a null character",
        "endless",
        "deep",
    ],
)
def test_a_body_that_cannot_be_kept_is_refused_and_nothing_is_entered(walk, body):
    entries = Fact.objects.count()

    answer = raw(walk, "suppliers", body)

    assert (answer.status_code, answer.json()["code"]) == (400, "unreadable")
    assert answer["Content-Type"] == "application/problem+json"
    assert Fact.objects.count() == entries


def test_a_form_with_too_many_fields_is_refused(walk):
    fields = {f"field-{n}": "x" for n in range(1100)}
    address = f"/api/v1/sites/{walk.site}/imports"

    answer = walk.client.post(
        address, fields, headers={"Authorization": f"Bearer {walk.token}"}
    )

    assert (answer.status_code, answer.json()["code"]) == (400, "unreadable")


@pytest.mark.parametrize("method", ["GET", "POST", "PUT", "DELETE", "OPTIONS"])
@pytest.mark.parametrize("address", ["/api/v1/nowhere", "/api/v1/batches/7", "/api/v2/batches"])
def test_an_address_where_nothing_is_says_so_in_json(walk, method, address):
    answer = walk.send(method, address, {})

    assert (answer.status_code, json.loads(answer.content)["code"]) == (404, "not_found")


def test_a_method_that_an_address_has_not_is_refused_with_its_status(walk):
    answer = walk.send("DELETE", "suppliers")
    problem = json.loads(answer.content)

    assert (answer.status_code, problem["status"]) == (405, 405)
    assert problem["code"] == "method_not_allowed"


def test_who_accepts_no_json_is_told_so_in_json(walk):
    answer = walk.send("GET", "suppliers", Accept="text/csv")

    assert (answer.status_code, json.loads(answer.content)["code"]) == (406, "not_acceptable")


def test_a_signed_in_browser_without_its_token_against_forgery_changes_nothing(walk):
    browser = Client(enforce_csrf_checks=True)
    browser.force_login(Person.objects.get())

    answer = browser.post("/api/v1/suppliers", "{}", content_type="application/json")

    assert (answer.status_code, answer.json()["code"]) == (403, "csrf_failed")
