"""Values, instruments, rounds and care over REST."""

from datetime import datetime

import pytest

from stock import rebuild
from tests.floor import Floor
from tests.walk import Walk

pytestmark = pytest.mark.django_db(transaction=True)

NOW = "2027-02-06T08:00:00+01:00"
GRAVITY = {"quantity": "specific_gravity", "unit": "1"}
NOBODY = "01a2d532-b580-7fff-8fff-ffffffffffff"


@pytest.fixture
def walk(client, settings):
    settings.TEST_CLOCK = True
    return Walk.begin(client, "2027-01-31T08:00:00+01:00")


@pytest.fixture
def room(walk):
    return walk.post(f"sites/{walk.site}/rooms", {"label": "Hall"})["room"]["uid"]


@pytest.fixture
def containers(walk, room):
    here = f"sites/{walk.site}"
    rack = walk.post(f"{here}/racks", {"label": "1", "room": room})["rack"]["uid"]
    labels = ("R1-01", "R1-02")
    made = [walk.post(f"{here}/containers", {"label": one, "rack": rack}) for one in labels]
    return [one["container"]["uid"] for one in made]


@pytest.fixture
def container(containers):
    return containers[0]


@pytest.fixture
def instrument(walk):
    """A refractometer that was right when it was checked."""
    body = {
        "label": "R-2",
        "quantities": ["specific_gravity", "salinity"],
        "convention": "25/25",
    }
    made = walk.post(f"sites/{walk.site}/instruments", body)["instrument"]["uid"]
    check(walk, made, "1.0264")
    return made


def check(walk, instrument, got, **more):
    body = {"standard": "35 ppt fluid", "expected": "1.0264", "got": got, **more}
    return walk.post(f"instruments/{instrument}/checks", body)


def read(walk, *values):
    return walk.post("readings", {"readings": list(values)})


def gravity(container, instrument, **more):
    return {
        "container": container,
        **GRAVITY,
        "value": "1.024",
        "instrument": instrument,
        **more,
    }


def warmth(where, **more):
    return {
        "container": where,
        "quantity": "temperature",
        "value": "25.60",
        "unit": "Cel",
        **more,
    }


def test_one_request_reads_several_containers_each_at_its_own_time(walk, containers):
    walk.at(NOW)

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


def test_a_failed_instrument_is_not_read_with_until_a_good_check(walk, container, instrument):
    walk.at(NOW)
    check(walk, instrument, "1.0235")

    refused = walk.refused("readings", {"readings": [gravity(container, instrument)]})
    check(walk.at("2027-02-06T09:00:00+01:00"), instrument, "1.0264")
    (taken,) = read(walk, gravity(container, instrument))["readings"]

    assert (refused.status, refused.code) == (409, "instrument_failed")
    assert refused.body["reasons"][0]["pointer"] == "/readings/0/instrument"
    assert (taken["in_doubt"], taken["in_check"]) == (False, "good")


def test_what_was_read_with_a_failed_instrument_is_kept_in_doubt(walk, container, instrument):
    check(walk.at(NOW), instrument, "1.0235")

    body = {"readings": [gravity(container, instrument)], "standing": "happened"}
    (taken,) = walk.post("readings", body)["readings"]

    assert (taken["in_doubt"], taken["in_check"]) == (True, "doubted")


def test_a_failed_check_doubts_everything_since_the_last_good_one(walk, container, instrument):
    before = read(walk.at("2027-02-01T08:00:00+01:00"), gravity(container, instrument))
    check(walk.at("2027-02-02T08:00:00+01:00"), instrument, "1.0264")
    since = read(walk.at("2027-02-03T08:00:00+01:00"), gravity(container, instrument))

    failed = check(walk.at(NOW), instrument, "1.0235")

    assert failed["passed"] is False
    assert failed["instrument"]["in_check"] == "doubted"
    assert failed["doubted"] == {"readings": [since["readings"][0]["uid"]], "moves": []}
    shown = walk.get(f"containers/{container}/readings")["readings"]
    assert [(one["in_doubt"], one["value"]) for one in shown] == [
        (True, "1.024"),
        (False, "1.024"),
    ]
    assert shown[1]["uid"] == before["readings"][0]["uid"]
    assert rebuild.check(datetime.fromisoformat(NOW)) == []


def test_a_good_check_told_late_takes_the_doubt_from_what_was_read_before_it(
    walk, container, instrument
):
    read(walk.at("2027-02-03T08:00:00+01:00"), gravity(container, instrument))
    check(walk.at(NOW), instrument, "1.0235")

    check(
        walk,
        instrument,
        "1.0264",
        performed_at="2027-02-04T08:00:00+01:00",
        reason="found on the list at the sink",
    )

    (shown,) = walk.get(f"containers/{container}/readings")["readings"]
    assert shown["in_doubt"] is False


@pytest.mark.parametrize(
    ("got", "said", "passed"),
    [("1.0264", True, True), ("1.0264", False, False), ("1.0235", True, False)],
)
def test_nobody_says_that_an_instrument_passed_against_its_numbers(
    walk, instrument, got, said, passed
):
    assert check(walk.at(NOW), instrument, got, passed=said)["passed"] is passed


@pytest.mark.parametrize(
    ("at", "in_check"),
    [("2027-02-07T08:00:00+01:00", "good"), ("2027-02-07T08:00:01+01:00", "unknown")],
)
def test_a_check_is_good_for_a_week(walk, instrument, at, in_check):
    assert walk.at(at).get(f"instruments/{instrument}")["instrument"]["in_check"] == in_check


def test_an_instrument_that_was_never_checked_is_unknown_and_no_reason_to_refuse(
    walk, container
):
    body = {"label": "S-9", "quantities": ["salinity"]}
    meter = walk.post(f"sites/{walk.site}/instruments", body)["instrument"]["uid"]

    (taken,) = read(walk, gravity(container, meter, quantity="salinity", value="33"))[
        "readings"
    ]

    assert (taken["in_doubt"], taken["in_check"]) == (False, "unknown")


def test_a_probe_s_values_are_readings_a_step_apart(walk, container, instrument):
    series = {
        "probe": instrument,
        "quantity": "salinity",
        "unit": "1",
        "start": "2027-02-06T06:00:00+01:00",
        "step_s": 1800,
        "values": ["33.1", "33.0"],
    }

    made = walk.at(NOW).post(f"containers/{container}/reading-series", series)

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

    problem = walk.at(NOW).refused(f"containers/{container}/reading-series", series)

    assert problem.body["reasons"][0]["pointer"] == "/values/1/value"


def test_a_round_says_who_looked_where_and_what_was_not_right(walk, room, containers):
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
    disinfect_and_dry(walk, container)
    walk.at("2027-02-02T09:00:00+01:00")

    chlorine = {"quantity": "total_chlorine", "unit": "mg/L"}
    read(walk, warmth(container, **chlorine, value="0.02"))
    smells = walk.get(f"containers/{container}")["state"]
    read(walk, warmth(container, **chlorine, value="0.01"))

    assert smells == "disinfected"
    assert walk.get(f"containers/{container}")["state"] == "ready"


def disinfect_and_dry(walk, container):
    walk.at("2027-02-01T09:00:00+01:00").post(
        "disinfections",
        {
            "subjects": [container],
            "cleaned": True,
            "agent": "chlorine",
            "mg_per_l": "200",
            "measured": True,
            "rinsed": True,
            "started_at": "2027-02-01T08:00:00+01:00",
            "ended_at": "2027-02-01T09:00:00+01:00",
        },
    )
    walk.post("dry-sightings", {"subjects": [container]})


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


def test_a_failed_check_names_the_moves_whose_water_it_read(client, settings):
    settings.TEST_CLOCK = True
    floor = Floor.open(client, "2027-01-05T07:00:00+00:00", containers=2, kits=2)
    batch = floor.place(5, "R1-01", "A-1", at="2027-01-05T08:00:00+00:00")
    moved = floor.move(batch, "R1-02", "B-1", [5], at="2027-01-07T08:00:00+00:00")

    failed = floor.walk.at("2027-01-07T09:00:00+00:00").post(
        f"instruments/{floor.uids['S-1']}/checks",
        {"standard": "35 ppt fluid", "expected": "35", "got": "31"},
    )

    assert len(failed["doubted"]["readings"]) == 3
    assert failed["doubted"]["moves"] == [moved["fact"]["uid"]]
    rules = {(one["rule"], one["batch"]) for one in failed["deviations"]}
    assert ("instrument_in_doubt", batch) in rules
