"""What is done to equipment, told and shown over REST."""

import pytest

from tests.equipment import (
    CLEANED,
    DAY,
    SORTS,
    another_organisation,
    disinfect,
    make_containers,
    make_cup,
    make_kit,
    make_pieces,
    on_shift,
    see_dry,
)
from tests.walk import Walk

pytestmark = pytest.mark.django_db(transaction=True)


@pytest.fixture
def walk(client, settings):
    settings.TEST_CLOCK = True
    return Walk.begin(client, f"{DAY}09:15:00+01:00")


@pytest.fixture
def pieces(walk):
    return make_pieces(walk)


@pytest.fixture
def kit(walk, pieces):
    return make_kit(walk, pieces)


@pytest.fixture
def cup(walk):
    return make_cup(walk)


@pytest.fixture
def container(walk):
    return make_containers(walk, "R1-01")[0]


def test_what_is_new_is_dirty(walk, kit, container):
    found = walk.get(f"kits/{kit}")

    assert found["kit"]["label"] == "A-1"
    assert (found["state"], found["ready_at"]) == ("dirty", None)
    assert [one["type"] for one in found["pieces"]] == list(SORTS)
    assert walk.get(f"containers/{container}")["state"] == "dirty"


def test_disinfected_is_not_ready_however_long_nobody_looks(walk, kit):
    made = disinfect(walk, kit)

    (subject,) = made["subjects"]
    assert (made["fact"]["kind"], subject["uid"]) == ("disinfected", kit)
    assert (subject["state"], subject["ready_at"]) == ("disinfected", None)
    later = walk.at("2027-01-20T07:20:00+01:00").get(f"kits/{kit}")
    assert later["state"] == "disinfected"
    assert {one["numbers"]["since_s"] for one in later["why"]} == {46 * 3600 + 5 * 60}


def test_seen_dry_begins_the_drying_hours(walk, kit):
    disinfect(walk, kit)

    (subject,) = see_dry(walk.at(f"{DAY}15:30:00+01:00"), kit)["subjects"]

    assert subject["state"] == "drying"
    assert subject["ready_at"] == "2027-01-19T14:30:00Z"
    assert subject["ready_at_local"] == "Tue 19 Jan 2027 15:30 CET"
    assert (subject["ready_in_s"], subject["ready_in_text"]) == (86400, "24:00")


@pytest.mark.parametrize(
    ("at", "state"),
    [("2027-01-19T15:29:59+01:00", "drying"), ("2027-01-19T15:30:00+01:00", "ready")],
)
def test_a_kit_is_ready_when_it_was_kept_dry_for_24_hours(walk, kit, at, state):
    disinfect(walk, kit)
    see_dry(walk.at(f"{DAY}15:30:00+01:00"), kit)

    assert walk.at(at).get(f"kits/{kit}")["state"] == state


def test_the_state_of_a_past_moment_can_be_asked(walk, kit):
    disinfect(walk, kit)
    see_dry(walk.at(f"{DAY}15:30:00+01:00"), kit)

    then = walk.at("2027-01-21T08:00:00+01:00").get(f"kits/{kit}?at={DAY}12:00:00%2B01:00")

    assert then["state"] == "disinfected"


def test_a_protocol_that_there_is_not_is_unreadable(walk, kit):
    answer = walk.send("GET", f"kits/{kit}?protocol=transfer-1@1")

    assert (answer.status_code, answer.json()["code"]) == (400, "unreadable")


def test_the_parts_that_stay_wet_longest_are_named_until_somebody_saw_them_dry(walk, kit):
    disinfect(walk, kit)

    wet = walk.get(f"kits/{kit}")["look_first"]
    see_dry(walk, kit)
    dry = walk.get(f"kits/{kit}")["look_first"]

    assert [one["type"] for one in wet] == ["air_stone", "air_line"]
    assert dry == []


@pytest.mark.parametrize(
    ("change", "rule"),
    [
        ({"cleaned": False}, "cleaned"),
        ({"agent": "vinegar"}, "agent"),
        ({"mg_per_l": "199"}, "strength"),
        ({"measured": False}, "strength"),
        ({"started_at": f"{DAY}08:16:00+01:00"}, "contact"),
        ({"rinsed": False}, "rinsed"),
    ],
)
def test_a_disinfection_that_is_not_enough_is_kept_and_says_why(walk, cup, change, rule):
    (subject,) = disinfect(walk, cup, **change)["subjects"]

    assert subject["state"] == "dirty"
    assert [one["rule"] for one in subject["why"]] == [rule]


@pytest.mark.parametrize(
    "change",
    [
        {"started_at": f"{DAY}09:16:00+01:00"},
        {"ended_at": f"{DAY}09:15:01+01:00"},
    ],
)
def test_contact_ends_after_it_begins_and_before_it_is_told(walk, cup, change):
    problem = walk.refused("disinfections", {"subjects": [cup], **CLEANED, **change})

    assert (problem.status, problem.code) == (400, "unreadable")
    assert problem.body["reasons"][0]["pointer"] == "/ended_at"


def test_found_wet_takes_the_dryness_back(walk, kit):
    disinfect(walk, kit)
    dry = see_dry(walk.at(f"{DAY}15:30:00+01:00"), kit)["fact"]["uid"]

    wet = walk.at("2027-01-20T08:00:00+01:00").post(
        "wet-findings", {"subjects": [kit], "contradicts": dry}
    )

    assert wet["subjects"][0]["state"] == "disinfected"
    assert wet["subjects"][0]["reached"] == []
    then = walk.get(f"kits/{kit}?at=2027-01-19T20:00:00Z")
    assert then["state"] == "disinfected"


def test_dryness_told_late_is_believed_only_of_somebody_on_shift(walk, kit):
    disinfect(walk, kit)
    walk.at("2027-01-20T07:20:00+01:00")
    late = {"subjects": [kit], "performed_at": "2027-01-19T08:00:00+01:00", "reason": "forgot"}

    refused = walk.refused("dry-sightings", late)
    on_shift(walk, "2027-01-19T07:00:00+01:00", "2027-01-19T08:00:00+01:00")
    accepted = walk.post("dry-sightings", late)

    assert (refused.status, refused.code) == (409, "not_on_shift")
    # Over 12 h late and not confirmed: it counts from when it was told.
    assert accepted["subjects"][0]["ready_at"] == "2027-01-21T06:20:00Z"


def test_a_shift_of_somebody_else_does_not_help(walk, kit):
    disinfect(walk, kit)
    keeper = walk.as_person("Ola", "keeper")
    on_shift(walk, "2027-01-18T08:00:00+01:00", "2027-01-18T20:00:00+01:00")
    keeper.at("2027-01-18T18:00:00+01:00")

    late = {"subjects": [kit], "performed_at": f"{DAY}12:00:00+01:00", "reason": "forgot"}

    assert keeper.refused("dry-sightings", late).code == "not_on_shift"


def test_dryness_told_within_the_hour_needs_no_shift(walk, kit):
    disinfect(walk, kit)

    told = see_dry(walk.at(f"{DAY}16:30:00+01:00"), kit, performed_at=f"{DAY}15:30:00+01:00")

    assert told["subjects"][0]["ready_at"] == "2027-01-19T14:30:00Z"


def test_what_happened_is_kept_even_of_somebody_who_was_not_on_shift(walk, kit):
    disinfect(walk, kit)

    told = see_dry(
        walk.at(f"{DAY}18:30:00+01:00"),
        kit,
        performed_at=f"{DAY}15:30:00+01:00",
        standing="happened",
        reason="the tablet was offline",
    )

    assert told["fact"]["standing"] == "happened"


def test_an_empty_container_can_be_emptied_again_and_again(walk, container):
    told = walk.post(f"containers/{container}/emptyings", {"searched": True})

    assert told["fact"]["kind"] == "emptied"
    assert told["container"]["state"] == "dirty"


@pytest.mark.parametrize(
    ("path", "body"),
    [
        ("disinfections", CLEANED),
        ("dry-sightings", {}),
        ("wet-findings", {}),
    ],
)
def test_equipment_that_is_not_there_is_not_found(walk, kit, path, body):
    nobody = "01a2d532-b580-7fff-8fff-ffffffffffff"

    problem = walk.refused(path, {"subjects": [kit, nobody], **body})

    assert (problem.status, problem.code) == (404, "not_found")


def test_another_organisation_finds_nothing_of_it(walk, kit, pieces):
    stranger = another_organisation(walk)

    assert stranger.refused("dry-sightings", {"subjects": [kit]}).status == 404
    assert stranger.send("GET", f"kits/{kit}").status_code == 404
    assert stranger.refused(f"pieces/{pieces[0]}/fittings", {"kit": kit}).status == 404


@pytest.mark.parametrize(("role", "status"), [("keeper", 201), ("auditor", 403)])
def test_who_may_say_that_something_was_disinfected(walk, cup, role, status):
    other = walk.as_person("Ola", role)

    answer = other.send("POST", "disinfections", {"subjects": [cup], **CLEANED})

    assert answer.status_code == status


def test_a_kit_names_its_version_for_a_change(walk, kit):
    seen = walk.send("GET", f"kits/{kit}")["ETag"]

    body = {"label": "A-1", "needs": ["heater"]}
    answer = walk.send("PUT", f"kits/{kit}", body, **{"If-Match": seen})

    assert answer.status_code == 201
