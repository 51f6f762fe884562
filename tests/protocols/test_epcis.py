"""Each report as the events that EPCIS has for it: one row for each operation."""

from datetime import UTC, datetime, timedelta
from hashlib import sha256
from uuid import UUID, uuid5

import pytest
from jsonschema import Draft7Validator, FormatChecker

from protocols.epcis import (
    KINDS,
    Around,
    Ended,
    Going,
    Names,
    Put,
    Told,
    events_of,
    tallied,
)
from protocols.epcis.context import TERMS, epcis_context_bytes
from protocols.epcis.form import CONTEXT_PATH, PREFIX
from protocols.kinds import check_body
from tests.foreign import epcis_schema

AT = datetime(2027, 1, 5, 8, 0, tzinfo=UTC)
BASE = "https://shop.example"
CONTEXT_SHA256 = "03c0171a8e2665f2231f9446963402a92cfe036aa76eec1cf03eebccec290f7f"


def uid(name):
    return uuid5(UUID(int=1), name)


def of(name):
    return str(uid(name))


NAMES = Names(BASE)
LINE = {
    "consignment": of("papers"),
    "listed": 24,
    "scientific_name": "Amphiprion ocellaris",
    "aphia_id": 278400,
    "origin": "ID",
    "source_type": "C",
}
AROUND = Around(
    site=uid("site"),
    boxes={uid("papers"): ("1", "2")},
    waybills={uid("papers"): "157-1"},
    suppliers={uid("papers"): uid("supplier")},
    lines={uid("line"): LINE},
    of={uid("hold"): {"batch": of("batch")}},
    addresses={uid("certificate"): "7f3c9a"},
)
ALIVE = (uid("batch"), "alive")
WATER = {"container": of("c1"), "make": of("make"), "volume_l": "10"}
CERTIFICATE = {"certificate": of("certificate"), "batch": of("batch")}
INTO = {"stay": of("stay"), "container": of("c2"), "counts": [20]}
MOVED = {**INTO, "batch": of("batch"), "ended_stay": of("before"), "missing": 0, "readings": []}
STEP = f"{BASE}{CONTEXT_PATH}#BizStep-"


def going(begin, end, count, holder="batch", to=None):
    return Going((uid(holder), begin), (uid(to or holder), end), count)


def part(name, count):
    return {
        "batch": of(name),
        "stay": of(f"stay of {name}"),
        "count": count,
        "container": of(f"container of {name}"),
        "stays_here": False,
    }


# Kind, body, goings, and of each event: type or action, step, disposition.
ROWS = [
    (
        "consignment_delivered",
        {"consignment": of("papers"), "delivered_at": "2027-01-05T08:00:00Z"},
        (),
        [("OBSERVE", "receiving", "in_progress")],
    ),
    (
        "line_counted",
        {"line": of("line"), "received": 22, "doa": 2},
        (
            going("outside", "received", 22, "line"),
            going("received", "doa", 2, "line"),
        ),
        [
            ("ADD", "creating_class_instance", "active"),
            ("DELETE", "destroying", "destroyed"),
            ("OBSERVE", "stock_taking", "mismatch_quantity"),
        ],
    ),
    (
        "doa_reversed",
        {"line": of("line"), "count": 1, "evidence": "swims"},
        (going("doa", "received", 1, "line"),),
        [("ADD", "stock_taking", "active")],
    ),
    (
        "batch_placed",
        {
            **INTO,
            "batch": of("batch"),
            "from": [{"line": of("line"), "count": 20}],
            "protocol": "transfer-288",
            "version": 1,
        },
        (going("received", "alive", 20, "line", "batch"),),
        [
            ("TransformationEvent", "creating_class_instance", "active"),
            ("ADD", "storing", "non_sellable_other"),
        ],
    ),
    (
        "batch_moved",
        MOVED,
        (),
        [("DELETE", "storing", "in_progress"), ("ADD", "storing", "in_progress")],
    ),
    (
        "batch_split",
        {"batch": of("batch"), "parts": [part("one", 12), part("two", 8)]},
        (
            going("alive", "alive", 12, "batch", "one"),
            going("alive", "alive", 8, "batch", "two"),
        ),
        [
            ("TransformationEvent", "creating_class_instance", "active"),
            ("DELETE", "storing", "in_progress"),
            ("ADD", "storing", "in_progress"),
            ("ADD", "storing", "in_progress"),
        ],
    ),
    (
        "batches_joined",
        {
            "members": [of("batch"), of("other")],
            "batch": of("both"),
            "stay": of("stay"),
            "container": of("c1"),
            "came_in": [of("other")],
            "told_apart": False,
        },
        (
            going("alive", "alive", 20, "batch", "both"),
            going("alive", "alive", 5, "other", "both"),
        ),
        [
            ("TransformationEvent", "creating_class_instance", "active"),
            ("DELETE", "storing", "in_progress"),
            ("ADD", "storing", "in_progress"),
        ],
    ),
    *(
        (
            "loss_recorded",
            {
                "batch": of("batch"),
                "fate": fate,
                "count": 1,
                "cause": ["jump"],
                "found_at": "2027-01-05T08:00:00Z",
            },
            (going("alive", fate, 1),),
            [("DELETE", step, "destroyed")],
        )
        for fate, step in (
            ("dead", "destroying"),
            ("culled", "destroying"),
            ("escaped", "destroying"),
            ("sampled", "sampling"),
        )
    ),
    (
        "missing_recorded",
        {"batch": of("batch"), "count": 1, "container": of("c1")},
        (going("alive", "unaccounted", 1),),
        [("OBSERVE", "stock_taking", "mismatch_quantity")],
    ),
    (
        "found_again",
        {"of": of("missing"), "count": 1, "container": of("c1"), "alive": True},
        (going("unaccounted", "alive", 1),),
        [("OBSERVE", "stock_taking", "available")],
    ),
    (
        "presumed_lost",
        {"of": of("missing"), "count": 1},
        (going("unaccounted", "presumed_lost", 1),),
        [("DELETE", "destroying", "destroyed")],
    ),
    (
        "born_here",
        {"batch": of("batch"), "count": 30, "estimated": True},
        (going("outside", "alive", 30),),
        [("ADD", "creating_class_instance", "active")],
    ),
    (
        "counted",
        {"batch": of("batch"), "counts": [19, 20]},
        (),
        [("OBSERVE", "cycle_counting", None)],
    ),
    (
        "disinfected",
        {
            "subjects": [of("c1"), of("net")],
            "cleaned": True,
            "agent": "chlorine",
            "mg_per_l": "200",
            "measured": True,
            "started_at": "2027-01-05T07:00:00Z",
            "ended_at": "2027-01-05T08:00:00Z",
            "rinsed": True,
        },
        (),
        [("OBSERVE", f"{STEP}disinfecting", None)],
    ),
    ("seen_dry", {"subjects": [of("c1")]}, (), [("OBSERVE", "inspecting", "conformant")]),
    ("found_wet", {"subjects": [of("c1")]}, (), [("OBSERVE", "inspecting", "non_conformant")]),
    (
        "emptied",
        {"container": of("c1"), "searched": True},
        (),
        [("OBSERVE", f"{STEP}emptying", None)],
    ),
    (
        "reading_taken",
        {
            "container": of("c1"),
            "quantity": "temperature",
            "value": "25.60",
            "unit": "Cel",
            "instrument": of("t1"),
        },
        (),
        [("OBSERVE", "sensor_reporting", None)],
    ),
    (
        "readings_taken",
        {
            "container": of("c1"),
            "probe": of("p1"),
            "quantity": "ph",
            "unit": "[pH]",
            "start": "2027-01-05T08:00:00Z",
            "step_s": 60,
            "values": ["8.10", "8.12"],
        },
        (),
        [("OBSERVE", "sensor_reporting", None)],
    ),
    (
        "water_made",
        {
            "make": of("make"),
            "vat": "V1",
            "salt_lot": "S1",
            "volume_l": "400",
            "salinity": "33",
            "temperature_c": "25",
            "total_chlorine_mg_l": "0.00",
        },
        (),
        [("OBSERVE", f"{STEP}mixing", None)],
    ),
    ("filled", WATER, (), [("OBSERVE", f"{STEP}filling", None)]),
    ("water_changed", WATER, (), [("OBSERVE", f"{STEP}renewing", None)]),
    ("topped_up", WATER, (), [("OBSERVE", f"{STEP}topping-up", None)]),
    (
        "fed",
        {"container": of("c1"), "food": "mysis"},
        (),
        [("OBSERVE", f"{STEP}feeding", None)],
    ),
    (
        "dose_given",
        {"container": of("c1"), "product": "binder", "amount": "5", "unit": "mL"},
        (),
        [("OBSERVE", f"{STEP}dosing", None)],
    ),
    (
        "instrument_checked",
        {
            "instrument": of("t1"),
            "standard": "ice",
            "expected": "0",
            "got": "0.1",
            "passed": False,
        },
        (),
        [("OBSERVE", "inspecting", "non_conformant")],
    ),
    (
        "piece_fitted",
        {"piece": of("heater"), "kit": of("kit")},
        (),
        [("ADD", "assembling", None)],
    ),
    (
        "sign_seen",
        {"batch": of("batch"), "signs": ["white spots"], "affected": 2},
        (),
        [("OBSERVE", "inspecting", "non_conformant")],
    ),
    (
        "identity_corrected",
        {"batch": of("batch"), "count": 2, "species": of("species"), "evidence": "fin"},
        (),
        [("OBSERVE", "inspecting", "mismatch_class")],
    ),
    (
        "hold_placed",
        {"batch": of("batch"), "why": "white spots"},
        (),
        [("OBSERVE", "holding", "non_sellable_other")],
    ),
    ("hold_lifted", {"hold": of("hold")}, (), [("OBSERVE", "inspecting", "conformant")]),
    (
        "reserved",
        {"batch": of("batch"), "count": 3, "until": "2027-01-09T08:00:00Z"},
        (),
        [("OBSERVE", "reserving", "reserved")],
    ),
    (
        "certificate_issued",
        {
            **CERTIFICATE,
            "number": "2027-1",
            "count": 20,
            "token_sha256": "0" * 64,
            "tree_size": 9,
            "root": "0" * 64,
            "status_indexes": {"revocation": 1, "suspension": 2},
        },
        (),
        [("OBSERVE", "inspecting", "conformant")],
    ),
    *(
        (kind, {**CERTIFICATE, "cause": "spots"}, (), [("OBSERVE", "inspecting", state)])
        for kind, state in (
            ("certificate_suspended", "non_conformant"),
            ("certificate_lifted", "conformant"),
            ("certificate_superseded", "non_conformant"),
            ("certificate_revoked", "non_conformant"),
            ("certificate_ended", "inactive"),
        )
    ),
    *(
        (
            "animals_dispatched",
            {"dispatch": of("dispatch"), "batch": of("batch"), "count": 3, **to},
            (going("alive", place, 3),),
            [("DELETE", "picking", "sellable_not_accessible"), ("OBSERVE", *said)],
        )
        for to, place, said in (
            ({"buyer": of("buyer")}, "sold", ("shipping", "in_transit")),
            ({"site": of("elsewhere")}, "on_the_way", ("shipping", "in_transit")),
            ({}, "sold", ("retail_selling", "retail_sold")),
        )
    ),
    (
        "animals_returned",
        {"dispatch": of("dispatch"), "count": 1, "state": "fine"},
        (going("sold", "returned", 1),),
        [("OBSERVE", "receiving", "returned")],
    ),
]


def told(kind, body, goings=()):
    return Told(
        event=uid("report"),
        kind=kind,
        body=check_body(kind, body),
        at=AT,
        recorded_at=AT + timedelta(minutes=5),
        offset_min=60,
        goings=tuple(goings),
        ended=(Ended(uid("before"), uid("batch"), uid("c1")),),
        stood=uid("c1"),
    )


def every_event():
    for kind, body, goings, _ in ROWS:
        yield from events_of(told(kind, body, goings), NAMES, AROUND)


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
