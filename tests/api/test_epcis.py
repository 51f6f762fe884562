"""What happened as EPCIS 2.0 events over REST: one story up to a sale, and what was wrong."""

import json

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from jsonschema import Draft7Validator, FormatChecker

from protocols.epcis import tallied
from tests.certified import certify, lose, ready_floor
from tests.foreign import epcis_schema

pytestmark = pytest.mark.django_db
SPAN = "from=2027-01-01T00:00:00Z&to=2027-06-01T00:00:00Z"
ADDRESS = "https://shop.example"


@pytest.fixture(scope="module")
def opened(kept_for_module):
    """Twenty placed, moved and certified; two lost, said to be five; three sold."""
    floor, batch = ready_floor(Client())
    floor.uids["batch"] = batch
    loss = lose(floor, batch, 5, at=floor.walk.now)["fact"]["uid"]
    floor.uids["loss"] = loss
    other = floor.walk.as_person("Ole", "manager")
    right = {"field": "count", "new": 2, "reason": "Typed for another container."}
    floor.walk.post(f"facts/{loss}/corrections", right)
    other.at(floor.walk.now).post(f"facts/{loss}/confirmations")
    certificate = certify(floor, batch, 18)
    sold = {"count": 3, "certificate": certificate["uid"], "buyer": "Reef Corner"}
    floor.walk.post(f"batches/{batch}/dispatches", sold)
    return floor


def events(floor, query=SPAN):
    return exported(floor, query)["epcisBody"]["eventList"]


def exported(floor, query=SPAN):
    return json.loads(raw(floor, query))


def raw(floor, query=SPAN):
    answer = floor.walk.send("GET", f"sites/{floor.walk.site}/epcis?{query}")
    assert answer.status_code == 200, answer.content
    assert answer["Content-Type"] == "application/ld+json"
    return b"".join(answer.streaming_content)


def of_step(found, step):
    return [one for one in found if one["bizStep"] == step]


def test_the_schema_of_the_standard_takes_the_whole_story(floor, settings):
    check = Draft7Validator(epcis_schema(), format_checker=FormatChecker())

    for settings.ADDRESS in ("", ADDRESS):
        faults = [one.message[:300] for one in check.iter_errors(exported(floor))]
        assert faults == []


def test_the_quantities_alone_say_who_is_left(floor):
    tally = {name[-36:]: of for name, of in tallied(events(floor)).items()}
    batch = tally[floor.uids["batch"]]

    assert (batch["came"], batch["went"], batch["sent"], batch["here"]) == (20, 2, 3, 15)
    assert all(of["here"] == 0 for uid, of in tally.items() if uid != floor.uids["batch"])


def test_containers_are_entered_and_left_one_after_the_other(floor):
    found = [one for one in events(floor) if one["type"] == "AggregationEvent"]
    actions = [(one["action"], one["parentID"][-36:]) for one in found]
    labels = {uid: label for label, uid in floor.uids.items()}

    first, *moves, left = [(action, labels[uid]) for action, uid in actions]
    assert first == ("ADD", "R1-01")
    assert moves[:2] == [("DELETE", "R1-01"), ("ADD", "R1-02")]
    assert left == ("DELETE", moves[-1][1])
    out, into = found[1], found[2]
    assert out["fillmark:movementID"] == into["fillmark:movementID"]


def test_a_corrected_loss_is_declared_wrong_and_its_successor_named(floor):
    wrong, declared, right = of_step(events(floor), "destroying")

    assert (wrong["quantityList"][0]["quantity"], right["quantityList"][0]["quantity"]) == (
        5,
        2,
    )
    assert declared["errorDeclaration"]["correctiveEventIDs"] == [right["eventID"]]
    assert {**declared, "recordTime": wrong["recordTime"]} == {
        **wrong,
        "errorDeclaration": declared["errorDeclaration"],
    }


def test_before_the_correction_was_known_nothing_is_declared_wrong(floor):
    page = floor.walk.get(f"sites/{floor.walk.site}/ledger?after=-1&limit=500")
    known = next(
        one["seq"] for one in page["entries"] if one["entry"]["uid"] == floor.uids["loss"]
    )

    found = of_step(events(floor, f"{SPAN}&known_by={known}"), "destroying")
    assert [one["quantityList"][0]["quantity"] for one in found] == [5]


def test_the_certificate_is_where_anybody_can_read_it(floor, settings):
    settings.ADDRESS = ADDRESS
    (issued,) = [one for one in events(floor) if "certificationInfo" in one]

    (address,) = issued["certificationInfo"]
    assert address.startswith(f"{ADDRESS}/c/")
    path = address.removeprefix(ADDRESS)
    assert floor.walk.client.get(path).status_code == 200


def test_the_same_state_of_the_data_gives_the_same_bytes(floor):
    size = floor.walk.get(f"sites/{floor.walk.site}/ledger?limit=1")["size"]
    first = raw(floor, f"{SPAN}&known_by={size - 1}")

    lose(floor, floor.uids["batch"], 1, at=floor.walk.now)
    assert raw(floor, f"{SPAN}&known_by={size - 1}") == first
    assert raw(floor) != first


def test_more_moves_take_no_more_queries(floor):
    spans = [f"from=2027-01-01T00:00:00Z&to=2027-01-{day}T00:00:00Z" for day in ("09", "19")]

    taken, moves = [], []
    for span in spans:
        with CaptureQueriesContext(connection) as queries:
            moves.append(len(of_step(events(floor, span), "storing")))
        taken.append(len(queries))
    assert moves[0] < moves[1]
    assert taken[0] == taken[1]


def test_the_terms_of_our_own_are_explained_at_an_address_that_never_changes(floor, settings):
    settings.ADDRESS = ADDRESS
    _, ours = exported(floor)["@context"]

    path = ours["fillmark"].removeprefix(ADDRESS).rstrip("#")
    answer = floor.walk.client.get(path)
    assert answer["Content-Type"] == "application/ld+json"
    assert answer.json()["@context"]["fillmark"] == ours["fillmark"]
