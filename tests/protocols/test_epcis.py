"""Each report as the events that EPCIS has for it, held against the schema of the standard."""

from datetime import timedelta
from hashlib import sha256

import pytest
from jsonschema import Draft7Validator, FormatChecker

from protocols.epcis import KINDS, Names, Put, events_of, tallied
from protocols.epcis.context import TERMS, epcis_context_bytes
from protocols.epcis.form import CONTEXT_PATH, PREFIX
from tests.foreign import epcis_schema
from tests.protocols.epcis_rows import (
    AROUND,
    AT,
    BASE,
    NAMES,
    ROWS,
    every_event,
    going,
    of,
    told,
)

CONTEXT_SHA256 = "b9f6cfe79da1e297594bd41e8fab2c8dd11295e9b34ad6ba8f7e650bb3343f9b"


def document(events):
    return {
        "@context": NAMES.context(),
        "id": f"urn:uuid:{of('document')}",
        "type": "EPCISDocument",
        "schemaVersion": "2.0",
        "creationDate": "2027-01-05T08:00:00Z",
        "epcisBody": {"eventList": events},
    }


@pytest.mark.parametrize(("kind", "body", "goings", "expected"), ROWS)
def test_each_operation_is_the_events_of_its_row(kind, body, goings, expected):
    events = list(events_of(told(kind, body, goings), NAMES, AROUND))

    assert [
        (one.get("action", one["type"]), one["bizStep"], one.get("disposition"))
        for one in events
    ] == expected


def test_no_kind_is_without_a_row():
    assert {kind for kind, *_ in ROWS} >= KINDS


def test_the_schema_of_the_standard_takes_every_event_under_an_address_and_without():
    check = Draft7Validator(epcis_schema(), format_checker=FormatChecker())
    plain = [e for k, b, g, _ in ROWS for e in events_of(told(k, b, g), Names(), AROUND)]

    for events, names in ((list(every_event()), NAMES), (plain, Names())):
        whole = {**document(events), "@context": names.context()}
        assert [str(one.message)[:300] for one in check.iter_errors(whole)] == []


def test_what_the_schema_does_not_ask_for_holds():
    for event in every_event():
        if event["type"] == "AggregationEvent":
            assert event["parentID"]
            assert "persistentDisposition" not in event
        if event["type"] == "TransformationEvent":
            inputs, outputs = event["inputQuantityList"], event["outputQuantityList"]
            assert sum(r["quantity"] for r in inputs) == sum(r["quantity"] for r in outputs)
        for name in ("quantityList", "childQuantityList", "inputQuantityList"):
            for row in event.get(name, ()):
                assert isinstance(row.get("quantity", 1), int)
                assert row.get("quantity", 1) > 0
        for element in event.get("sensorElementList", ()):
            for part_ in (element["sensorMetadata"], *element["sensorReport"]):
                times = [part_[t] for t in ("time", "startTime", "endTime") if t in part_]
                assert all(time <= event["eventTime"] for time in times)


def test_every_term_of_ours_is_in_the_context_that_never_changes():
    used = {name for name in _names(list(every_event())) if name.startswith(f"{PREFIX}:")}

    assert {name.removeprefix(f"{PREFIX}:") for name in used} <= set(TERMS)
    served = epcis_context_bytes(BASE + CONTEXT_PATH)
    # A term that is added changes it, and nothing else may.
    assert sha256(served).hexdigest() == CONTEXT_SHA256


def _names(value):
    if isinstance(value, dict):
        for name, inner in value.items():
            yield name
            yield from _names(inner)
    elif isinstance(value, list):
        for inner in value:
            yield from _names(inner)


def test_texts_that_people_typed_and_that_may_be_erased_are_in_no_event():
    text = str(list(every_event()))

    assert "swims" not in text
    assert "one hides" not in text
    assert "fin'" not in text


LOST = {
    "batch": of("batch"),
    "fate": "dead",
    "count": 5,
    "cause": [],
    "found_at": "2027-01-05T08:00:00Z",
}


def test_a_correction_repeats_the_wrong_event_and_names_the_right_one():
    said = told("loss_recorded", LOST, [going("alive", "dead", 5)])
    now = told("loss_recorded", {**LOST, "count": 2})
    later = AT + timedelta(days=1)

    wrong, declared, right = events_of(
        said, NAMES, AROUND, Put(later, now, (going("alive", "dead", 2),))
    )
    error = declared.pop("errorDeclaration")
    assert error == {
        "declarationTime": "2027-01-06T08:00:00Z",
        "reason": "incorrect_data",
        "correctiveEventIDs": [right["eventID"]],
    }
    assert {**declared, "recordTime": wrong["recordTime"]} == wrong
    assert right["quantityList"][0]["quantity"] == 2
    assert right["eventID"] != wrong["eventID"]
    (tally,) = tallied([wrong, {**declared, "errorDeclaration": error}, right]).values()
    assert tally == {"went": 2, "here": -2}


def test_what_was_taken_back_did_not_occur():
    said = told("loss_recorded", LOST, [going("alive", "dead", 5)])

    wrong, declared = events_of(said, NAMES, AROUND, Put(AT, None))
    assert declared["errorDeclaration"]["reason"] == "did_not_occur"
    assert "correctiveEventIDs" not in declared["errorDeclaration"]
    assert wrong["eventID"] == declared["eventID"]
