"""The description of the REST interface says what the interface does."""

import ast
import json
from pathlib import Path
from uuid import uuid4

import pytest
from django.conf import settings
from django.urls import get_resolver

from api.rest.problems import shown_reason
from protocols.values import Alternative, Reason
from tests.make import START

VIEWS = sorted((settings.ROOT / "api/rest").glob("*.py"))
WRITES = ("post", "put")
# Reading `at` and `known_by` has functions of its own.
HELPERS = {"moment_of": "at", "known_by_of": "known_by"}


@pytest.fixture
def described(client):
    return client.get("/api/v1/schema").json()


def operations(described):
    return {
        f"{method} {path}": said
        for path, methods in described["paths"].items()
        for method, said in methods.items()
    }


def names(said, place):
    return {one["name"] for one in said.get("parameters", ()) if one["in"] == place}


def test_anybody_may_read_it_and_it_is_openapi(client):
    answer = client.get("/api/v1/schema")

    assert answer.status_code == 200
    assert answer["Content-Type"] == "application/json"
    assert answer.json()["openapi"].startswith("3.")


def test_every_rest_address_is_described(described):
    routes = {
        f"/api/v1/{one.pattern}".replace("<uuid:", "{").replace(">", "}")
        for part in get_resolver().url_patterns
        if str(part.pattern) == "api/v1/"
        for one in part.url_patterns
    }

    assert routes <= set(described["paths"])


def test_every_change_names_the_fields_of_its_body(described):
    plain = [
        name
        for name, said in operations(described).items()
        if name.split()[0] in WRITES
        and any("$ref" not in one["schema"] for one in said["requestBody"]["content"].values())
    ]

    assert plain == []


def test_every_component_that_is_named_is_there(described):
    text = json.dumps(described)
    named = {part.split('"')[0] for part in text.split("#/components/schemas/")[1:]}

    assert named == set(described["components"]["schemas"])


def test_what_a_door_answers_asks_for_a_request_key_and_takes_the_common_fields(described):
    said = operations(described)["post /api/v1/batches/{uid}/moves"]
    reference = said["requestBody"]["content"]["application/json"]["schema"]["$ref"]
    body = described["components"]["schemas"][reference.rpartition("/")[2]]

    assert "Idempotency-Key" in names(said, "header")
    assert {"to_container", "performed_at", "standing", "insist"} <= set(body["properties"])


def test_signing_in_asks_for_no_request_key(described):
    assert names(operations(described)["post /api/v1/tokens"], "header") == set()


def test_changing_a_thing_asks_for_the_version_that_was_read(described):
    assert "If-Match" in names(operations(described)["put /api/v1/containers/{uid}"], "header")


def asked_in(view):
    """What the methods of a view read of the query."""
    for call in (one for one in ast.walk(view) if isinstance(one, ast.Call)):
        name = getattr(call.func, "attr", getattr(call.func, "id", ""))
        words = [one.value for one in call.args if isinstance(one, ast.Constant)]
        if name in HELPERS:
            yield HELPERS[name]
        elif ast.unparse(call.func).endswith("query_params.get") or name == "moment_in":
            yield words[0]


def views(file: Path):
    tree = ast.parse(file.read_text())
    return [one for one in tree.body if isinstance(one, ast.ClassDef)]


def queries_of(view):
    found = [one.value for one in view.body if isinstance(one, ast.Assign)]
    return {
        word.value
        for value in found
        for word in ast.walk(value)
        if isinstance(word, ast.Constant)
    }


@pytest.mark.parametrize("file", VIEWS, ids=lambda file: file.stem)
def test_what_a_view_reads_of_the_query_it_names(file):
    silent = {
        f"{view.name}: {name}"
        for view in views(file)
        for name in asked_in(view)
        if name not in queries_of(view)
    }

    assert silent == set()


@pytest.mark.django_db
def test_a_problem_has_the_members_that_are_described(client, described):
    answer = client.get("/api/v1/tasks")
    said = described["components"]["schemas"]

    assert set(answer.json()) == set(said["ProblemOutput"]["required"])
    assert set(answer.json()["reasons"][0]) == set(said["ReasonOutput"]["required"])


def test_a_reason_that_says_everything_has_the_members_that_are_described(described):
    kit = Alternative("kit", uid=uuid4(), label="B-1", begins=START, ends=START)
    reason = Reason(
        code="kit_not_ready",
        rule="kit_not_ready",
        instead=(kit,),
        cleared_by="see_dry",
        who=("keeper",),
        task="see_dry",
        pointer="/kit",
    )
    said = described["components"]["schemas"]

    shown = shown_reason(reason)

    assert set(shown) == set(said["ReasonOutput"]["properties"])
    assert set(shown["instead"][0]) == set(said["AlternativeOutput"]["properties"])
