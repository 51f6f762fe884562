"""Values, rounds and care over REST."""

import pytest

from tests.equipment import disinfect, make_containers, see_dry
from tests.walk import Walk
from tests.water import BEGIN, LATER, gravity, make_refractometer, read, warmth

pytestmark = pytest.mark.django_db(transaction=True)

NOBODY = "01a2d532-b580-7fff-8fff-ffffffffffff"
EVE = "2027-02-01T"


@pytest.fixture
def walk(client, settings):
    settings.TEST_CLOCK = True
    return Walk.begin(client, BEGIN)


@pytest.fixture
def containers(walk):
    return make_containers(walk, "R1-01", "R1-02")


@pytest.fixture
def container(containers):
    return containers[0]


@pytest.fixture
def instrument(walk):
    return make_refractometer(walk)


def test_one_request_reads_several_containers_each_at_its_own_time(walk, containers):
    walk.at(LATER)

    made = read(
        walk,
        warmth(containers[0], performed_at="2027-02-06T07:50:00+01:00"),
        warmth(containers[1]),
    )

    one, two = made["readings"]
    assert (one["container"], one["value"]) == (containers[0], "25.60")
    assert one["performed_at"] == "2027-02-06T06:50:00Z"
    assert two["performed_at"] == "2027-02-06T07:00:00Z"
    assert made["fact"]["uid"] == one["uid"]
    assert made["tasks_changed"] == []


def test_a_device_may_name_its_readings_but_never_twice(walk, container):
    named = warmth(container, uid="01a2d532-b580-7aaa-8aaa-aaaaaaaaaaaa")

    made = read(walk, named)
    problem = walk.refused("readings", {"readings": [named]})

    assert made["readings"][0]["uid"] == named["uid"]
    assert (problem.status, problem.code) == (422, "key_reused")


def test_a_bad_value_keeps_the_good_ones_out_too(walk, container):
    problem = walk.refused(
        "readings", {"readings": [warmth(container), warmth(container, value="78.1")]}
    )

    assert (problem.status, problem.code) == (400, "unreadable")
    assert problem.body["reasons"][0]["pointer"] == "/readings/1/value"
    assert walk.get(f"containers/{container}/readings")["readings"] == []


@pytest.mark.parametrize(
    ("change", "pointer", "code"),
    [
        ({"quantity": "warmth"}, "/readings/0/quantity", "unreadable"),
        ({"unit": "F"}, "/readings/0/unit", "unreadable"),
        ({"value": "hot"}, "/readings/0/value", "unreadable"),
        ({"colour": "blue"}, "/readings/0/colour", "unknown_field"),
        (
            {"performed_at": "2027-01-31T08:02:01+01:00"},
            "/readings/0/performed_at",
            "in_future",
        ),
        ({"performed_at": "2027-01-31T08:00:00"}, "/readings/0/performed_at", "offset_missing"),
    ],
)
def test_bad_readings_are_named_at_their_field(walk, container, change, pointer, code):
    problem = walk.refused("readings", {"readings": [warmth(container, **change)]})

    assert (problem.status, problem.code) == (400, code)
    assert problem.body["reasons"][0]["pointer"] == pointer


@pytest.mark.parametrize("quantity", ["specific_gravity", "salinity"])
def test_the_instrument_is_said_with_salinity_and_specific_gravity(walk, container, quantity):
    value = gravity(container, None, quantity=quantity)

    problem = walk.refused("readings", {"readings": [value]})

    assert (problem.status, problem.code) == (400, "unreadable")
    assert problem.body["reasons"][0]["pointer"] == "/readings/0/instrument"


def test_a_probe_s_values_are_readings_a_step_apart(walk, container, instrument):
    series = {
        "probe": instrument,
        "quantity": "salinity",
        "unit": "1",
        "start": "2027-02-06T06:00:00+01:00",
        "step_s": 1800,
        "values": ["33.1", "33.0"],
    }

    made = walk.at(LATER).post(f"containers/{container}/reading-series", series)

    assert made["series"]["readings"] == 2
    shown = walk.get(f"containers/{container}/readings?quantity=salinity")["readings"]
    assert [(one["value"], one["performed_at"]) for one in shown] == [
        ("33.0", "2027-02-06T05:30:00Z"),
        ("33.1", "2027-02-06T05:00:00Z"),
    ]


def test_a_bad_value_of_a_probe_is_named_at_its_place(walk, container, instrument):
    series = {
        "probe": instrument,
        "quantity": "salinity",
        "unit": "1",
        "start": "2027-02-06T06:00:00+01:00",
        "step_s": 1800,
        "values": ["33.1", "330"],
    }

    problem = walk.at(LATER).refused(f"containers/{container}/reading-series", series)

    assert problem.body["reasons"][0]["pointer"] == "/values/1/value"


def test_a_round_says_who_looked_where_and_what_was_not_right(walk, containers):
    room = walk.get(f"sites/{walk.site}/rooms")["rooms"][0]["uid"]
    exceptions = [{"container": containers[1], "what": "lid shifted"}]

    made = walk.post(
        "rounds", {"room": room, "looked_at": containers, "exceptions": exceptions}
    )

    assert made["fact"]["kind"] == "round_made"
    assert made["round"]["looked_at"] == containers
    assert made["round"]["exceptions"] == exceptions


@pytest.mark.parametrize(
    ("care", "body", "kind"),
    [
        ("doses", {"product": "conditioner", "amount": "2.5", "unit": "mL"}, "dose_given"),
        (
            "doses",
            {"product": "x", "amount": "1", "unit": "mg", "expires": "2028-01-31"},
            "dose_given",
        ),
        ("feedings", {"food": "mysis", "amount_g": "3", "eaten": "most"}, "fed"),
        ("top-ups", {"volume_l": "1.5"}, "topped_up"),
    ],
)
def test_care_is_recorded_with_its_container(walk, container, care, body, kind):
    made = walk.post(f"containers/{container}/{care}", body)

    assert (made["fact"]["kind"], made["container"]["uid"]) == (kind, container)


@pytest.mark.parametrize(
    ("care", "kind"), [("fillings", "filled"), ("water-changes", "water_changed")]
)
def test_water_comes_out_of_a_make(walk, container, care, kind):
    mixed = {
        "vat": "Vat 1",
        "salt_lot": "L-77",
        "volume_l": "200",
        "salinity": "33.0",
        "temperature_c": "25.5",
        "total_chlorine_mg_l": "0",
    }
    make = walk.post(f"sites/{walk.site}/makes", mixed)["make"]["uid"]

    filled = walk.post(f"containers/{container}/{care}", {"make": make, "volume_l": "60"})
    unknown = walk.refused(f"containers/{container}/{care}", {"make": NOBODY, "volume_l": "60"})

    assert filled["fact"]["kind"] == kind
    assert (unknown.status, unknown.code) == (404, "not_found")


def test_chlorine_found_in_the_water_keeps_a_container_from_being_ready(walk, container):
    at = {"started_at": f"{EVE}08:00:00Z", "ended_at": f"{EVE}09:00:00Z"}
    walk.at(f"{EVE}09:00:00Z")
    disinfect(walk, container, **at, performed_at=f"{EVE}09:00:00Z")
    see_dry(walk, container)
    walk.at("2027-02-02T09:00:00Z")

    chlorine = {"quantity": "total_chlorine", "unit": "mg/L"}
    read(walk, warmth(container, **chlorine, value="0.02"))
    smells = walk.get(f"containers/{container}")["state"]
    read(walk, warmth(container, **chlorine, value="0.01"))

    assert smells == "disinfected"
    assert walk.get(f"containers/{container}")["state"] == "ready"


@pytest.mark.parametrize(
    "value",
    [
        {"container": NOBODY},
        {"instrument": NOBODY},
    ],
)
def test_what_is_not_there_is_not_found(walk, container, value):
    problem = walk.refused("readings", {"readings": [warmth(container, **value)]})

    assert (problem.status, problem.code) == (404, "not_found")


@pytest.mark.parametrize(("role", "status"), [("keeper", 201), ("auditor", 403)])
def test_who_may_read_water(walk, container, role, status):
    other = walk.as_person("Ola", role)

    assert (
        other.send("POST", "readings", {"readings": [warmth(container)]}).status_code == status
    )
