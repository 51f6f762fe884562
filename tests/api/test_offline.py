"""What a tablet asks for to work without network: pages to keep, presses that arrived."""

import json

import pytest
from django.contrib.staticfiles import finders
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from tests.floor import Floor
from tests.visit import Visit

pytestmark = pytest.mark.django_db

NOW = "2027-01-11T10:00:00+00:00"


@pytest.fixture(scope="module")
def opened(kept_for_module):
    floor = Floor.open(
        Client(), "2027-01-11T07:00:00+00:00", zone="Europe/Lisbon", containers=2, kits=2
    )
    floor.place(16, "R1-01", "A-1", at="2027-01-11T08:00:00+00:00")
    floor.walk.at(NOW)
    return floor


@pytest.fixture
def manager(floor):
    return Visit.by(floor.walk.person, NOW)


def kept(visit):
    answer = visit.get("pages-to-keep")
    assert answer.status_code == 200
    return answer.json()


def press(visit, batch, **more):
    fields = {"count": "1", "fate": "dead", "cause": "unknown", **more}
    return visit.press("loss", batch, **fields)


def test_nobody_signed_in_is_told_so_as_a_program_reads_it():
    for name in ("pages-to-keep", "answered"):
        answer = Client().get(reverse(name))

        assert (answer.status_code, answer.json()["code"]) == (401, "not_signed_in")
        assert answer["Cache-Control"] == "no-store"


def test_every_page_to_keep_is_there(manager, floor):
    pages = kept(manager)["pages"]

    statuses = {
        one: manager.client.get(one, headers={"Fillmark-Now": NOW}).status_code for one in pages
    }
    assert set(statuses.values()) == {200}, statuses
    assert reverse("read-water", args=[floor.uids["R1-01"]]) in pages


def test_the_move_is_kept_whose_limit_is_near_and_no_form_for_who_only_reads(manager, floor):
    auditor = Visit.by(floor.walk.as_person("Otto", "auditor").person, NOW)

    assert any(one.endswith("/move") for one in kept(manager)["pages"])
    assert not any(one.endswith(("/move", "/loss")) for one in kept(auditor)["pages"])


def test_a_new_entry_of_the_record_book_changes_what_is_known(manager, floor):
    before = kept(manager)["known"]

    floor.read("R1-01", at=NOW)

    assert kept(manager)["known"] > before


def test_the_list_takes_a_fixed_number_of_queries(manager):
    with CaptureQueriesContext(connection) as queries:
        kept(manager)

    assert len(queries) <= 6


def test_a_press_that_arrived_is_known_by_its_key_to_who_pressed_alone(manager, floor):
    jo = Visit.by(floor.walk.as_person("Jo", "keeper").person, NOW)
    batch = next(one for one in kept(manager)["pages"] if one.endswith("/loss")).split("/")[2]
    press(manager, batch, request_key="mine")

    query = "?key=mine&key=other"
    assert manager.get("answered", query=query).json() == {"answered": ["mine"]}
    assert jo.get("answered", query=query).json() == {"answered": []}


def test_what_is_fetched_to_be_kept_leaves_what_was_just_recorded_to_be_read(manager, floor):
    batch = next(one for one in kept(manager)["pages"] if one.endswith("/loss")).split("/")[2]
    address = press(manager, batch).url
    at = {"Fillmark-Now": NOW}

    quiet = manager.client.get(address, headers={**at, "Fillmark-Keep": "1"}).content
    said = manager.client.get(address, headers=at).content

    assert b"Recorded." not in quiet
    assert b"Recorded." in said


def test_the_worker_names_every_file_and_changes_with_each(client):
    answer = client.get(reverse("service-worker"))
    first = answer.content.decode().split("\n", 1)[0]
    app = json.loads(first.removeprefix("const APP = ").removesuffix(";"))

    assert answer["Content-Type"] == "text/javascript"
    assert "/static/offline.js" in app["files"]
    assert any("htmx" in one for one in app["files"])
    assert all(finders.find(one.removeprefix("/static/")) for one in app["files"])
    assert client.get(app["missing"]).status_code == 200


def test_forms_say_that_they_may_be_entered_and_whose_order_they_keep(manager, floor):
    batch = next(one for one in kept(manager)["pages"] if one.endswith("/loss")).split("/")[2]
    loss = manager.get("loss", batch).content.decode()
    reading = manager.get("read-water", floor.uids["R1-01"]).content.decode()
    check = manager.get("certificate-check", batch).content.decode()

    assert f'data-entry data-batch="{batch}"' in loss
    assert "data-entry" in reading
    assert "data-entry" not in check
