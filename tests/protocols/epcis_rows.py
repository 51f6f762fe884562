"""Reports of every kind that becomes an EPCIS event, and which events: one row for each."""

from datetime import UTC, datetime, timedelta
from uuid import UUID, uuid5

from protocols.epcis import (
    Around,
    Ended,
    Going,
    Names,
    Told,
    events_of,
)
from protocols.epcis.form import CONTEXT_PATH
from protocols.kinds import check_body

AT = datetime(2027, 1, 5, 8, 0, tzinfo=UTC)
BASE = "https://shop.example"


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
        "round_made",
        {
            "room": of("room"),
            "looked_at": [of("c1"), of("c2")],
            "exceptions": [{"container": of("c2"), "what": "one hides"}],
        },
        (),
        [("OBSERVE", "inspecting", None)],
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
